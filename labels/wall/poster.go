// Package wall lays out sheets that hang on a wall.
package wall

import (
	"fmt"

	"pitman/labels"
	"pitman/labels/letters"
)

// Poster is a sheet for the wall, to be read from across the room: a title and a few lines, and nothing else.
type Poster struct {
	Title string
	Lines []Line
	Foot  string // small: of when it is
}

// Line is one line: a day, for whom, and what to do. A first cell that is empty in all lines takes no
// room.
type Line struct{ Day, Who, Do string }

// MaxLines is the most that a poster holds.
const MaxLines = 12

// A3 across, in millimetres. Capitals are 15 mm high, which is read from about 5 m (a capital's height is a
// 300th to a 400th of the distance; common practice, from memory).
const (
	posterWidth, posterHeight = 420.0, 297.0
	posterMargin              = 10.0
	posterCapital             = 15.0
	posterSize                = posterCapital / letters.CapHeight
	posterLead                = 20.8
	posterGap                 = 8.0
	posterFoot                = 4.2 // 12 points
)

// Draw lays the poster out on one page. What is longer than its line is cut and ends in three dots.
func (p Poster) Draw() (*labels.Drawing, error) {
	if len(p.Lines) > MaxLines {
		return nil, fmt.Errorf("%d lines on a poster: %d is the most", len(p.Lines), MaxLines)
	}
	d := &labels.Drawing{Width: posterWidth, Height: posterHeight}
	var fault error
	put := func(f *letters.Face, size, x, y, width float64, text string) {
		if err := d.Write(f, size, x, y, fitted(f, letters.Clean(text), width/size)); fault == nil {
			fault = err
		}
	}
	column := func(cell func(Line) string) (width float64) {
		for _, l := range p.Lines {
			if w := letters.Regular.Width(letters.Clean(cell(l)), posterSize); w > 0 {
				width = max(width, w+posterGap)
			}
		}
		return width
	}
	who := posterMargin + column(func(l Line) string { return l.Day })
	do := who + column(func(l Line) string { return l.Who })
	inside := posterWidth - 2*posterMargin
	y := posterMargin + posterCapital
	put(letters.Bold, posterSize, posterMargin, y, inside, p.Title)
	for _, l := range p.Lines {
		y += posterLead
		put(letters.Regular, posterSize, posterMargin, y, inside, l.Day)
		put(letters.Regular, posterSize, who, y, posterWidth-posterMargin-who, l.Who)
		put(letters.Regular, posterSize, do, y, posterWidth-posterMargin-do, l.Do)
	}
	put(letters.Regular, posterFoot, posterMargin, posterHeight-posterMargin/2, inside, p.Foot)
	return d, fault
}

// fitted cuts a text to a width, in sizes of its type.
func fitted(f *letters.Face, text string, width float64) string {
	if f.Width(text, 1) <= width {
		return text
	}
	const dots = "…"
	n := f.Prefix(text, width-f.Width(dots, 1))
	return text[:n] + dots
}
