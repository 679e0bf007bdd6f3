package wall

import (
	"fmt"

	"pitman/labels"
	"pitman/labels/colour"
	"pitman/labels/letters"
)

// Beds is a sheet of the openings that treadle bases have in their tops, each drawn from above with its
// measures, so that supporters know with a rule in their hand which base is wanted.
type Beds struct {
	Title string
	Lines []string
	Beds  []Bed
	Notes []string // at the foot
}

// Bed is one opening, in millimetres.
type Bed struct {
	Name                string
	Length, Width, Pins float64
}

// BedsOnASheet is the most that one sheet holds, two by two.
const BedsOnASheet = 4

// The two sizes that the sheet comes in, in millimetres, both across.
var (
	A4 = [2]float64{297, 210}
	A3 = [2]float64{420, 297}
)

const (
	tableEdge = 60.0 // mm of the top drawn around an opening
	socket    = 12.0 // mm: the square that stands for a hinge socket
)

// Draw lays the sheet out on one page, all openings to the same scale. What is longer than its line is cut.
func (p Beds) Draw(size [2]float64) (*labels.Drawing, error) {
	if len(p.Beds) > BedsOnASheet {
		return nil, fmt.Errorf("%d openings on a sheet: %d is the most", len(p.Beds), BedsOnASheet)
	}
	width, height := size[0], size[1]
	unit := width / A4[0]
	if size == A3 { // read from some steps away
		unit *= 1.1
	}
	s := sheet{d: &labels.Drawing{Width: width, Height: height}}
	s.d.Box(colour.White, 0, 0, width, height)
	margin, text := floorMargin*unit, floorText*unit
	inside := width - 2*margin
	y := margin + floorTitle*unit
	s.put(letters.Bold, floorTitle*unit, margin, y, inside, p.Title)
	for _, line := range p.Lines {
		y += text * floorLead
		s.put(letters.Regular, text, margin, y, inside, line)
	}
	foot := float64(len(p.Notes)) * text * floorLead
	across := min(max(len(p.Beds), 1), 2)
	cellWide := inside / float64(across)
	cellHigh := (height - margin - y - foot - text) / float64((max(len(p.Beds), 1)+across-1)/across)
	// room for the name above, and for figures beside and below
	var longest, widest float64
	for _, b := range p.Beds {
		longest, widest = max(longest, b.Length+2*tableEdge), max(widest, b.Width+2*tableEdge)
	}
	scale := min((cellWide-9*text)/max(longest, 1), (cellHigh-8*text)/max(widest, 1))
	for i, b := range p.Beds {
		s.bed(b, margin+float64(i%across)*cellWide, y+text+float64(i/across)*cellHigh, cellWide, scale, text)
	}
	y = height - margin - foot
	for _, note := range p.Notes {
		y += text * floorLead
		s.put(letters.Regular, text, margin, y, inside, note)
	}
	return s.d, s.fault
}

// bed draws one opening: the top around it, the sockets of its hinges at the back, and its measures.
func (s *sheet) bed(b Bed, x, y, wide, scale, text float64) {
	line := text / 12
	y += text * 1.4
	s.put(letters.Bold, text*1.15, x, y, wide-text, b.Name)
	left, top := x+7*text, y+3.4*text
	long, deep := b.Length*scale, b.Width*scale
	edge := tableEdge * scale
	s.d.Frame(colour.Black, left, top, long+2*edge, deep+2*edge, line)
	hole := [2]float64{left + edge, top + edge}
	s.d.Frame(colour.Black, hole[0], hole[1], long, deep, 3*line)
	middle := hole[0] + long/2
	for _, side := range []float64{-1, 1} {
		s.d.Box(colour.Black, middle+side*b.Pins*scale/2-socket*scale/2, hole[1]-socket*scale, socket*scale,
			socket*scale)
	}
	s.across(middle-b.Pins*scale/2, top-0.8*text, b.Pins*scale, text, line, -0.65*text,
		fmt.Sprintf("%g mm between the hinges' middles", b.Pins))
	s.across(hole[0], top+deep+2*edge+0.8*text, long, text, line, 1.25*text,
		fmt.Sprintf("%g mm long", b.Length))
	// the depth, beside
	at := left - 0.8*text
	s.d.Box(colour.Black, at-line/2, hole[1], line, deep)
	for _, end := range []float64{hole[1], hole[1] + deep} {
		s.d.Box(colour.Black, at-text/3, end-line/2, 2*text/3, line)
	}
	s.put(letters.Regular, text, x, hole[1]+deep/2-0.1*text, 6*text, fmt.Sprintf("%g mm", b.Width))
	s.put(letters.Regular, text, x, hole[1]+deep/2+1.2*text, 6*text, "deep")
}

// across draws a measure from side to side, with its words at an offset.
func (s *sheet) across(x, y, long, text, line, words float64, said string) {
	s.d.Box(colour.Black, x, y-line/2, long, line)
	for _, end := range []float64{x, x + long} {
		s.d.Box(colour.Black, end-line/2, y-text/3, line, 2*text/3)
	}
	wide := letters.Regular.Width(said, text)
	s.put(letters.Regular, text, x+long/2-wide/2, y+words, wide*1.01, said)
}
