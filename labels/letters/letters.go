// Package letters turns text into outlines: which font has its letters, how they join, which way they run,
// and how wide they are.
//
// Two faces are compiled in, so that Latin, Greek and Cyrillic are as wide on every computer as on ours. What
// they lack is taken from the fonts of the computer, word by word, so that a word is never of two fonts where
// one has it all. Letters that no font has are named (Face.Missing), never left out or replaced: a label with
// a wrong letter leads to another shelf.
package letters

import (
	"math"
	"strings"
	"sync"
	"unicode"

	"github.com/go-text/typesetting/bidi"
	"github.com/go-text/typesetting/di"
	"github.com/go-text/typesetting/language"
	"github.com/go-text/typesetting/shaping"
	"github.com/rivo/uniseg"
	"golang.org/x/image/math/fixed"
	"golang.org/x/text/unicode/norm"
)

// Point is a place in ems, or in whatever it was scaled to; y runs down from the baseline.
type Point struct{ X, Y float64 }

// Line is text as it is set on one row.
type Line struct {
	Width float64 // in ems, rounded up to a thousandth of each letter, the unit in which a PDF states widths
	// Plain text has every letter in the built-in face, one after the other from left to right, so a writer
	// that carries that face may print it as text.
	Plain bool
	// Top and Bottom are how far its ink reaches above and below the baseline, in ems; stacked accents reach
	// past capitals.
	Top, Bottom float64
	glyphs      []placed
	lacks       []rune
}

type placed struct {
	outline *outline
	x, y    float64
}

// outline is a glyph's closed curves, flattened, in ems.
type outline struct {
	rings       [][]Point
	top, bottom float64
}

// keep bounds the lines that are remembered: a house's labels say the same words again and again.
const keep = 1 << 14

var lines = struct {
	sync.Mutex
	of map[*Face]map[string]*Line
}{of: make(map[*Face]map[string]*Line)}

// Set lays text out on one row. Text must have gone through Clean.
func (f *Face) Set(text string) *Line {
	lines.Lock()
	defer lines.Unlock()
	known := lines.of[f]
	if l, ok := known[text]; ok {
		return l
	}
	if known == nil || len(known) >= keep {
		known = make(map[string]*Line)
		lines.of[f] = known
	}
	l := f.plain(text)
	if l == nil {
		l = f.shape([]rune(text))
	}
	known[text] = l
	return l
}

// Width is how wide text is at a size.
func (f *Face) Width(text string, size float64) float64 { return f.Set(text).Width * size }

// Outline calls ring with each closed outline of the line, its baseline starting at x, y.
func (l *Line) Outline(x, y, size float64, ring func(n int, at func(i int) Point)) {
	for _, g := range l.glyphs {
		for _, r := range g.outline.rings {
			ring(len(r), func(i int) Point { return Point{x + (g.x+r[i].X)*size, y + (g.y+r[i].Y)*size} })
		}
	}
}

// plain sets text that needs no shaping, or returns nil.
func (f *Face) plain(text string) *Line {
	l := &Line{Plain: true}
	for _, r := range text {
		g := f.unshaped(r)
		if g == nil {
			return nil
		}
		if len(g.outline.rings) > 0 {
			l.add(placed{outline: g.outline, x: l.Width})
		}
		l.Width += g.advance
	}
	return l
}

// unshaped is the built-in letter that stands by itself wherever it comes, or nil.
func (f *Face) unshaped(r rune) *glyph {
	if unicode.Is(unicode.Mn, r) {
		return nil
	}
	return f.builtIn().glyph(r)
}

func (l *Line) add(g placed) {
	l.glyphs = append(l.glyphs, g)
	l.Top, l.Bottom = max(l.Top, g.outline.top-g.y), max(l.Bottom, g.outline.bottom+g.y)
}

// run is a stretch of one font, script and direction.
type run struct {
	start, end int
	face       *face
	script     language.Script
	level      bidi.Level
}

// shape sets text of any script.
func (f *Face) shape(text []rune) *Line {
	l := &Line{}
	var shaper shaping.HarfbuzzShaper
	for _, r := range visual(f.runs(text)) {
		direction := di.DirectionLTR
		if r.level%2 == 1 {
			direction = di.DirectionRTL
		}
		out := shaper.Shape(shaping.Input{Text: text, RunStart: r.start, RunEnd: r.end, Direction: direction,
			Face: r.face.font,
			Size: fixed.I(1000), Script: r.script, Language: language.DefaultLanguage()})
		for _, g := range out.Glyphs {
			if g.GlyphID == 0 {
				for i := range g.RunesCount() {
					l.lacks = append(l.lacks, text[min(g.TextIndex()+i, len(text)-1)])
				}
			}
			o := r.face.outline(g.GlyphID)
			if len(o.rings) > 0 {
				l.add(placed{o, l.Width + thousandths(g.XOffset), -thousandths(g.YOffset)})
			}
			l.Width += math.Ceil(thousandths(g.Advance)*1000-1e-9) / 1000
		}
	}
	return l
}

// thousandths are ems of a length that was shaped at a thousand pixels to the em.
func thousandths(v fixed.Int26_6) float64 { return float64(v) / 64 / 1000 }

