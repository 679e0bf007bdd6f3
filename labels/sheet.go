package labels

import (
	"fmt"
	"slices"

	"pitman/labels/colour"
	"pitman/labels/letters"
)

// SheetOptions says how labels are placed on their sheets.
type SheetOptions struct {
	StartAt int   // the first place used on the first sheet, counted from 1 along the rows; 0 is 1
	Skip    []int // places of the first sheet that are spoiled
	Outline bool  // print cut lines
}

// Sheet places labels on as many pages of the stock as they need.
func Sheet(stock Stock, labels []*Drawing, o SheetOptions) ([]*Drawing, error) {
	start := max(o.StartAt, 1)
	if start > stock.PerSheet() || o.StartAt < 0 {
		return nil, fmt.Errorf("start-at %d: a sheet of %s has %d labels: type 1 to %d", o.StartAt,
			stock.Name, stock.PerSheet(), stock.PerSheet())
	}
	var pages []*Drawing
	places := o.places(stock, len(labels))
	for i, label := range labels {
		n, at := places[i]/stock.PerSheet(), places[i]%stock.PerSheet()
		for len(pages) <= n {
			pages = append(pages, stock.page(len(pages)+1, places[len(labels)-1]/stock.PerSheet()+1))
		}
		x, y := stock.position(at)
		pages[n].Place(label, x, y)
		if o.Outline || bool(stock.Cut) {
			pages[n].marks(stock, x, y)
		}
	}
	return pages, nil
}

// places are those of n labels, counted from 0 over all sheets.
func (o SheetOptions) places(stock Stock, n int) (places []int) {
	for at := max(o.StartAt, 1) - 1; len(places) < n; at++ {
		if at >= stock.PerSheet() || !slices.Contains(o.Skip, at+1) {
			places = append(places, at)
		}
	}
	return places
}

// Next is the first place that n labels leave free on the last sheet, past what is spoiled; 1 where they fill
// it.
func (o SheetOptions) Next(stock Stock, n int) int {
	return o.places(stock, n+1)[n]%stock.PerSheet() + 1
}

// Full says whether nothing is free on the first sheet.
func (o SheetOptions) Full(stock Stock) bool { return o.places(stock, 1)[0] >= stock.PerSheet() }

// Alone is a label as a picture of its own, with its cut lines and hole where they are wanted.
func (s Stock) Alone(label *Drawing, o SheetOptions) *Drawing {
	if !o.Outline && !bool(s.Cut) {
		return label
	}
	page := &Drawing{Width: label.Width, Height: label.Height}
	page.Place(label, 0, 0)
	page.marks(s, 0, 0)
	return page
}

// Moved is a page for a printer that sets everything a little to one side: all of it is moved by so many mm.
func (d *Drawing) Moved(right, down float64) *Drawing {
	if right == 0 && down == 0 {
		return d
	}
	page := &Drawing{Width: d.Width, Height: d.Height}
	page.Place(d, right, down)
	return page
}

// marks draws where a label at x, y is cut and punched.
func (d *Drawing) marks(stock Stock, x, y float64) {
	d.fill(cutColour, box{x, y, stock.LabelWidth, stock.LabelHeight}.frame(cutLine)...)
	if stock.Hole > 0 {
		d.fill(cutColour, circle(x+stock.HoleX, y+stock.HoleY, stock.Hole/2, cutLine)...)
	}
}

// cutColour is a grey that a knife can follow and a camera ignores.
var cutColour = colour.RGB(120, 120, 120)

const noteSize = 2.6

// noted says whether a sheet's top margin has room for a note.
func (s Stock) noted() bool { return s.MarginTop >= 3*noteSize }

// page is an empty sheet, with a note in its top margin where there is one.
func (s Stock) page(n, of int) *Drawing {
	p := &Drawing{Width: s.PageWidth, Height: s.PageHeight}
	const size = noteSize
	if !s.noted() {
		return p
	}
	note := fmt.Sprintf("%s · sheet %d of %d · print at 100 %% · ", s.Name, n, of)
	if s.Hole > 0 {
		note += "tie on through the hole"
	} else {
		note += "stickers: on clean dry metal, " + notOnDecals
	}
	left := max(s.MarginLeft, 8)
	p.write(cutColour, letters.Regular, size, left, s.MarginTop-1.5*size,
		ellipsisIfWide(letters.Clean(note), letters.Regular, (s.PageWidth-2*left)/size))
	return p
}

func ellipsisIfWide(text string, f *letters.Face, width float64) string {
	if f.Width(text, 1) <= width {
		return text
	}
	return letters.Ellipsis(text, f, width)
}

// circle is a round line of the given width just inside radius.
func circle(x, y, radius, width float64) []ring {
	outer, inner := disc(x, y, radius), disc(x, y, radius-width)
	for i, j := 0, len(inner)-1; i < j; i, j = i+1, j-1 {
		inner[i], inner[j] = inner[j], inner[i]
	}
	return []ring{outer, inner}
}

