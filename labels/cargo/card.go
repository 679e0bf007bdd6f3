package cargo

import (
	"fmt"

	"pitman/labels"
	"pitman/labels/colour"
	"pitman/labels/letters"
)

// Card is the care of one machine, to lie by it: a quarter of a sheet of A4, folded or cut.
type Card struct {
	Tag, Name string
	From      string   // of which house, and on which order
	Cautions  []string // first, and never left out
	Care      []Care
}

// Care is one thing to do or to mind.
type Care struct{ What, Text string }

// A card, and how many a sheet of A4 holds, in millimetres. Type is read at arm's length: 6 pt is the least
// that does (common practice).
const (
	cardWidth, cardHeight = 105.0, 148.5
	cardMargin            = 6.0
	largestType           = 3.4
	leastType             = 2.12
	cardLead              = 1.3
)

var cutGrey = colour.RGB(120, 120, 120)

// Cards lays cards out, four on a sheet. What cannot be drawn, or does not fit on its card, is refused.
func Cards(cards []Card) (pages []*labels.Drawing, err error) {
	for i, card := range cards {
		at := i % 4
		if at == 0 {
			page := &labels.Drawing{Width: 2 * cardWidth, Height: 2 * cardHeight}
			page.Box(cutGrey, cardWidth-0.075, 0, 0.15, 2*cardHeight)
			page.Box(cutGrey, 0, cardHeight-0.075, 2*cardWidth, 0.15)
			pages = append(pages, page)
		}
		drawn, err := card.draw()
		if err != nil {
			return nil, fmt.Errorf("%s: %w", card.Tag, err)
		}
		pages[len(pages)-1].Place(drawn, float64(at%2)*cardWidth, float64(at/2)*cardHeight)
	}
	return pages, nil
}

// draw sets the card in the largest type in which all of it fits.
func (c Card) draw() (*labels.Drawing, error) {
	for size := largestType; ; size -= 0.08 {
		w := cardWriter{d: &labels.Drawing{Width: cardWidth, Height: cardHeight}, size: size, y: cardMargin}
		if err := c.write(&w); err != nil {
			return nil, err
		}
		if w.y <= cardHeight-cardMargin {
			return w.d, nil
		}
		if size-0.08 < leastType {
			return nil, fmt.Errorf("its care does not fit on a card in letters that can be read: shorten the " +
				"sentences of care, or say fewer things")
		}
	}
}

// write sets it all in one size.
func (c Card) write(w *cardWriter) error {
	w.rows(letters.Bold, 2, c.Tag+"  "+c.Name)
	w.rows(letters.Regular, 1, c.From)
	w.y += w.size / 2
	for _, caution := range c.Cautions {
		w.rows(letters.Bold, 1, "! "+caution)
	}
	for _, care := range c.Care {
		w.y += w.size / 3
		w.rows(letters.Bold, 1, care.What)
		w.rows(letters.Regular, 1, care.Text)
	}
	return w.fault
}

type cardWriter struct {
	d       *labels.Drawing
	size, y float64
	fault   error
}

// rows writes a text over as many rows as it takes, from the side on which its script begins.
func (w *cardWriter) rows(f *letters.Face, times float64, text string) {
	text = letters.Clean(text)
	size, wide := w.size*times, cardWidth-2*cardMargin
	right := letters.RightToLeft(text)
	for _, row := range letters.Wrap(text, f, wide/size-0.01) {
		line := f.Set(row)
		w.y += size * max(cardLead, line.Top+line.Bottom+0.1)
		x := cardMargin
		if right {
			x += wide - line.Width*size
		}
		if err := w.d.Write(f, size, x, w.y-size*max(0.3, line.Bottom+0.05), row); w.fault == nil {
			w.fault = err
		}
	}
}
