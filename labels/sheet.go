package labels

import "fmt"

// SheetOptions says how labels are placed on their sheets.
type SheetOptions struct {
	StartAt int  // the first place used on the first sheet, counted from 1 along the rows; 0 is 1
	Outline bool // print cut lines
}

// Sheet places labels on as many pages of the stock as they need.
func Sheet(stock Stock, labels []*Drawing, o SheetOptions) ([]*Drawing, error) {
	start := max(o.StartAt, 1)
	if start > stock.PerSheet() || o.StartAt < 0 {
		return nil, fmt.Errorf("start-at %d: a sheet of %s has %d labels: type 1 to %d", o.StartAt, stock.Name, stock.PerSheet(), stock.PerSheet())
	}
	var pages []*Drawing
	count := (start - 1 + len(labels) + stock.PerSheet() - 1) / stock.PerSheet()
	for i, label := range labels {
		at := (start - 1 + i) % stock.PerSheet()
		if i == 0 || at == 0 {
			pages = append(pages, stock.page(len(pages)+1, count))
		}
		page := pages[len(pages)-1]
		x, y := stock.position(at)
		page.place(label, x, y)
		if o.Outline || bool(stock.Cut) {
			page.fill(cutColour, box{x, y, stock.LabelWidth, stock.LabelHeight}.frame(cutLine)...)
			if stock.Hole > 0 {
				page.fill(cutColour, circle(x+stock.HoleX, y+stock.HoleY, stock.Hole/2, cutLine)...)
			}
		}
	}
	return pages, nil
}

// cutColour is a grey that a knife can follow and a camera ignores.
var cutColour = Colour{120, 120, 120}

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
	p.write(cutColour, regular, size, left, s.MarginTop-1.5*size, ellipsisIfWide(readable(note), regular, (s.PageWidth-2*left)/size))
	return p
}

func ellipsisIfWide(text string, f *typeface, width float64) string {
	if f.width(text, 1) <= width {
		return text
	}
	return ellipsis(text, f, width)
}

// circle is a round line of the given width just inside radius.
func circle(x, y, radius, width float64) []ring {
	outer, inner := disc(x, y, radius), disc(x, y, radius-width)
	for i, j := 0, len(inner)-1; i < j; i, j = i+1, j-1 {
		inner[i], inner[j] = inner[j], inner[i]
	}
	return []ring{outer, inner}
}

// RulerSheet is a page with a ruler across and down, and every label's outline, to hold against the stock before printing.
func RulerSheet(stock Stock) *Drawing {
	p := stock.page(1, 1)
	for i := range stock.PerSheet() {
		x, y := stock.position(i)
		p.fill(cutColour, box{x, y, stock.LabelWidth, stock.LabelHeight}.frame(cutLine)...)
		if stock.Hole > 0 {
			p.fill(cutColour, circle(x+stock.HoleX, y+stock.HoleY, stock.Hole/2, cutLine)...)
		}
	}
	const inset = 7 // most printers leave 4 to 6 mm blank (common practice)
	across := int(stock.PageWidth-2*inset) / 10 * 10
	down := int(stock.PageHeight-2*inset-6) / 10 * 10
	if across < 10 || down < 10 {
		across, down = int(stock.PageWidth)-2, int(stock.PageHeight)-2
	}
	left, top := (stock.PageWidth-float64(across))/2, (stock.PageHeight-float64(down))/2
	const thin, size = 0.2, 2.6
	for mm := 0; mm <= across; mm++ {
		p.fill(black, rect(left+float64(mm)-thin/2, top, thin, tick(mm)))
		if mm%10 == 0 && mm > 0 {
			text := fmt.Sprint(mm)
			x := left + float64(mm) - regular.width(text, size)/2
			p.write(black, regular, size, min(x, stock.PageWidth-1-regular.width(text, size)), top+tick(mm)+size, text)
		}
	}
	for mm := 0; mm <= down; mm++ {
		p.fill(black, rect(left, top+float64(mm)-thin/2, tick(mm), thin))
		if mm%10 == 0 && mm > 0 {
			p.write(black, regular, size, left+tick(mm)+0.6, top+float64(mm)+size*capHeight/2, fmt.Sprint(mm))
		}
	}
	const words, spread = 3.2, 3.2 * lineHeight
	for _, text := range []string{
		fmt.Sprintf("Hold a ruler against the scale: %d mm must measure %d mm. If not, print at 100 %%, without fitting to the page. Then lay the sheet on the labels against the light.", across, across),
		fmt.Sprintf("%d mm must measure %d mm: if not, print at 100 %%", across, across),
	} {
		rows := wrap(readable(text), regular, (stock.PageWidth-2*left-20)/words)
		if y := top + 16.0; y+float64(len(rows)-1)*spread < stock.PageHeight-2 {
			for i, row := range rows {
				p.write(black, regular, words, left+14, y+float64(i)*spread, row)
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

// SampleSheet is an A4 page with every band of a scheme at label size, as it is and as it prints in grey.
func SampleSheet(s *Scheme) *Drawing {
	p := &Drawing{Width: 210, Height: 297}
	const left, wide, high, step = 15.0, 85.0, 8.0, 13.5
	y := 18.0
	p.write(s.Text, bold, 6, left, y, "Colour scheme")
	p.write(s.Text, regular, 3.2, left, y+6, "left as chosen, right as a black-and-white printer makes it")
	y += 14
	for _, g := range s.groups() {
		p.write(s.Text, bold, 4, left, y, g.name)
		y += 3
		for _, key := range g.keys {
			b := g.bands[key]
			b.Word = readable(b.Word)
			drawBand(p, &b, s, box{left, y, wide, high})
			grey := b
			grey.Colour = Grey.view(b.Colour.linear()).colour()
			grey.Ink = Grey.view(b.Ink.linear()).colour()
			drawBand(p, &grey, s, box{left + wide + 8, y, wide, high})
			about := fmt.Sprintf("%s · %s, ink %s · %s · contrast %.1f", key, b.Colour, b.Ink, b.Pattern, contrast(b.Ink, b.Colour))
			p.write(s.Text, regular, 2.6, left, y+high+3.2, about)
			y += step
		}
		y += 6
	}
	return p
}