// RulerSheet is a page with a ruler across and down, and every label's outline, to hold against the stock
// before printing.
func RulerSheet(stock Stock) *Drawing {
	p := &Drawing{Width: stock.PageWidth, Height: stock.PageHeight}
	for i := range stock.PerSheet() {
		x, y := stock.position(i)
		p.marks(stock, x, y)
	}
	// The scales count from the edges of the paper and stand within them: most printers leave 4 to 6 mm blank
	// (common practice), and what is off shows at once.
	const inset, thin, size = 7, 0.2, 2.6
	across, down := int(stock.PageWidth-0.5), int(stock.PageHeight-0.5)
	left, top := float64(inset), float64(inset)
	if across < 60 || down < 40 {
		left, top = 1, 1
	}
	for mm := int(left); mm <= across; mm++ {
		p.fill(black, rect(float64(mm)-thin/2, top, thin, tick(mm)))
		if text := fmt.Sprint(mm); mm%10 == 0 && float64(mm) > left+8 {
			x := float64(mm) - letters.Regular.Width(text, size)/2
			p.write(black, letters.Regular, size, min(x, stock.PageWidth-1-letters.Regular.Width(text, size)),
				top+tick(mm)+size, text)
		}
	}
	for mm := int(top) + 6; mm <= down; mm++ {
		p.fill(black, rect(left, float64(mm)-thin/2, tick(mm), thin))
		if mm%10 == 0 && float64(mm) > top+9 && float64(mm) < stock.PageHeight-size {
			p.write(black, letters.Regular, size, left+tick(mm)+0.6, float64(mm)+size*letters.CapHeight/2,
				fmt.Sprint(mm))
		}
	}
	const words, spread = 3.2, 3.2 * letters.LineHeight
	mark := max(across/20*10, 10) // about the middle
	for _, text := range []string{
		fmt.Sprintf("Hold a ruler against the scale: 50 mm of it must measure 50 mm. If not, print at 100 "+
			"%%, "+
			"without fitting to the page. The mark %d must stand %d mm from the edge of the paper: by what "+
			"it "+
			"is off, this printer prints aside, which its profile puts right. Then lay the sheet on the "+
			"labels "+
			"against the light.", mark, mark),
		"50 mm must measure 50 mm: if not, print at 100 %",
	} {
		rows := letters.Wrap(letters.Clean(text), letters.Regular, (stock.PageWidth-2*left-20)/words)
		if y := top + 16.0; y+float64(len(rows)-1)*spread < stock.PageHeight-2 {
			for i, row := range rows {
				p.write(black, letters.Regular, words, left+14, y+float64(i)*spread, row)
			}
			break
		}
	}
	return p
}

func tick(mm int) float64 {
	switch {
	case mm%10 == 0:
		return 5
	case mm%5 == 0:
		return 3.5
	default:
		return 2
	}
}

// SampleSheet is an A4 page with every band of a scheme at label size: on its paper, in grey, and in black
// and white.
func SampleSheet(s *Scheme) *Drawing {
	p := &Drawing{Width: 210, Height: 297}
	const left, wide, step = 15.0, 56.0, 13.5
	high, tile := Device{}.tiles(8)
	y := 18.0
	p.write(black, letters.Bold, 6, left, y, "Colour scheme")
	p.write(black, letters.Regular, 3.2, left, y+6, "as it prints on "+s.Paper.String()+
		", in grey, and on a printer without either")
	y += 14
	for _, g := range s.Groups() {
		p.write(black, letters.Bold, 4, left, y, g.Name)
		y += 3
		for _, key := range g.Keys {
			b := g.Bands[key]
			b.Word = letters.Clean(b.Word)
			b.Colour, b.Ink = b.Colour.On(s.Paper), b.Ink.On(s.Paper)
			grey := b
			grey.Colour, grey.Ink = colour.Grey.See(b.Colour), colour.Grey.See(b.Ink)
			for i, shown := range []Band{b, grey, Device{Mono: true}.band(b)} {
				at := box{left + float64(i)*(wide+5), y, wide, high}
				if drawBand(p, shown, s, at, tile, Device{}) != nil { // a word too long for the sample
					shown.Word = "…"
					_ = drawBand(p, shown, s, at, tile, Device{})
				}
			}
			about := fmt.Sprintf("%s · %s, ink %s · %s · contrast %.1f", key, g.Bands[key].Colour,
				g.Bands[key].Ink, b.Pattern, colour.Contrast(b.Ink, b.Colour))
			p.write(black, letters.Regular, 2.6, left, y+high+3.2, about)
			y += step
		}
		y += 6
	}
	return p
}
