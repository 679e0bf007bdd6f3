package labels

import (
	"fmt"
	"math"
	"slices"
	"sync"
)

// What Check asks for.
const (
	// Contrast of text: WCAG 2.2, success criterion 1.4.3. A band's word is often smaller than "large text" (14 pt bold),
	// so 4.5 and not 3 is asked for; it also covers 1.4.11 (3 for marks), since pattern and word share their ink.
	textNeed = 4.5
	// Contrast of a QR symbol's modules. WCAG has no figure for scanners; 7 (its enhanced level, 1.4.6) is common practice
	// for symbols that cheap cameras must read in a dim store room.
	qrNeed = 7
	// Colour difference, CIEDE2000. About 1 is just noticeable side by side. Common practice takes 10 as different at a
	// glance; that is asked of stages, whose slips hang next to each other.
	stageNeed = 10
	// Drives are compared from memory, across a room and on worn labels: twice that.
	driveNeed = 20
)

// Report is the judgement on a scheme. Its JSON form is fixed.
type Report struct {
	Pass  bool         `json:"pass"`
	Text  []TextResult `json:"text"`
	Pairs []PairResult `json:"pairs"`
	// Faults says each fault in a sentence with what would mend it.
	Faults []string `json:"-"`
}

// TextResult is one contrast: a word on its band, text on paper, or the QR symbol.
type TextResult struct {
	Name  string  `json:"name"`
	Ratio float64 `json:"ratio"`
	Need  float64 `json:"need"`
	Pass  bool    `json:"pass"`
}

// PairResult is one pair of bands seen in one way. By names the means on which the verdict rests: for a pass what tells the
// two apart, for a fail what is lacking.
type PairResult struct {
	A      string  `json:"a"`
	B      string  `json:"b"`
	Vision Vision  `json:"vision"`
	DeltaE float64 `json:"delta_e"`
	Need   float64 `json:"need"`
	Pass   bool    `json:"pass"`
	By     string  `json:"by"`
}

// Check judges a valid scheme: can its words be read, can its QR symbols be scanned, and would people mistake one band for
// another? Two drives must differ by colour and by pattern; two stages by colour, or else by pattern and word.
func (s *Scheme) Check() *Report {
	r := &Report{Pass: true}
	r.contrast("text on paper", s.Text, s.Paper, textNeed, true)
	r.contrast("QR symbol on paper", s.Text, s.Paper, qrNeed, s.Text.linear().luminance() < s.Paper.linear().luminance())
	for _, g := range s.groups() {
		for _, key := range g.keys {
			r.contrast(g.name+" "+key, g.bands[key].Ink, g.bands[key].Colour, textNeed, true)
		}
	}
	for _, g := range s.groups() {
		for i, a := range g.keys {
			for _, b := range g.keys[i+1:] {
				r.pair(g, a, b)
			}
		}
	}
	return r
}

func (r *Report) contrast(name string, ink, ground Colour, need float64, rightWay bool) {
	ratio := contrast(ink, ground)
	t := TextResult{Name: name, Ratio: round(ratio, 2, need), Need: need, Pass: ratio >= need && rightWay}
	r.Text = append(r.Text, t)
	switch {
	case t.Pass:
		return
	case !rightWay:
		r.fault("%s: it is light on dark (%s on %s), and many readers want dark on light", name, ink, ground)
	default:
		r.fault("%s: %s on %s has a contrast of %.2f, and %.1f is needed; %s would have %.2f",
			name, ink, ground, t.Ratio, need, inkFor(ground), contrast(inkFor(ground), ground))
	}
}

func (r *Report) fault(format string, args ...any) {
	r.Pass = false
	r.Faults = append(r.Faults, fmt.Sprintf(format, args...))
}

