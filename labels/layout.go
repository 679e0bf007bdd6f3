package labels

import (
	"errors"
	"fmt"
	"runtime"
	"slices"
	"strings"
	"sync"
	"sync/atomic"

	"pitman/labels/letters"
)

// Sizes on a label, in millimetres. Common practice, no standard: read at arm's length, 6 pt is the least
// that does.
const (
	minText     = 2.12 // 6 pt
	maxText     = 5.5
	minHeadline = 3.2 // 9 pt
	maxHeadline = 14
	bandLine    = 0.25
	lowestBand  = 4.5
	cutLine     = 0.15
	// between a hole and print: a punch ring is 13 mm across or so, an eyelet less (common practice)
	holeClear = 4
)

// tooSmall is why a face does not fit a label.
type tooSmall struct{ why string }

func (e *tooSmall) Error() string { return e.why }

// Draw lays a face out on one label of the stock: tag, symbol and cautions, then the band, then the lines in
// their order, each as large as it can be by itself. What is least important is left out where there is no
// room; nothing is cut, and nothing stands past the edge. A label too small for the tag, a QR symbol that can
// be scanned, or a caution is refused, and the error names one that would do.
func Draw(f *Face, stock Stock, s *Scheme, on Device) (*Drawing, error) {
	if err := f.drawable(); err != nil {
		return nil, err
	}
	d, err := layOut(f, stock, s, on)
	if err == nil {
		d.ops = slices.Clone(d.ops) // thousands are kept until they are written
		return d, nil
	}
	var small *tooSmall
	if !errors.As(err, &small) {
		return nil, err
	}
	best := Stock{}
	for _, other := range DefaultStock() {
		area := func(s Stock) float64 { return s.LabelWidth * s.LabelHeight }
		if best.Name != "" && area(other) >= area(best) || area(other) < area(stock) {
			continue
		}
		if _, err := layOut(f, other, s, on); err == nil {
			best = other
		}
	}
	if best.Name == "" {
		return nil, fmt.Errorf("%s: label %s is too small: %s, and no stock in the starter table would do: "+
			"shorten the text or the base_url", f.Headline, stock.Name, small.why)
	}
	return nil, fmt.Errorf("%s: label %s is too small: %s; %s would do, %v × %v mm", f.Headline, stock.Name,
		small.why, best.Name, best.LabelWidth, best.LabelHeight)
}

// DrawAll draws many labels at once. Of those that cannot be drawn it says why, in their places; the rest are
// drawn.
func DrawAll(faces []*Face, stock Stock, s *Scheme, on Device) (drawings []*Drawing, refused []error) {
	drawings, refused = make([]*Drawing, len(faces)), make([]error, len(faces))
	var next atomic.Int64
	var done sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		done.Go(func() {
			for i := int(next.Add(1)) - 1; i < len(faces); i = int(next.Add(1)) - 1 {
				drawings[i], refused[i] = Draw(faces[i], stock, s, on)
			}
		})
	}
	done.Wait()
	return drawings, refused
}

// layOut tries the whole face, then ever less of it.
func layOut(f *Face, stock Stock, s *Scheme, on Device) (*Drawing, error) {
	s = on.scheme(s)
	code, err := f.Symbol(s)
	if err != nil {
		return nil, err
	}
	all := f.Lines
	if f.OnMetal && stock.Hole == 0 && !stock.noted() {
		all = append(all[:len(all):len(all)], Line{Text: notOnDecals})
	}
	l := layout{f: f, stock: stock, s: s, on: on, code: code}
	for _, lines := range lessAndLess(all) {
		if d, err := l.draw(f.Band, lines); err == nil {
			return d, nil
		} else if len(lines) < 2 || f.Band == nil {
			l.why = err
		}
	}
	if f.Band == nil {
		return nil, l.why
	}
	// Without the band, its word is a line after the cautions.
	n := cautions(all)
	word := append(append(all[:n:n], Line{Text: f.Band.Word, Strong: true}), all[n:]...)
	for _, lines := range lessAndLess(word) {
		d, err := l.draw(nil, lines)
		if err == nil {
			return d, nil
		}
		l.why = err
	}
	return nil, l.why
}

func cautions(lines []Line) (n int) {
	for n < len(lines) && (lines[n].Caution || lines[n].Needed) {
		n++
	}
	return n
}

