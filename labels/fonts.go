package labels

import (
	"strings"
	"sync"
	"unicode"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
	"golang.org/x/text/unicode/norm"
)

// typeface is one of the two faces of the Go fonts (Bigelow & Holmes, BSD licence). They cover Windows Glyph List 4:
// Latin, Greek and Cyrillic. They are compiled in, so that text is as wide on every computer as it is on ours.
type typeface struct {
	name string // as SVG calls it
	bold bool
	ttf  []byte
	font *sfnt.Font

	mu       sync.Mutex
	buf      sfnt.Buffer
	advances map[rune]float64 // in ems; a negative one means the face lacks the rune
}

var (
	regular = newTypeface(false, goregular.TTF)
	bold    = newTypeface(true, gobold.TTF)
)

// Heights as shares of the em, from the Go fonts' own metrics.
const (
	capHeight  = 0.723
	lineHeight = 1.17
)

func newTypeface(bold bool, ttf []byte) *typeface {
	f, err := opentype.Parse(ttf)
	if err != nil {
		panic(err) // the fonts are compiled in and known to parse
	}
	return &typeface{name: "Go", bold: bold, ttf: ttf, font: f, advances: make(map[rune]float64)}
}

// advance is r's width in ems, or -1 if the face lacks it. It is rounded up to a thousandth, the unit in which a PDF
// states widths, so that no writer can make text wider than it was measured.
func (f *typeface) advance(r rune) float64 {
	f.mu.Lock()
	defer f.mu.Unlock()
	if a, ok := f.advances[r]; ok {
		return a
	}
	em := fixed.Int26_6(f.font.UnitsPerEm()) // one unit is then 1/64 of a pixel, exact
	a := -1.0
	if glyph, err := f.font.GlyphIndex(&f.buf, r); err == nil && glyph != 0 {
		if units, err := f.font.GlyphAdvance(&f.buf, glyph, em, font.HintingNone); err == nil {
			a = float64((int(units)*1000+int(em)-1)/int(em)) / 1000
		}
	}
	f.advances[r] = a
	return a
}

// width is how wide text is at a size in millimetres.
func (f *typeface) width(text string, size float64) (w float64) {
	for _, r := range text {
		w += max(f.advance(r), 0)
	}
	return w * size
}

// missing stands where neither face has a letter for what was written: better a visible mark than a silent gap.
const missing = '\uFFFD'

// readable returns text as both faces can print it: composed where letters and accents come apart, without control
// characters, runs of space as one, the bare letter where only its accented form is unknown, and a mark for the rest.
func readable(text string) string {
	var b strings.Builder
	space := false
	for _, r := range norm.NFC.String(strings.ToValidUTF8(text, string(missing))) {
		switch {
		case unicode.IsSpace(r):
			space = b.Len() > 0
			continue
		case unicode.IsControl(r) || unicode.Is(unicode.Cf, r):
			continue // nothing to see, and a PDF or SVG reader may choke on it
		case unicode.Is(unicode.Mn, r) && regular.advance(r) < 0:
			continue // an accent that no letter of the face takes
		}
		if space {
			b.WriteByte(' ')
			space = false
		}
		b.WriteRune(printable(r))
	}
	return b.String()
}

func printable(r rune) rune {
	has := func(r rune) bool { return r <= 0xFFFF && regular.advance(r) >= 0 && bold.advance(r) >= 0 }
	if has(r) {
		return r
	}
	if base := []rune(norm.NFD.String(string(r)))[0]; has(base) {
		return base
	}
	return missing
}
