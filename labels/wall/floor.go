package wall

import (
	"pitman/labels"
	"pitman/labels/colour"
	"pitman/labels/letters"
)

// Floor is the plan of a container's floor, the front wall to the left: what stands where, and how full it
// is.
type Floor struct {
	Title         string
	Lines         []string // under it
	Length, Width float64  // of the floor
	Stands        []Stand
	Full          []Share  // how full, as bars
	Notes         []string // at the foot
}

// Stand is a pallet on the floor, in the measure of the floor.
type Stand struct {
	X, Y, Length, Width float64
	Lines               []string // on it
}

// Share is a part of a whole, in words and as a bar; more than the whole is drawn as the whole.
type Share struct {
	Name string
	Of   float64
	Says string
}

// A4 across, in millimetres; letters are read at arm's length.
const (
	floorWidth, floorHeight = 297.0, 210.0
	floorMargin             = 12.0
	floorTitle              = 6.4
	floorText               = 3.9
	floorSmall              = 3.2
	floorLead               = 1.45 // of a line, in sizes
)

// Colours of no code: paper, a pallet, what is full.
var (
	palletFill = colour.RGB(0xee, 0xe6, 0xd6)
	fullFill   = colour.RGB(0x3b, 0x5b, 0x45)
	restFill   = colour.RGB(0xe4, 0xe4, 0xe0)
)

// begin is a white page with its title and the lines below it; y is where they end.
func begin(width, height float64, title string, lines []string) (s sheet, y float64) {
	s = sheet{d: &labels.Drawing{Width: width, Height: height}}
	s.d.Box(colour.White, 0, 0, width, height)
	inside := width - 2*floorMargin
	y = floorMargin + floorTitle
	s.put(letters.Bold, floorTitle, floorMargin, y, inside, title)
	for _, line := range lines {
		y += floorText * floorLead
		s.put(letters.Regular, floorText, floorMargin, y, inside, line)
	}
	return s, y
}

// Draw lays the plan out on one page. What does not fit into its line is cut and ends in three dots.
func (p Floor) Draw() (*labels.Drawing, error) {
	s, y := begin(floorWidth, floorHeight, p.Title, p.Lines)
	inside := floorWidth - 2*floorMargin
	y += 6
	y = s.floor(p, y, inside)
	for _, bar := range p.Full {
		y += 8
		s.bar(bar, y, inside)
	}
	y += 4
	for _, note := range p.Notes {
		if y += floorSmall * floorLead; y > floorHeight-floorMargin/2 {
			break
		}
		s.put(letters.Regular, floorSmall, floorMargin, y, inside, note)
	}
	return s.d, s.fault
}

// sheet is a drawing, and the first thing that could not be drawn.
type sheet struct {
	d     *labels.Drawing
	fault error
}

// put writes a line of text, cut to its width.
func (s *sheet) put(f *letters.Face, size, x, y, width float64, text string) {
	if err := s.d.Write(f, size, x, y, fitted(f, letters.Clean(text), width/size)); s.fault == nil {
		s.fault = err
	}
}

// floor draws the container and what stands in it, and says where it ends.
func (s *sheet) floor(p Floor, y, inside float64) float64 {
	const wall, doors = 0.8, 14.0
	scale := min((inside-doors)/p.Length, 95/p.Width)
	left, width, height := floorMargin, p.Length*scale, p.Width*scale
	s.d.Frame(colour.Black, left-wall, y-wall, width+2*wall, height+2*wall, wall)
	// The doors stand open to the right.
	s.d.Box(colour.White, left+width, y, wall, height)
	s.d.Box(colour.Black, left+width, y-wall, doors/2, wall)
	s.d.Box(colour.Black, left+width, y+height, doors/2, wall)
	s.put(letters.Regular, floorSmall, left+width+1.5, y+height/2, doors, "doors")
	for _, stand := range p.Stands {
		x, top, w, h := left+stand.X*scale, y+stand.Y*scale, stand.Length*scale, stand.Width*scale
		s.d.Box(palletFill, x+.3, top+.3, w-.6, h-.6)
		s.d.Frame(colour.Black, x+.3, top+.3, w-.6, h-.6, .35)
		line := top + 1.2
		for i, text := range stand.Lines {
			size, face := floorSmall, letters.Regular
			if i == 0 {
				size, face = floorText, letters.Bold
			}
			if line += size * 1.15; line > top+h-1 {
				break
			}
			s.put(face, size, x+1.6, line, w-3, text)
		}
	}
	return y + height + 2
}

// bar draws a share of a whole.
func (s *sheet) bar(b Share, y, inside float64) {
	const name, room, height = 32.0, 120.0, 4.6
	s.put(letters.Regular, floorText, floorMargin, y, name, b.Name)
	x, top := floorMargin+name, y-height+.8
	s.d.Box(restFill, x, top, room, height)
	s.d.Box(fullFill, x, top, room*max(0, min(b.Of, 1)), height)
	s.put(letters.Regular, floorText, x+room+4, y, inside-name-room-4, b.Says)
}
