package labels

import "math"

// stagePatterns are twelve patterns of which any two are clearly different, one for each stage.
var stagePatterns = []Pattern{"plain", "dots", "rising", "upright", "waves", "checks", "grid", "level", "bricks", "triangles", "windows", "falling"}

// Suggest proposes a scheme from the house's own colour that passes Check. The base colour becomes the first drive's;
// the other drives and the stages are chosen to be as far from it and from each other as people can see them.
// Words, stock and QR symbols are those of the house's own scheme, in the default's black on white. The same base gives
// the same scheme.
func (own *Scheme) Suggest(base Colour) *Scheme {
	s := Default()
	s.Stock, s.SlipStock, s.BaseURL, s.QRLevel = own.Stock, own.SlipStock, own.BaseURL, own.QRLevel
	set := func(bands, own map[string]Band, key string, c Colour, p Pattern) {
		bands[key] = Band{own[key].Word, c, inkFor(c), p}
	}
	second, third := partDrives(viewsOf(base))
	for i, c := range []Colour{base, second, third} {
		set(s.Drive, own.Drive, Drives[i], c, s.Drive[Drives[i]].Pattern)
	}
	for i, c := range spread(base, len(Stages)) {
		set(s.Stage, own.Stage, Stages[i], c, stagePatterns[i])
	}
	return s
}

// partDrives finds two colours that part three drives in every way of seeing, lively ones where it can. There always are
// some: in grey, the hardest case, black, white and the middle are more than 20 from each other, and a base near one of
// them leaves the other two.
func partDrives(base views) (second, third Colour) {
	var far []seenColour
	for _, c := range suggestGrid() {
		if base.apart(c.seen) >= driveNeed {
			far = append(far, c)
		}
	}
	best := math.Inf(-1)
	for i, p := range far {
		for _, q := range far[i+1:] {
			// Past one and a quarter of the need, more distance is worth less than colour: black and white would always win.
			lively := (liveliness(p) + liveliness(q)) / 4
			if lively+1.25*driveNeed <= best {
				continue
			}
			apart := p.seen.apart(q.seen)
			if apart < driveNeed {
				continue
			}
			apart = min(apart, base.apart(p.seen), base.apart(q.seen), 1.25*driveNeed)
			if score := apart + lively; score > best {
				best, second, third = score, p.colour, q.colour
			}
		}
	}
	return second, third
}

// liveliness is high for colours of middle chroma, which print much as they show; glaring and dull ones get less.
func liveliness(c seenColour) float64 { return 50 - math.Abs(c.chroma-50) }

// spread picks n colours, each as far as can be from those before it in every way of seeing, beginning beside base.
func spread(base Colour, n int) []Colour {
	var free []seenColour
	for _, c := range suggestGrid() {
		if l := c.seen[0].l; l > 25 && l < 92 && c.chroma > 15 && c.chroma < 80 {
			free = append(free, c)
		}
	}
	first := free[0]
	seen := viewsOf(base)
	for _, c := range free {
		if ciede2000(seen[0], c.seen[0]) < ciede2000(seen[0], first.seen[0]) {
			first = c
		}
	}
	picked := []Colour{first.colour}
	nearest := make([]float64, len(free))
	for i := range nearest {
		nearest[i] = math.Inf(1)
	}
	last := first
	for len(picked) < n {
		farthest := 0
		for i, c := range free {
			nearest[i] = min(nearest[i], c.seen.apart(last.seen))
			if nearest[i] > nearest[farthest] {
				farthest = i
			}
		}
		last = free[farthest]
		picked = append(picked, last.colour)
	}
	return picked
}

// suggestGrid is a coarser choice than colourGrid, for searches over pairs.
func suggestGrid() (out []seenColour) {
	for _, c := range colourGrid() {
		if coarse(c.colour.R) && coarse(c.colour.G) && coarse(c.colour.B) {
			out = append(out, c)
		}
	}
	return out
}

func coarse(v uint8) bool { return v == 255 || v%64 == 0 || v == 32 || v == 160 }
