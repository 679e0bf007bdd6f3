package wall

import (
	"pitman/labels"
	"pitman/labels/letters"
)

// Figures is a page of key figures and charts, upright.
type Figures struct {
	Title  string
	Lines  []string // under it: of which house and which time
	Key    []Figure
	Charts []Chart
	Notes  []string // at the foot
}

// Figure is a key figure: a name, and what it is.
type Figure struct{ Name, Is string }

// Chart is bars below a title. Each bar carries its figure in words, so that it reads without colour.
type Chart struct {
	Title string
	Bars  []Share
}

// MaxBars is the most bars of a chart; whoever has more puts the rest together.
const MaxBars = 14

// A4 upright, in millimetres.
const (
	figuresWidth, figuresHeight = 210.0, 297.0
	figuresLead                 = 6.2 // from bar to bar
)

// Draw lays the page out. What does not fit into its line is cut and ends in three dots; what does not fit
// onto the page is refused by its writer, who knows how many bars there are.
func (p Figures) Draw() (*labels.Drawing, error) {
	s, y := begin(figuresWidth, figuresHeight, p.Title, p.Lines)
	inside := figuresWidth - 2*floorMargin
	y += 4
	for _, f := range p.Key {
		y += floorText * 1.6
		s.put(letters.Regular, floorText, floorMargin, y, 52, f.Name)
		s.put(letters.Bold, floorText, floorMargin+54, y, inside-54, f.Is)
	}
	for _, chart := range p.Charts {
		y += 12
		s.put(letters.Bold, floorText*1.15, floorMargin, y, inside, chart.Title)
		y += 1.5
		for _, bar := range chart.Bars {
			y += figuresLead
			s.figureBar(bar, y, inside)
		}
	}
	y = figuresHeight - floorMargin - float64(len(p.Notes)-1)*floorSmall*floorLead
	for _, note := range p.Notes {
		s.put(letters.Regular, floorSmall, floorMargin, y, inside, note)
		y += floorSmall * floorLead
	}
	return s.d, s.fault
}

// figureBar draws a bar with its name before it and its figure behind it.
func (s *sheet) figureBar(b Share, y, inside float64) {
	const name, room, height = 48.0, 70.0, 4.2
	s.put(letters.Regular, floorSmall*1.1, floorMargin, y, name-2, b.Name)
	x, top := floorMargin+name, y-height+.8
	s.d.Box(restFill, x, top, room, height)
	s.d.Box(fullFill, x, top, room*max(0, min(b.Of, 1)), height)
	s.put(letters.Regular, floorSmall*1.1, x+room+3, y, inside-name-room-3, b.Says)
}