// runs parts text where its direction, script or font changes.
func (f *Face) runs(text []rune) (runs []run) {
	levels := make([]bidi.Level, len(text))
	var paragraph bidi.Paragraph
	parts := paragraph.Segment(text, bidi.Neutral)
	for i := range parts.NumRuns() {
		part := parts.Run(i)
		level := part.Level
		for j := part.Start; j < part.End; j++ {
			// A number after Hebrew goes with it, and Latin after that does not, but comes in one part with
			// it.
			if level == 2 && parts.Run(0).Level == 0 && !unicode.IsDigit(text[j]) &&
				latinBeforeDigit(text[j:part.End]) {
				level = 0
			}
			levels[j] = level
		}
	}
	faces := f.faces(text)
	script := language.Common
	for i, r := range text {
		if s := language.LookupScript(r); s != language.Common && s != language.Inherited {
			script = s
		}
		last := len(runs) - 1
		if last >= 0 && runs[last].face == faces[i] && runs[last].level == levels[i] &&
			(runs[last].script == script || runs[last].script == language.Common) {
			runs[last].end, runs[last].script = i+1, script
			continue
		}
		runs = append(runs, run{i, i + 1, faces[i], script, levels[i]})
	}
	return runs
}

func latinBeforeDigit(text []rune) bool {
	for _, r := range text {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return unicode.IsLetter(r)
		}
	}
	return true
}

// visual puts runs into the order in which they stand on the row (Unicode Standard Annex #9, rule L2).
func visual(runs []run) []run {
	highest := bidi.Level(0)
	for _, r := range runs {
		highest = max(highest, r.level)
	}
	for level := highest; level > 0; level-- {
		for i := 0; i < len(runs); i++ {
			j := i
			for j < len(runs) && runs[j].level >= level {
				j++
			}
			for a, b := i, j-1; a < b; a, b = a+1, b-1 {
				runs[a], runs[b] = runs[b], runs[a]
			}
			i = max(i, j-1)
		}
	}
	return runs
}

// faces chooses a font for each letter: for each word the built-in one if that has it all, else one that has
// it all, else one for each letter with its marks.
func (f *Face) faces(text []rune) []*face {
	out := make([]*face, len(text))
	for start := 0; start < len(text); {
		end := start
		for end < len(text) && text[end] != ' ' {
			end++
		}
		if found := f.forAll(text[start:end]); found != nil {
			fill(out[start:end], found)
		} else {
			letters := uniseg.NewGraphemes(string(text[start:end]))
			at := start
			for letters.Next() {
				letter := letters.Runes()
				found := f.forAll(letter)
				if found == nil {
					found = f.builtIn() // it has no such letter: the line says which it lacks
				}
				fill(out[at:at+len(letter)], found)
				at += len(letter)
			}
		}
		if end < len(text) {
			out[end] = f.builtIn() // a blank
			if end > start {
				out[end] = out[end-1]
			}
		}
		start = end + 1
	}
	return out
}

func fill(faces []*face, with *face) {
	for i := range faces {
		faces[i] = with
	}
}

func (f *Face) forAll(word []rune) *face {
	if f.builtIn().hasAll(word) {
		return f.builtIn()
	}
	for _, r := range word {
		if f.builtIn().has(r) {
			continue
		}
		if found := f.onMachine(r); found != nil && found.hasAll(word) {
			return found
		}
	}
	return nil
}

// Missing lists the letters of text that no font of this computer draws, each once. Text must have gone
// through Clean.
func (f *Face) Missing(text string) (lacks []rune) {
	for _, r := range f.Set(text).lacks {
		if !strings.ContainsRune(string(lacks), r) {
			lacks = append(lacks, r)
		}
	}
	return lacks
}

// Script names the script of a letter, as fonts are called by it, such as "Ethiopic"; empty for marks that
// all scripts share.
func Script(r rune) string {
	for name, table := range unicode.Scripts {
		if unicode.Is(table, r) && name != "Common" && name != "Inherited" {
			return strings.ReplaceAll(name, "_", " ")
		}
	}
	return ""
}

// Clean returns text as it is set: composed where letters and accents come apart, without control characters,
// runs of space as one. What only joins or parts letters stays where scripts need it.
func Clean(text string) string {
	var b strings.Builder
	space, last := false, rune(0)
	for _, r := range norm.NFC.String(strings.ToValidUTF8(text, "\uFFFD")) {
		switch {
		case unicode.IsSpace(r):
			space = b.Len() > 0
			continue
		case r == '\u200c' || r == '\u200d':
			if last < 0x590 {
				continue
			}
		case unicode.IsControl(r) || unicode.Is(unicode.Cf, r):
			continue // nothing to see, and a PDF or SVG reader may choke on it
		}
		if space {
			b.WriteByte(' ')
			space = false
		}
		b.WriteRune(r)
		last = r
	}
	return strings.TrimRight(b.String(), "\u200c\u200d")
}

// Prefix is the length in bytes of the longest start of text that fits in width ems, and at least one letter
// with its marks. A long text is measured as far as it fits.
func (f *Face) Prefix(text string, width float64) int {
	fits, wide := 0, 0.0
	for rest, state := text, -1; rest != ""; {
		var letter string
		letter, rest, _, state = uniseg.FirstGraphemeClusterInString(rest, state)
		end := len(text) - len(rest)
		wide += f.advances(letter)
		measured := wide
		if math.IsNaN(wide) && fits > 0 {
			measured = f.measure(text[:end])
		}
		if fits > 0 && measured > width {
			return fits
		}
		fits = end
	}
	return len(text)
}

// measure is the width of part of a text, without remembering it.
func (f *Face) measure(text string) float64 {
	lines.Lock()
	defer lines.Unlock()
	if l, ok := lines.of[f][text]; ok {
		return l.Width
	}
	return f.shape([]rune(text)).Width
}

// advances is the width of a text of built-in letters alone, each by itself; not a number for any other.
func (f *Face) advances(text string) (width float64) {
	for _, r := range text {
		g := f.unshaped(r)
		if g == nil {
			return math.NaN()
		}
		width += g.advance
	}
	return width
}
