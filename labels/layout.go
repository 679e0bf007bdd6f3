package labels

import (
	"errors"
	"fmt"
	"math"
	"strings"
)

// Sizes on a label, in millimetres. Common practice, no standard: read at arm's length, 6 pt is the least that does.
const (
	minText     = 2.1 // 6 pt
	maxText     = 5.5
	minHeadline = 3.2 // 9 pt
	maxHeadline = 14
	bandLine    = 0.25
	cutLine     = 0.15
)

// tooSmall is why a face does not fit a label.
type tooSmall struct{ why string }

func (e *tooSmall) Error() string { return e.why }

// Draw lays a face out on one label of the stock. Long text shrinks, then wraps, then is cut with an ellipsis; nothing
// stands past the edge. A label too small for the tag, a QR symbol that can be scanned, or a caution is refused, and the
// error names one that would do.
func Draw(f *Face, stock Stock, s *Scheme) (*Drawing, error) {
	d, err := layOut(f, stock, s)
	var small *tooSmall
	if !errors.As(err, &small) {
		return d, err
	}
	best := Stock{}
	for _, other := range DefaultStock() {
		area := func(s Stock) float64 { return s.LabelWidth * s.LabelHeight }
		if best.Name != "" && area(other) >= area(best) || area(other) < area(stock) {
			continue
		}
		if _, err := layOut(f, other, s); err == nil {
			best = other
		}
	}
	if best.Name == "" {
		return nil, fmt.Errorf("%s: label %s is too small: %s, and no stock in the starter table would do: shorten the text or the base_url", f.Headline, stock.Name, small.why)
	}
	return nil, fmt.Errorf("%s: label %s is too small: %s; %s would do, %v × %v mm", f.Headline, stock.Name, small.why, best.Name, best.LabelWidth, best.LabelHeight)
}

func layOut(f *Face, stock Stock, s *Scheme) (*Drawing, error) {
	d := &Drawing{Width: stock.LabelWidth, Height: stock.LabelHeight}
	pad := min(max(min(d.Width, d.Height)*0.05, 1.5), 3)
	area := box{0, 0, d.Width, d.Height}.inset(pad)
	if stock.Hole > 0 {
		left := max(stock.HoleX+stock.Hole/2+1.5, pad)
		area.x, area.w = left, d.Width-pad-left
	}
	if f.Band != nil {
		high := min(max(d.Height*0.16, 4.5), 9*d.roomy())
		if high > area.h/2 {
			return nil, &tooSmall{fmt.Sprintf("the %s band needs %.1f mm", f.Band.Word, high)}
		}
		drawBand(d, f.Band, s, box{area.x, area.y + area.h - high, area.w, high})
		area.h -= high + pad/2
	}

	head, body := area, area
	if f.Payload != "" {
		code, err := encode(f.Payload, s.QRLevel)
		if err != nil {
			return nil, err
		}
		least := minModule * float64(code.side())
		side := min(area.h, max(area.w*0.42, min(least, area.w*0.55)), 45*d.roomy())
		if side < least {
			return nil, &tooSmall{fmt.Sprintf("its QR symbol has %d modules a side with the quiet zone, %.1f mm at the least of %v mm each, and there is room for %.1f mm", code.side(), least, minModule, side)}
		}
		d.fill(s.Text, code.rings(area.x+area.w-side, area.y, side)...)
		head.w = area.w - side
		body.w = head.w
		if d.Height > d.Width && area.h > 1.6*side { // the text stands under the symbol
			head.h = side
			body.w, body.y, body.h = area.w, area.y+side, area.h-side
			if len(f.Lines) == 0 {
				head = body
			}
		}
	}
	lines := f.Lines
	if f.OnMetal && stock.Hole == 0 && !stock.noted() {
		lines = append(lines[:len(lines):len(lines)], Line{Text: notOnDecals})
	}
	// First with the tag large; then, where the text does not fit under it, smaller; then without the small print.
	fixed := d.ops
	var err error
	for _, try := range []struct {
		share float64
		lines []Line
	}{{0.3, lines}, {0.22, lines}, {0.22, f.Lines}} {
		d.ops = fixed
		if err = drawWords(d, f, try.lines, s.Text, head, body, try.share); err == nil {
			return d, nil
		}
	}
	return nil, err
}

// drawWords writes the headline and the lines, under it or, on a tall label, under the symbol.
func drawWords(d *Drawing, f *Face, lines []Line, ink Colour, head, body box, share float64) error {
	alone := len(lines) == 0 || body.y != head.y
	headline, err := drawHeadline(d, f, alone, ink, head, share)
	if err != nil {
		return err
	}
	if body.y == head.y {
		body.y, body.h = body.y+headline.height(), body.h-headline.height()
	}
	return drawLines(d, lines, ink, body, min(maxText*d.roomy(), headline.size*0.65), f.mayDrop)
}