func (r *Report) pair(g group, a, b string) {
	p, q := g.bands[a], g.bands[b]
	distance := p.Pattern.apart(q.Pattern)
	byPattern := distance >= patternNeed
	sameWord := p.sameWord(q)
	if !g.both {
		byPattern = byPattern && !sameWord
	}
	seenP, seenQ := viewsOf(p.Colour), viewsOf(q.Colour)
	worst, at := 0.0, Vision("")
	for i, v := range visions {
		delta := ciede2000(seenP[i], seenQ[i])
		byColour := delta >= g.need
		pass := byColour || byPattern
		if g.both {
			pass = byColour && byPattern
		}
		r.Pairs = append(r.Pairs, PairResult{A: a, B: b, Vision: v, DeltaE: round(delta, 2, g.need), Need: g.need, Pass: pass,
			By: means(byColour == pass, byPattern == pass)})
		// A pair that fails with usual sight is told so; else the worst way of seeing.
		if short := g.need - delta; !pass && short > worst && at != Normal {
			worst, at = short, v
		}
	}
	if at != "" {
		r.fault("%s and %s look alike %s: the colours differ by %.1f, and %.0f is needed; %s",
			a, b, at.seen(), round(g.need-worst, 1, g.need), g.need, g.nearest(a, b))
	}
	if g.both && !byPattern {
		r.fault("%s and %s have patterns that are hard to tell apart, %s and %s: they differ in %.0f %% of the area, and %.0f %% is needed; %s would do for %s",
			a, b, p.Pattern, q.Pattern, math.Floor(distance*100), patternNeed*100, g.freePattern(b), b)
	}
	if g.both && sameWord {
		r.fault("%s and %s have the same word, %q: give each its own", a, b, p.Word)
	}
}

func means(colour, pattern bool) string {
	switch {
	case colour && pattern:
		return "both"
	case pattern:
		return "pattern"
	default:
		return "colour"
	}
}

// freePattern is the first pattern that is clear of every other band's.
func (g group) freePattern(key string) Pattern {
	for _, p := range patterns {
		clear := true
		for _, other := range g.keys {
			clear = clear && (other == key || p.name.apart(g.bands[other].Pattern) >= patternNeed)
		}
		if clear {
			return p.name
		}
	}
	return "none"
}

// nearest says which colour would part two bands, changing the one that needs the smaller change.
func (g group) nearest(a, b string) string {
	best, key, least := Colour{}, "", math.Inf(1)
	for _, k := range []string{b, a} {
		if c, ok := g.nearestFor(k); ok {
			if d := ciede2000(c.linear().lab(), g.bands[k].Colour.linear().lab()); d < least {
				best, key, least = c, k, d
			}
		}
	}
	if key == "" {
		return "no single change would part them: ask for a whole set with scheme suggest"
	}
	return fmt.Sprintf("the nearest colour that would pass is %s for %s", best, key)
}

// nearestFor finds the colour nearest to a band's own that is clear of every other band of the group by what the group
// asks, seen in every way. It searches a grid of 4,913 colours, then walks back towards the band's own colour.
func (g group) nearestFor(key string) (Colour, bool) {
	own := g.bands[key]
	others := make([]views, 0, len(g.keys))
	for _, k := range g.keys {
		other := g.bands[k]
		byPattern := !g.both && own.Pattern.apart(other.Pattern) >= patternNeed && !own.sameWord(other)
		if k != key && !byPattern {
			others = append(others, viewsOf(other.Colour))
		}
	}
	passes := func(v views) bool {
		return !slices.ContainsFunc(others, func(o views) bool { return v.apart(o) < g.need })
	}
	from := own.Colour.linear().lab()
	found, least := Colour{}, math.Inf(1)
	for _, c := range colourGrid() {
		if d := ciede2000(from, c.seen[0]); d < least && passes(c.seen) {
			found, least = c.colour, d
		}
	}
	if math.IsInf(least, 1) {
		return Colour{}, false
	}
	// Half the way back as long as it still passes: nine halvings bring 8-bit channels to a single step.
	towards := own.Colour
	for range 9 {
		middle := Colour{half(found.R, towards.R), half(found.G, towards.G), half(found.B, towards.B)}
		if passes(viewsOf(middle)) {
			found = middle
		} else {
			towards = middle
		}
	}
	return found, true
}

func half(a, b uint8) uint8 { return uint8((int(a) + int(b)) / 2) }

// seenColour is a colour with its five appearances worked out.
type seenColour struct {
	colour Colour
	seen   views
	chroma float64
}

// colourGrid is every 16th step of each channel: fine enough that neighbours differ by about 4 in CIEDE2000.
var colourGrid = sync.OnceValue(func() (grid []seenColour) {
	level := func(i int) uint8 { return uint8(min(i*16, 255)) }
	for r := range 17 {
		for g := range 17 {
			for b := range 17 {
				c := Colour{level(r), level(g), level(b)}
				v := viewsOf(c)
				grid = append(grid, seenColour{c, v, math.Hypot(v[0].a, v[0].b)})
			}
		}
	}
	return grid
})

// round writes a figure to some places; one that falls short of its need never rounds up to it.
func round(v float64, places int, need float64) float64 {
	scale := math.Pow(10, float64(places))
	if r := math.Round(v*scale) / scale; v >= need || r < need {
		return r
	}
	return math.Floor(v*scale) / scale
}
