package scheme

import (
	"fmt"
	"math"

	"pitman/labels"
	"pitman/labels/colour"
)

// Suggest proposes a scheme from the house's own colour that passes Check on the house's paper. The base
// colour, as ink can make it, becomes the first drive's; the other drives and the stages are chosen to be as
// far from it and from each other as people can see them. Words, stock, paper and QR symbols are those of the
// house's own scheme. The same base gives the same scheme. On paper so dark that no ink shows there is none.
func Suggest(own *labels.Scheme, base labels.Colour) (*labels.Scheme, error) {
	s := labels.Default()
	s.Stock, s.SlipStock, s.BaseURL, s.QRLevel, s.Paper, s.IfFound = own.Stock, own.SlipStock, own.BaseURL,
		own.QRLevel, own.Paper, own.IfFound
	if !base.Printable() {
		base = base.On(colour.White)
	}
	set := func(bands, own map[string]labels.Band, key string, c labels.Colour) {
		bands[key] = labels.Band{Word: own[key].Word, Colour: c, Ink: inkOn(c, s.Paper),
			Pattern: bands[key].Pattern}
	}
	drives, ok := partDrives(base, s.Paper)
	for i, c := range drives {
		set(s.Drive, own.Drive, labels.Drives[i], c)
	}
	for i, c := range spread(drives[:], s.Paper, len(labels.Stages)) {
		set(s.Stage, own.Stage, labels.Stages[i], c)
	}
	if r := Check(s, 0); !ok || !r.Pass {
		why := "no three colours differ enough on it"
		if len(r.Faults) > 0 {
			why = r.Faults[0].Says
		}
		return nil, fmt.Errorf("no scheme from %s passes on paper %s: %s. Choose another colour, or "+
			"lighter paper", base, s.Paper, why)
	}
	return s, nil
}

// inkOn is black or bare paper, whichever reads better on a colour.
func inkOn(c, paper labels.Colour) labels.Colour {
	ground := c.On(paper)
	if colour.Contrast(colour.Black, ground) >= colour.Contrast(colour.White.On(paper), ground) {
		return colour.Black
	}
	return colour.White
}

// reads says whether words can be read on a colour.
func reads(c, paper labels.Colour) bool {
	return colour.Contrast(inkOn(c, paper).On(paper), c.On(paper)) >= textNeed
}

// partDrives finds two colours that part three drives in every way of seeing, lively ones where it can.
func partDrives(base, paper labels.Colour) (drives [3]labels.Colour, ok bool) {
	drives = [3]labels.Colour{base, colour.Black, colour.White}
	seen := colour.ViewsOf(base.On(paper))
	var far []seenColour
	for _, c := range suggestGrid(paper) {
		if seen.Apart(&c.seen) >= driveNeed && reads(c.colour, paper) {
			far = append(far, c)
		}
	}
	best := math.Inf(-1)
	for i := range far {
		p := &far[i]
		for j := i + 1; j < len(far); j++ {
			q := &far[j]
			// Past one and a quarter of the need, more distance is worth less than colour: black and white
			// would always win.
			lively := (liveliness(p) + liveliness(q)) / 4
			if lively+1.25*driveNeed <= best {
				continue
			}
			apart := p.seen.Apart(&q.seen)
			if apart < driveNeed {
				continue
			}
			apart = min(apart, seen.Apart(&p.seen), seen.Apart(&q.seen), 1.25*driveNeed)
			if score := apart + lively; score > best {
				best, ok, drives[1], drives[2] = score, true, p.colour, q.colour
			}
		}
	}
	return drives, ok
}

// liveliness is high for colours of middle chroma, which print much as they show; dull ones get less.
func liveliness(c *seenColour) float64 { return 50 - math.Abs(c.chroma-50) }

// spread picks n colours, each as far as can be from the given ones and from those before it in every way of
// seeing colour. In grey so many cannot be parted; patterns do it there.
func spread(from []labels.Colour, paper labels.Colour, n int) (picked []labels.Colour) {
	var free []seenColour
	for _, c := range colourGrid(paper) {
		if c.chroma > 12 && reads(c.colour, paper) {
			free = append(free, c)
		}
	}
	nearest := make([]float64, len(free))
	for i := range nearest {
		nearest[i] = math.Inf(1)
	}
	keepOff := func(v colour.Views) {
		for i := range free {
			nearest[i] = min(nearest[i], free[i].seen.ApartInColour(&v))
		}
	}
	for _, c := range from {
		keepOff(colour.ViewsOf(c.On(paper)))
	}
	for len(picked) < n && len(free) > 0 {
		farthest := 0
		for i := range nearest {
			if nearest[i] > nearest[farthest] {
				farthest = i
			}
		}
		picked = append(picked, free[farthest].colour)
		keepOff(free[farthest].seen)
	}
	return picked
}

// suggestGrid is a coarser choice than colourGrid, for searches over pairs.
func suggestGrid(paper labels.Colour) (out []seenColour) {
	for _, c := range colourGrid(paper) {
		if coarse(c.colour.R) && coarse(c.colour.G) && coarse(c.colour.B) {
			out = append(out, c)
		}
	}
	return out
}

func coarse(v uint8) bool { return v == 255 || v%64 == 0 || v == 32 || v == 160 }