// notOnDecals is on every sheet of stickers, or where there is no room for a note, on each: glue lifts old gold work.
const notOnDecals = "not on decals"

// drawBand paints the word on a plain plate, and the pattern beside it, both in the band's ink on its colour.
func drawBand(d *Drawing, b *Band, s *Scheme, at box) {
	size, side := at.h*0.62, at.h*0.35
	wide := bold.width(b.Word, size)
	if most := at.w*0.7 - 2*side; wide > most {
		size, wide = size*most/wide, most
	}
	d.fill(b.Colour, at.ring())
	d.fill(b.Ink, b.Pattern.rings(box{at.x + wide + 2*side, at.y, at.w - wide - 2*side, at.h})...)
	d.write(b.Ink, bold, size, at.x+side, at.y+(at.h+size*capHeight)/2, b.Word)
	d.fill(s.Text, at.frame(bandLine)...)
}

// drawHeadline writes the tag or place as large as it fits, and returns how. Alone in its box it may fill it.
func drawHeadline(d *Drawing, f *Face, alone bool, ink Colour, in box, share float64) (block, error) {
	text, rows := f.Headline, 1
	if strings.Contains(text, " ") {
		rows = 2
	}
	if alone {
		rows, share = rows*2, 0.95
	}
	if f.tagged {
		rows = 1 // a tag broken in two is read as another one
	}
	t := fit(text, bold, in.w, min(in.h*share, maxHeadline*d.roomy()), minHeadline, rows)
	for size := t.size; t.height() > in.h && size > minHeadline; size *= 0.95 {
		t = fit(text, bold, in.w, size, minHeadline, rows)
	}
	if t.cut && rows == 1 || t.height() > in.h {
		return block{}, &tooSmall{fmt.Sprintf("%q does not fit", text)}
	}
	t.write(d, ink, in.x, in.y)
	return t, nil
}

// roomy is how far type may grow past its usual largest size on a big label, read from further away.
func (d *Drawing) roomy() float64 { return max(1, min(d.Width, d.Height)/60) }

// drawLines writes the lines as large as they fit, at most at the given size. It writes nothing if they do not fit at all.
func drawLines(d *Drawing, lines []Line, ink Colour, in box, most float64, mayDrop bool) error {
	if len(lines) == 0 {
		return nil
	}
	blocks, total := setAlike(lines, in, most)
	last := len(lines) - 1
	if total > in.h {
		least := 0.55 * most
		if lines[last].spare {
			least = minText
		}
		blocks, total = setWrapped(lines, in, most, max(least, minText))
	}
	if total > in.h && lines[last].spare {
		return drawLines(d, lines[:last], ink, in, most, mayDrop)
	}
	for rows := 3; rows >= 1 && total > in.h; rows-- {
		for scale := 1.0; total > in.h; scale -= 0.05 {
			blocks, total = setEach(lines, in, most*scale, rows)
			if most*scale < minText {
				break
			}
		}
		if total <= in.h { // short lines do not shout beside long ones
			blocks, total = setEach(lines, in, min(1.3*smallest(blocks), most), rows)
		}
	}
	if total > in.h {
		if !mayDrop {
			return &tooSmall{fmt.Sprintf("%d lines of text need %.1f mm, and there are %.1f mm", len(lines), total, in.h)}
		}
		return drawLines(d, dropLast(lines), ink, in, most, len(lines) > 2)
	}
	for i, l := range lines {
		if l.Caution && blocks[i].cut {
			return &tooSmall{fmt.Sprintf("%q must stand on it whole", l.Text)}
		}
	}
	gap := min((in.h-total)/float64(len(blocks)), blocks[0].size*0.4)
	y := in.y
	for _, b := range blocks {
		b.write(d, ink, in.x, y)
		y += b.height() + gap
	}
	return nil
}

// setAlike sets every line on one row and all at one size, which reads best, if that size is not much below the largest. A
// caution takes two rows where that lets everything grow.
func setAlike(lines []Line, in box, most float64) ([]block, float64) {
	best, total := []block(nil), math.Inf(1)
	for _, halved := range []bool{false, true} {
		blocks := make([]block, len(lines))
		rows, widest := 0, 0.0
		for i, l := range lines {
			blocks[i] = block{rows: []string{l.Text}, font: l.face(), plate: l.Caution}
			if l.Caution && halved {
				blocks[i].rows = halve(l.Text, l.face())
			}
			rows, widest = rows+len(blocks[i].rows), max(widest, blocks[i].ems())
		}
		size := 0.999 * min(most, in.h/(float64(rows)*lineHeight), in.w/widest)
		if size < max(minText, 0.55*most) || best != nil && size < best[0].size*1.1 {
			continue
		}
		for i := range blocks {
			blocks[i].size = size
		}
		best, total = blocks, size*lineHeight*float64(rows)
	}
	return best, total
}