// lessAndLess are the lines, then without the last of them, and so on down to what may not be left out. Where
// findings are left out, that is said.
func lessAndLess(lines []Line) (out [][]Line) {
	for n := len(lines); n >= cautions(lines); n-- {
		kept := lines[:n:n]
		if n < len(lines) && lines[n].Finding && n > 0 && !lines[n-1].Caution {
			kept = append(lines[:n-1:n-1], Line{Text: "… more in the record"})
		}
		out = append(out, kept)
	}
	return out
}

// layout is one face on one stock.
type layout struct {
	f     *Face
	stock Stock
	s     *Scheme
	on    Device
	code  Symbol
	why   error
}

// draw lays out the tag, the symbol, a band if there is one, and all of the lines, or says why it cannot.
func (l *layout) draw(band *Band, lines []Line) (*Drawing, error) {
	d := &Drawing{Width: l.stock.LabelWidth, Height: l.stock.LabelHeight}
	pad := min(max(min(d.Width, d.Height)*0.05, 1.5), 3)
	area := l.on.onDots(l.stock.clear(box{0, 0, d.Width, d.Height}.inset(pad)))
	if area.w < minHeadline || area.h < minHeadline {
		return nil, &tooSmall{"there is no room beside its hole"}
	}
	if band != nil {
		high, tile := l.bandHeight(d)
		if high > area.h/2 {
			return nil, &tooSmall{fmt.Sprintf("the %s band needs %.1f mm", band.Word, high)}
		}
		if err := drawBand(d, l.on.band(*band), l.s, box{area.x, area.y + area.h - high, area.w, high}, tile,
			l.on); err != nil {
			return nil, err
		}
		area.h = l.on.whole(area.h - high - pad/2)
	}
	tall := d.Height > 1.1*d.Width
	head, body := area, area
	if l.code != nil {
		symbol, err := l.symbolIn(d, area, tall)
		if err != nil {
			return nil, err
		}
		if !tall {
			head.w = symbol.x - area.x
			body.w = head.w
		}
		return l.words(d, lines, head, body, symbol, tall)
	}
	return l.words(d, lines, head, body, box{}, tall)
}

// words writes the headline and the lines: beside the symbol, or on a tall label above and below it.
func (l *layout) words(d *Drawing, lines []Line, head, body, symbol box, tall bool) (*Drawing, error) {
	shares := []float64{0.36, 0.28, 0.2}
	for i, share := range shares {
		headline, err := l.headline(d, head, share, len(lines) == 0 && !tall)
		if err != nil {
			return nil, err
		}
		in, at := body, symbol
		in.y, in.h = in.y+headline.height(), in.h-headline.height()
		if tall && l.code != nil {
			at.y = l.on.up(in.y)
			below := at.y + at.h
			in.y, in.h = below, body.y+body.h-below
		}
		blocks, t, ok := setLines(lines, in, min(maxText*d.roomy(), headline.size*0.8))
		last := i == len(shares)-1
		if !ok && last || in.h < 0 {
			return nil, l.tooMuch(lines, in)
		}
		if !ok || t < 0.5 && !last {
			continue // smaller letters in the headline leave larger ones to the lines
		}
		headline.write(d, l.s.Text, head.x, head.y)
		if l.code != nil {
			d.draw(l.s.Text, at.x, at.y, at.w/float64(l.code.Side()), l.code.modules())
		}
		d.writeLines(blocks, l.s.Text, in)
		return d, nil
	}
	return nil, l.tooMuch(lines, body)
}

func (l *layout) tooMuch(lines []Line, in box) error {
	if n := cautions(lines); n > 0 && n == len(lines) {
		return &tooSmall{fmt.Sprintf("%q must stand on it whole", lines[n-1].Text)}
	}
	return &tooSmall{fmt.Sprintf("there are %.1f mm for %d lines of text", max(in.h, 0), len(lines))}
}

// symbolIn finds the place of the symbol: on the right of a label, or on a tall one under the headline, whose
// height is not known yet.
func (l *layout) symbolIn(d *Drawing, area box, tall bool) (box, error) {
	modules := float64(l.code.Side())
	least := modules * l.on.near(minModule)
	room := min(area.h, area.w*0.55)
	side := min(area.h, max(area.w*0.42, min(least, room)), 45*d.roomy())
	if tall {
		room = min(area.w, area.h-minHeadline*letters.LineHeight)
		side = min(room, max(0.4*area.h, least), 45*d.roomy())
	}
	if side = modules * l.on.whole(side/modules); side < least-1e-9 {
		return box{}, &tooSmall{fmt.Sprintf("its QR symbol has %d modules a side with the quiet zone, %.1f "+
			"mm at the least of %.2g mm each, and there is room for %.1f mm",
			l.code.Side(), least, least/modules, max(room, side))}
	}
	if tall {
		return box{area.x, area.y, side, side}, nil
	}
	return box{l.on.whole(area.x + area.w - side), area.y, side, side}, nil
}

