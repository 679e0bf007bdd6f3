// Package scheme is a house's colour scheme as people live with it: read from a file and written to one, with
// each fault at its line, judged, and proposed.
//
// Check computes whether people would mistake two bands for each other, with usual sight, with each of three
// colour-vision deficiencies, in grey print and in black and white, and whether words and symbols can be
// read; each fault comes with what would mend it. Suggest finds a scheme that passes. What a scheme is, and
// how its bands are drawn, belongs to package labels.
package scheme

import (
	"fmt"
	"math"
	"slices"
	"sync"

	"pitman/labels"
	"pitman/labels/colour"
)

// What Check asks for.
const (
	// Contrast of text: WCAG 2.2, success criterion 1.4.3. A band's word is often smaller than "large text"
	// (14 pt bold), so 4.5 and not 3 is asked for; it also covers 1.4.11 (3 for marks), since pattern and
	// word share their ink.
	textNeed = 4.5
	// Contrast of a QR symbol's modules. WCAG has no figure for scanners; 7 (its enhanced level, 1.4.6) is
	// common practice for symbols that cheap cameras must read in a dim store room.
	qrNeed = 7
	// Colour difference, CIEDE2000. About 1 is just noticeable side by side. Common practice takes 10 as
	// different at a glance; that is asked of stages, whose slips hang next to each other, and of a stage
	// beside a drive.
	stageNeed = 10
	// Drives are compared from memory, across a room and on worn labels: twice that.
	driveNeed = 20
)

// patternNeed is the share of the area in which two patterns must differ however one is slid over the other.
// No standard gives a figure; a fifth is our own, where pairs judged by eye as clearly different at label
// size begin: waves beside chevrons (0.18) and lattice beside chequers (0.19) look akin, dots beside
// triangles (0.22) do not.
const patternNeed = 0.2

// Report is the judgement on a scheme. Its JSON form is fixed.
type Report struct {
	Pass  bool         `json:"pass"`
	Text  []TextResult `json:"text"`
	Pairs []PairResult `json:"pairs"`
	// Faults says each fault with what would mend it.
	Faults []SchemeFault `json:"-"`
}

// SchemeFault is one fault of a scheme: the setting at which to mend it, such as "drive.hand.colour", and a
// sentence.
type SchemeFault struct{ Setting, Says string }

// TextResult is one contrast: a word on its band, text on paper, or the QR symbol.
type TextResult struct {
	Name  string  `json:"name"`
	Ratio float64 `json:"ratio"`
	Need  float64 `json:"need"`
	Pass  bool    `json:"pass"`
}

// PairResult is one pair of bands seen in one way. By names the means on which the verdict rests: for a pass
// what tells the two apart, for a fail what is lacking.
type PairResult struct {
	A      string  `json:"a"`
	B      string  `json:"b"`
	Vision Vision  `json:"vision"`
	DeltaE float64 `json:"delta_e"`
	Need   float64 `json:"need"`
	Pass   bool    `json:"pass"`
	By     string  `json:"by"`
}

// Vision is a way of seeing a colour, or Mono.
type Vision = colour.Vision

// Mono is print without any colour or grey: patterns and words alone, at a printer's dots.
const Mono Vision = "mono"

// usualDPI is the coarsest that label printers usually are.
const usualDPI = 203

// Check judges a valid scheme as it prints on its paper: can its words be read and drawn, can its QR symbols
// be scanned, and would people mistake one band for another? Two drives must differ by colour and by pattern;
// two stages, or a drive and a stage, by colour, or else by pattern and word. In black and white at so many
// dots per inch (0: at 203) any two must differ by pattern and word.
func Check(s *labels.Scheme, dpi int) *Report {
	if dpi == 0 {
		dpi = usualDPI
	}
	r := &Report{Pass: true}
	text := s.Text.On(s.Paper)
	r.contrast("text on paper", "text", text, s.Paper, textNeed)
	r.contrast("QR symbol on paper", "text", text, s.Paper, qrNeed)
	bands := bandsOf(s)
	for _, b := range bands {
		r.contrast(b.group+" "+b.key, b.setting("ink"), b.Ink.On(s.Paper), b.Colour.On(s.Paper), textNeed)
		if err := labels.Drawable(b.Word); err != nil {
			r.fault(b.setting("word"), "%v", err)
		}
	}
	if err := labels.Drawable(s.IfFound); err != nil {
		r.fault("if_found", "%v", err)
	}
	c := newComparison(s, bands, dpi)
	for i := range bands {
		for j := i + 1; j < len(bands); j++ {
			r.pair(c, i, j)
		}
	}
	return r
}

