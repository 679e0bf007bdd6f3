package labels

import (
	"math"

	"pitman/labels/letters"
)

// block is a piece of text as it is set: one or more rows of one size.
type block struct {
	rows  []string
	font  *letters.Face
	size  float64
	plate bool   // white on a plate of ink
	apart string // what follows the last row after a gap: a tag's check character
}

const (
	plateSide = 0.3  // ink left and right of the words on a plate, in ems
	apartGap  = 0.22 // before a tag's check character, in ems
)

// Above and below capitals a row has this much room; letters that reach further make it higher.
const (
	rowAbove = (letters.LineHeight + letters.CapHeight) / 2
	rowBelow = (letters.LineHeight - letters.CapHeight) / 2
)

// row is how far a row of the block reaches above and below its baseline, in ems.
func (b block) row() (above, below float64) {
	above, below = rowAbove, rowBelow
	for _, text := range b.rows {
		l := b.font.Set(text)
		above, below = max(above, l.Top+0.04), max(below, l.Bottom+0.04)
	}
	return above, below
}

func (b block) height() float64 {
	above, below := b.row()
	return float64(len(b.rows)) * b.size * (above + below)
}

// ems is the width of the block at a size of one.
func (b block) ems() (widest float64) {
	for _, row := range b.rows {
		widest = max(widest, b.font.Width(row, 1))
	}
	if b.apart != "" {
		widest += apartGap + b.font.Width(b.apart, 1)
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
	above, below := b.row()
	for i, row := range b.rows {
		base := y + (float64(i)*(above+below)+above)*b.size
		d.write(ink, b.font, b.size, x, base, row)
		if i == len(b.rows)-1 && b.apart != "" {
			d.write(ink, b.font, b.size, x+(b.font.Width(row, 1)+apartGap)*b.size, base, b.apart)
			d.ops[len(d.ops)-1].joined = true
		}
	}
}

// fit sets text on one row as large as it fits, at most at the given size.
func (b block) fit(width, most float64) block {
	b.size = min(most, 0.999*width/b.ems())
	return b
}

// Shares of the size that a line could have, below which it is not shrunk to stay on one row but wrapped.
const shrinkBeforeWrap = 0.72

// set sets a line in the width, at most at a size: on one row if that costs little of the size, else on as
// many as it takes.
func (l Line) set(width, most float64) block {
	one := block{rows: []string{l.Text}, font: l.face(), plate: l.Caution}
	if one = one.fit(width, most); one.size >= max(shrinkBeforeWrap*most, minText) {
		return one
	}
	b := block{font: one.font, plate: l.Caution}
	for size := max(shrinkBeforeWrap*most, minText); ; size = max(size*0.93, minText) {
		inner := width/size - 0.002
		if l.Caution {
			inner -= 2 * plateSide
			// Parted at its colon rather than anywhere.
			b.rows = letters.Halve(l.Text, b.font)
			if b = b.fit(width, most); b.size >= size {
				return b
			}
		}
		b.rows = letters.Wrap(l.Text, b.font, inner)
		if b = b.fit(width, most); size == minText || !l.Caution && b.size >= size {
			return b
		}
	}
}

// setLines sets every line as large as it can be by itself, all by the same measure t between the least size
// (0) and the largest (1), and cautions sooner large than others. It says how large that measure could be, or
// that even the least size is too high.
func setLines(lines []Line, in box, most float64) (blocks []block, t float64, ok bool) {
	if len(lines) == 0 {
		return nil, 1, true
	}
	at := func(t float64) (blocks []block, total float64) {
		for _, l := range lines {
			largest := most
			share := t
			switch {
			case l.Caution:
				share = min(1, 1.7*t+0.1)
			case !l.Strong:
				largest *= 0.85
			}
			b := l.set(in.w, minText+share*max(largest-minText, 0))
			blocks, total = append(blocks, b), total+b.height()
		}
		return blocks, total
	}
	fits := func(t float64) bool {
		var total float64
		if blocks, total = at(t); total > in.h {
			return false
		}
		for _, b := range blocks {
			if b.size < minText {
				return false // a single letter wider than the label
			}
		}
		return true
	}
	if fits(1) {
		return blocks, 1, true
	}
	if !fits(0) {
		return nil, 0, false
	}
	low, high := 0.0, 1.0
	for range 6 {
		if t := (low + high) / 2; fits(t) {
			low = t
		} else {
			high = t
		}
	}
	fits(low)
	return blocks, low, true
}

// writeLines puts set lines under each other.
func (d *Drawing) writeLines(blocks []block, ink Colour, in box) {
	if len(blocks) == 0 {
		return
	}
	total, size := 0.0, math.Inf(1)
	for _, b := range blocks {
		total, size = total+b.height(), min(size, b.size)
	}
	gap := min((in.h-total)/float64(len(blocks)), size*0.4)
	y := in.y
	for _, b := range blocks {
		b.write(d, ink, in.x, y)
		y += b.height() + gap
	}
}

func (l Line) face() *letters.Face {
	if l.Strong {
		return letters.Bold
	}
	return letters.Regular
}