// notOnDecals is on every sheet of stickers, or where there is no room for a note, on each: glue lifts old
// gold work.
const notOnDecals = "not on decals"

// bandHeight is how high a band is on a label, and the side of its pattern's tile: whole tiles, of whole
// dots.
func (l *layout) bandHeight(d *Drawing) (high, tile float64) {
	high = min(max(d.Height*0.16, lowestBand), 9*d.roomy())
	if d.Height > 1.1*d.Width {
		high = min(max(d.Width*0.16, lowestBand), 9*d.roomy())
	}
	return l.on.tiles(high)
}

// tiles rounds a band's height to whole tiles.
func (v Device) tiles(high float64) (whole, tile float64) {
	n := max(float64(int(high/patternTile+0.5)), 2)
	tile = v.whole(high / n)
	return tile * n, tile
}

// drawBand paints the word on a plain plate, and the pattern beside it, both in the band's ink on its colour.
func drawBand(d *Drawing, b Band, s *Scheme, at box, tile float64, on Device) error {
	word := letters.Bold.Set(b.Word)
	top := max(word.Top, letters.CapHeight)
	side := at.h * 0.35
	size := min(at.h*0.62, 0.88*at.h/(top+word.Bottom))
	if most := at.w*0.7 - 2*side; word.Width*size > most {
		size = max(most/word.Width, min(size, minText))
		// A long word takes the pattern's room sooner than that it cannot be read; a tile of it must remain.
		if word.Width*size > at.w-2*side-tile {
			return &tooSmall{fmt.Sprintf("its band has no room for %q", b.Word)}
		}
	}
	wide := word.Width*size + 2*side
	pattern := float64(int((at.w-wide)/tile+1e-6)) * tile
	line := on.near(bandLine)
	d.fill(b.Colour, at.ring())
	if pattern > 0 && b.Pattern.drawn() {
		d.draw(b.Ink, at.x+at.w-pattern, at.y, tile/tileUnits, filled{b.Pattern, pattern / tile, at.h / tile})
	}
	d.write(b.Ink, letters.Bold, size, at.x+side, at.y+(at.h+size*(top-word.Bottom))/2, b.Word)
	d.fill(s.Text, at.frame(line)...)
	return nil
}

// headline sets the tag or place as large as it fits. Alone it may fill its box.
func (l *layout) headline(d *Drawing, in box, share float64, alone bool) (block, error) {
	most := min(in.h*share, maxHeadline*d.roomy())
	if alone {
		most = min(in.h*0.95, maxHeadline*d.roomy())
	}
	b := block{rows: []string{l.f.Headline}, font: letters.Bold}
	if l.f.tagged && len(l.f.Headline) > 1 {
		// A tag broken in two is read as another one; its check character stands a little apart.
		n := len(l.f.Headline) - 1
		b.rows, b.apart = []string{l.f.Headline[:n]}, l.f.Headline[n:]
		b = b.fit(in.w, most)
	} else if b = b.fit(in.w, most); b.size < most*0.75 {
		b = l.placeOnRows(b, in, most, alone)
	}
	if b.size < minHeadline || b.height() > in.h {
		return block{}, &tooSmall{fmt.Sprintf("%q does not fit", l.f.Headline)}
	}
	return b, nil
}

// placeOnRows sets the name of a place on as many rows as make it largest.
func (l *layout) placeOnRows(one block, in box, most float64, alone bool) block {
	best := one
	rows := 2
	if alone {
		rows = 4
	}
	if !strings.Contains(l.f.Headline, " ") {
		rows = 1
		if alone {
			rows = 2
		}
	}
	for size := most; size >= minHeadline; size *= 0.95 {
		b := block{rows: letters.Wrap(l.f.Headline, one.font, in.w/size), font: one.font, size: size}
		if len(b.rows) <= rows && b.height() <= in.h && b.ems()*size <= in.w {
			if size > best.size {
				best = b
			}
			break
		}
	}
	return best
}

// roomy is how far type may grow past its usual largest size on a big label, read from further away.
func (d *Drawing) roomy() float64 { return max(1, min(d.Width, d.Height)/60) }