// setWrapped sets every line at one size, wrapped at its spaces where it is too long, if that can be done at the least
// size or above.
func setWrapped(lines []Line, in box, most, least float64) ([]block, float64) {
	for size := most; size >= least; size *= 0.95 {
		var blocks []block
		total, whole := 0.0, true
		for _, l := range lines {
			b := block{font: l.face(), size: size, plate: l.Caution}
			b.rows = wrap(l.Text, b.font, in.w/size)
			if l.Caution {
				if b.rows = []string{l.Text}; b.ems()*size > in.w {
					b.rows = halve(l.Text, b.font)
				}
			}
			whole = whole && b.ems()*size <= in.w && strings.Join(b.rows, " ") == l.Text
			blocks, total = append(blocks, b), total+b.height()
		}
		if whole && total <= in.h {
			return blocks, total
		}
	}
	return nil, math.Inf(1)
}

// setEach sets every line by itself, on so many rows at most.
func setEach(lines []Line, in box, size float64, rows int) (blocks []block, total float64) {
	size = max(size, minText)
	for _, l := range lines {
		may, width := rows, in.w
		if l.Caution {
			may = max(rows, 2) // sooner on two rows than cut
			width -= 2 * plateSide * size
		}
		b := fit(l.Text, l.face(), width, size, minText, may)
		if b.plate = l.Caution; b.plate && len(b.rows) > 1 && !b.cut {
			if half := (block{rows: halve(l.Text, b.font), font: b.font, size: b.size, plate: true}); half.ems()*b.size <= in.w {
				b = half
			}
		}
		blocks, total = append(blocks, b), total+b.height()
	}
	return blocks, total
}

func smallest(blocks []block) float64 {
	least := math.Inf(1)
	for _, b := range blocks {
		least = min(least, b.size)
	}
	return least
}

func (l Line) face() *typeface {
	if l.Strong {
		return bold
	}
	return regular
}

// dropLast takes one more line away and says so in the last one.
func dropLast(lines []Line) []Line {
	kept := append([]Line(nil), lines[:len(lines)-1]...)
	kept[len(kept)-1] = Line{Text: "… more in the record"}
	return kept
}

// block is a piece of text as it is set: one or more rows of one size.
type block struct {
	rows  []string
	font  *typeface
	size  float64
	cut   bool
	plate bool // white on a plate of ink
}

// plateSide is the ink left and right of the words on a plate, in ems.
const plateSide = 0.3

func (b block) height() float64 { return float64(len(b.rows)) * b.size * lineHeight }

// ems is the width of the block at a size of one.
func (b block) ems() (widest float64) {
	for _, row := range b.rows {
		widest = max(widest, b.font.width(row, 1))
	}
	if b.plate {
		widest += 2 * plateSide
	}
	return widest
}

func (b block) write(d *Drawing, ink Colour, x, y float64) {
	if b.plate {
		d.fill(ink, rect(x, y, b.ems()*b.size, b.height()))
		ink, x = white, x+plateSide*b.size
	}
	for i, row := range b.rows {
		// Capitals stand in the middle of their row.
		d.write(ink, b.font, b.size, x, y+(float64(i)+0.5)*b.size*lineHeight+b.size*capHeight/2, row)
	}
}

// fit sets text in the given width. It first shrinks by a quarter to stay on one row, or as far as may be if it must; then
// wraps; then shrinks as far as may be and wraps; then cuts.
func fit(text string, f *typeface, width, size, least float64, rows int) block {
	small := max(size*0.75, least)
	if rows == 1 {
		small = least
	}
	if w := f.width(text, size); w <= width {
		return block{rows: []string{text}, font: f, size: size}
	} else if fits := size * width / w; fits >= small {
		return block{rows: []string{text}, font: f, size: fits * 0.999}
	}
	b := block{font: f, size: small}
	for {
		b.rows = wrap(text, f, width/b.size)
		if len(b.rows) <= rows || b.size <= least {
			break
		}
		b.size = max(b.size*0.95, least)
	}
	if len(b.rows) > rows {
		b.rows = b.rows[:rows]
		b.rows[rows-1] = ellipsis(b.rows[rows-1], f, width/b.size)
		b.cut = true
	}
	return b
}
