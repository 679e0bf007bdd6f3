// Package papers lays out papers that go along with a shipment, on as many pages as they take.
package papers

import (
	"fmt"

	"pitman/labels"
	"pitman/labels/colour"
	"pitman/labels/letters"
)

// Paper is a sheet that goes along with a shipment: words, a table, words.
type Paper struct {
	Title  string
	Before []string
	Header []string
	Wide   []float64 // share of the width for each column
	Rows   [][]string
	After  []string
}

// A4 across, in millimetres, and its type.
const (
	paperWidth, paperHeight = 297.0, 210.0
	paperMargin             = 12.0
	point                   = 25.4 / 72
	paperCell               = 7.5 * point
	paperWords              = 8.5 * point
	paperTitle              = 13 * point
	paperFoot               = 7 * point
	paperLeading            = 1.74 // of the type's size, from row to row
)

// Draw lays the paper out on as many pages as it takes, in any script that this computer has a font for. A
// text that cannot be drawn is refused, and named.
func (p Paper) Draw() ([]*labels.Drawing, error) {
	w := paperWriter{}
	w.turn()
	w.words(letters.Bold, paperTitle, p.Title)
	for _, text := range p.Before {
		w.words(letters.Regular, paperWords, text)
	}
	w.y += paperCell
	w.row(letters.Bold, p.Header, p.Wide)
	for i, cells := range p.Rows {
		if i > 0 && i == max(len(p.Rows)-2, 1) {
			w.keep(p.Rows[i:], p.Wide, p.After)
		}
		w.row(letters.Regular, cells, p.Wide)
	}
	w.y += paperCell
	w.last(p.After)
	for i, page := range w.pages {
		foot := letters.Clean(fmt.Sprintf("%s, page %d of %d", p.Title, i+1, len(w.pages)))
		w.page = page
		w.put(letters.Regular, paperFoot, paperWidth-paperMargin-letters.Regular.Width(foot, paperFoot),
			paperHeight-paperMargin+paperFoot, foot)
	}
	return w.pages, w.err
}

// paperWriter fills pages from the top.
type paperWriter struct {
	pages []*labels.Drawing
	page  *labels.Drawing
	y     float64
	err   error
}

func (w *paperWriter) turn() {
	w.page = &labels.Drawing{Width: paperWidth, Height: paperHeight}
	w.pages, w.y = append(w.pages, w.page), paperMargin
}

// room turns the page if what comes is higher than what is left of it.
func (w *paperWriter) room(high float64) {
	if w.y+high > paperHeight-paperMargin-paperCell && w.y > paperMargin {
		w.turn()
	}
}

// keep turns the page before the last rows if the words behind them would stand on the next one alone.
func (w *paperWriter) keep(rows [][]string, wide []float64, after []string) {
	high := 2 * paperCell
	for _, cells := range rows {
		most := 1
		for i, cell := range cells {
			most = max(most,
				len(w.set(letters.Regular, paperCell, (paperWidth-2*paperMargin)*wide[i]-2, cell)))
		}
		high += float64(most) * paperCell * paperLeading
	}
	for _, text := range after {
		n := len(w.set(letters.Regular, paperWords, paperWidth-2*paperMargin, text))
		high += float64(max(n, 1)) * paperWords * paperLeading
	}
	if high < paperHeight/2 {
		w.room(high)
	}
}

// set breaks a text into rows.
func (w *paperWriter) set(f *letters.Face, size, width float64, text string) []string {
	text = letters.Clean(text)
	return letters.Wrap(text, f, width/size)
}

// put writes a row, and keeps why it cannot be drawn, if it cannot.
func (w *paperWriter) put(f *letters.Face, size, x, y float64, row string) {
	if err := w.page.Write(f, size, x, y, row); err != nil && w.err == nil {
		w.err = err
	}
}

func (w *paperWriter) words(f *letters.Face, size float64, text string) {
	rows := w.set(f, size, paperWidth-2*paperMargin, text)
	if len(rows) == 0 {
		w.y += size * paperLeading
	}
	for _, row := range rows {
		w.room(size * paperLeading)
		w.y += size * paperLeading
		w.put(f, size, start(f, size, paperMargin, paperWidth-2*paperMargin, row, text), w.y-size*0.5, row)
	}
}

// start is where a row of a text begins within a width: at the right where its script runs from there.
func start(f *letters.Face, size, x, width float64, row, of string) float64 {
	if letters.RightToLeft(of) {
		return x + width - f.Width(row, size)
	}
	return x
}

// last writes the words behind the table, the last three rows of them on one page.
func (w *paperWriter) last(texts []string) {
	const lead = paperWords * paperLeading
	var rows, of []string
	for _, text := range texts {
		set := w.set(letters.Regular, paperWords, paperWidth-2*paperMargin, text)
		if len(set) == 0 {
			set = []string{""}
		}
		rows = append(rows, set...)
		for range set {
			of = append(of, text)
		}
	}
	for i, row := range rows {
		if i == len(rows)-3 {
			w.room(3 * lead)
		}
		w.room(lead)
		w.y += lead
		at := start(letters.Regular, paperWords, paperMargin, paperWidth-2*paperMargin, row, of[i])
		w.put(letters.Regular, paperWords, at, w.y-paperWords*0.5, row)
	}
}

// row writes the cells of one row side by side, and a line under them. A row higher than a page goes on on
// the next.
func (w *paperWriter) row(f *letters.Face, cells []string, wide []float64) {
	const lead, side = paperCell * paperLeading, 1.0
	width := paperWidth - 2*paperMargin
	var columns [][]string
	rows := 1
	for i, cell := range cells {
		columns = append(columns, w.set(f, paperCell, width*wide[i]-2*side, cell))
		rows = max(rows, len(columns[i]))
	}
	w.room(float64(rows) * lead)
	for n := range rows {
		w.room(lead)
		w.y += lead
		x := paperMargin
		for i, column := range columns {
			if n < len(column) {
				at := start(f, paperCell, x+side, width*wide[i]-2*side, column[n], cells[i])
				w.put(f, paperCell, at, w.y-paperCell*0.5, column[n])
			}
			x += width * wide[i]
		}
	}
	w.page.Box(colour.Black, paperMargin, w.y, width, 0.2)
}