func (r *Report) contrast(name, setting string, ink, ground labels.Colour, need float64) {
	ratio := colour.Contrast(ink, ground)
	t := TextResult{Name: name, Ratio: round(ratio, 2, need), Need: need, Pass: ratio >= need}
	r.Text = append(r.Text, t)
	if !t.Pass {
		r.fault(setting, "%s: %s on %s has a contrast of %.2f, and %.1f is needed; %s would have %.2f",
			name, ink, ground, t.Ratio, need, colour.InkFor(ground),
			colour.Contrast(colour.InkFor(ground), ground))
	}
}

func (r *Report) fault(setting, format string, args ...any) {
	r.Pass = false
	r.Faults = append(r.Faults, SchemeFault{setting, fmt.Sprintf(format, args...)})
}

// namedBand is a band with what it stands for.
type namedBand struct {
	group, key string
	labels.Band
}

func (b namedBand) setting(of string) string { return b.group + "." + b.key + "." + of }

// Bands are those of the drives, then those of the stages.
func bandsOf(s *labels.Scheme) (out []namedBand) {
	for _, g := range s.Groups() {
		for _, key := range g.Keys {
			out = append(out, namedBand{g.Name, key, g.Bands[key]})
		}
	}
	return out
}

// comparison is what it takes to compare bands.
type comparison struct {
	paper labels.Colour
	bands []namedBand
	seen  []colour.Views
	mono  func(p, q labels.Pattern) float64
}

func newComparison(s *labels.Scheme, bands []namedBand, dpi int) *comparison {
	c := &comparison{paper: s.Paper, bands: bands, mono: labels.MonoDistances(dpi)}
	for _, b := range bands {
		c.seen = append(c.seen, colour.ViewsOf(b.Colour.On(s.Paper)))
	}
	return c
}

// rule is what must tell two bands apart: so much difference in colour, and the pattern as well or instead.
func rule(p, q namedBand) (need float64, both bool) {
	if p.group == labels.DriveGroup && q.group == labels.DriveGroup {
		return driveNeed, true
	}
	return stageNeed, false
}

func (r *Report) pair(c *comparison, i, j int) {
	p, q := c.bands[i], c.bands[j]
	need, both := rule(p, q)
	distance := p.Pattern.Apart(q.Pattern)
	sameWord := p.SameWord(q.Band)
	byPattern := distance >= patternNeed && (both || !sameWord)
	worst, at := 0.0, Vision("")
	for n, v := range colour.Visions {
		delta := colour.Difference(c.seen[i][n], c.seen[j][n])
		byColour := delta >= need
		pass := byColour || byPattern
		if both {
			pass = byColour && byPattern
		}
		r.Pairs = append(r.Pairs,
			PairResult{A: p.key, B: q.key, Vision: v, DeltaE: round(delta, 2, need), Need: need, Pass: pass,
				By: means(byColour == pass, byPattern == pass)})
		// A pair that fails with usual sight is told so; else the worst way of seeing.
		if short := need - delta; !pass && short > worst && at != colour.Normal {
			worst, at = short, v
		}
	}
	mono := c.mono(p.Pattern, q.Pattern)
	inMono := PairResult{A: p.key, B: q.key, Vision: Mono, Need: need, Pass: mono >= patternNeed && !sameWord,
		By: "pattern"}
	r.Pairs = append(r.Pairs, inMono)
	if at != "" {
		advice, setting := c.nearest(i, j)
		r.fault(setting, "%s and %s look alike %s: the colours differ by %.1f, and %.0f is needed; %s",
			p.key, q.key, at.Seen(), round(need-worst, 1, need), need, advice)
	}
	if both && sameWord {
		r.fault(q.setting("word"), "%s and %s have the same word, %q: give each its own", p.key, q.key,
			p.Word)
	}
	free := func() labels.Pattern { return c.freePattern(j) }
	switch {
	case both && distance < patternNeed:
		r.fault(q.setting("pattern"),
			"%s and %s have patterns that are hard to tell apart, %s and %s: they differ in %.0f %% of the "+
				"area, and %.0f %% is needed; %s would do for %s",
			p.key, q.key, p.Pattern, q.Pattern, math.Floor(distance*100), patternNeed*100, free(), q.key)
	case mono < patternNeed:
		r.fault(q.setting("pattern"),
			"%s and %s look alike in black and white: their patterns, %s and %s, differ in %.0f %% of the "+
				"area, and %.0f %% is needed; %s would do for %s",
			p.key, q.key, p.Pattern, q.Pattern, math.Floor(mono*100), patternNeed*100, free(), q.key)
	case sameWord && !both && at == "":
		r.fault(q.setting("word"), "%s and %s have the same word, %q: give each its own", p.key, q.key,
			p.Word)
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
func (c *comparison) freePattern(of int) labels.Pattern {
	for _, p := range labels.Patterns() {
		clear := true
		for i, other := range c.bands {
			clear = clear &&
				(i == of || min(p.Apart(other.Pattern), c.mono(p, other.Pattern)) >= patternNeed)
		}
		if clear {
			return p
		}
	}
	return "none"
}

// nearest says which colour would part two bands, changing the one that needs the smaller change, and where
// that is set.
func (c *comparison) nearest(i, j int) (advice, setting string) {
	best, at, least := labels.Colour{}, -1, math.Inf(1)
	for _, k := range []int{j, i} {
		if found, ok := c.nearestFor(k); ok {
			if d := colour.Difference(found.Lab(), c.bands[k].Colour.Lab()); d < least {
				best, at, least = found, k, d
			}
		}
	}
	if at < 0 {
		return "no single change would part them: ask for a whole set with scheme suggest",
			c.bands[j].setting("colour")
	}
	return fmt.Sprintf("the nearest colour that would pass is %s for %s", best, c.bands[at].key),
		c.bands[at].setting("colour")
}

// nearestFor finds the printable colour nearest to a band's own that is clear of every other band by what
// their rule asks, seen in every way. It searches a grid of colours, then walks back towards the band's own
// colour.
func (c *comparison) nearestFor(k int) (labels.Colour, bool) {
	own := c.bands[k]
	type bound struct {
		seen colour.Views
		need float64
	}
	var bounds []bound
	for i, other := range c.bands {
		need, both := rule(own, other)
		byPattern := !both && own.Pattern.Apart(other.Pattern) >= patternNeed && !own.SameWord(other.Band)
		if i != k && !byPattern {
			bounds = append(bounds, bound{c.seen[i], need})
		}
	}
	passes := func(v colour.Views) bool {
		return !slices.ContainsFunc(bounds, func(b bound) bool { return v.Apart(&b.seen) < b.need })
	}
	from := own.Colour.Lab()
	found, least := labels.Colour{}, math.Inf(1)
	for _, g := range colourGrid(c.paper) {
		if d := colour.Difference(from, g.plain); d < least && passes(g.seen) {
			found, least = g.colour, d
		}
	}
	if math.IsInf(least, 1) {
		return labels.Colour{}, false
	}
	// Half the way back as long as it still passes: nine halvings bring 8-bit channels to a single step.
	towards := own.Colour
	for range 9 {
		middle := colour.RGB(half(found.R, towards.R), half(found.G, towards.G), half(found.B, towards.B))
		if middle.Printable() && passes(colour.ViewsOf(middle.On(c.paper))) {
			found = middle
		} else {
			towards = middle
		}
	}
	return found, true
}

func half(a, b uint8) uint8 { return uint8((int(a) + int(b)) / 2) }

// seenColour is a colour with its appearances on some paper worked out.
type seenColour struct {
	colour labels.Colour
	plain  colour.Lab // on white
	seen   colour.Views
	chroma float64 // as printed
}

// colourGrid is every 16th step of each channel that ink can make, as it is seen on the paper: fine enough
// that neighbours differ by about 4 in CIEDE2000.
func colourGrid(paper labels.Colour) (grid []seenColour) {
	if known, ok := grids.Load(paper); ok {
		return known.([]seenColour)
	}
	level := func(i int) uint8 { return uint8(min(i*16, 255)) }
	for r := range 17 {
		for g := range 17 {
			for b := range 17 {
				if c := (colour.RGB(level(r), level(g), level(b))); c.Printable() {
					v := colour.ViewsOf(c.On(paper))
					grid = append(grid, seenColour{c, c.Lab(), v, math.Hypot(v[0].A, v[0].B)})
				}
			}
		}
	}
	grids.Store(paper, grid)
	return grid
}

var grids sync.Map // by paper: a program meets one or two

// round writes a figure to some places; one that falls short of its need never rounds up to it.
func round(v float64, places int, need float64) float64 {
	scale := math.Pow(10, float64(places))
	if r := math.Round(v*scale) / scale; v >= need || r < need {
		return r
	}
	return math.Floor(v*scale) / scale
}
