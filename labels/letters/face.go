package letters

import (
	"bytes"
	"math"
	"sync"

	"github.com/go-text/typesetting/font"
	"github.com/go-text/typesetting/font/opentype"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
)

// Face is one of the two faces in which labels are set: the Go fonts (Bigelow & Holmes, BSD licence) and, for
// what they lack, fonts of the computer of the same weight.
type Face struct {
	Bold    bool
	TTF     []byte       // of the built-in font
	builtIn func() *face // read once it is needed: most commands draw nothing
}

// The two weights.
var (
	Regular = newFace(false, goregular.TTF)
	Bold    = newFace(true, gobold.TTF)
)

// Heights as shares of the em, from the Go fonts' own metrics.
const (
	CapHeight  = 0.723
	LineHeight = 1.17
)

func newFace(bold bool, ttf []byte) *Face {
	return &Face{Bold: bold, TTF: ttf, builtIn: sync.OnceValue(func() *face {
		f, err := font.ParseTTF(bytes.NewReader(ttf))
		if err != nil {
			panic(err) // the fonts are compiled in and known to parse
		}
		return wrapFace(f)
	})}
}

// face is a font with what was asked of it. It is used under the lock of lines.
type face struct {
	font     *font.Face
	glyphs   map[rune]*glyph // nil for what it lacks
	outlines map[font.GID]*outline
}

type glyph struct {
	advance float64 // in ems, rounded up to a thousandth
	outline *outline
}

func wrapFace(f *font.Face) *face {
	return &face{font: f, glyphs: make(map[rune]*glyph), outlines: make(map[font.GID]*outline)}
}

// glyph is the letter that stands for r by itself, or nil if the font lacks it or has only a picture of it.
func (f *face) glyph(r rune) *glyph {
	if g, ok := f.glyphs[r]; ok {
		return g
	}
	var g *glyph
	if id, ok := f.font.NominalGlyph(r); ok && id != 0 {
		if _, ok := f.font.GlyphData(id).(font.GlyphOutline); ok {
			advance := float64(f.font.HorizontalAdvance(id)) / float64(f.font.Upem())
			g = &glyph{math.Ceil(advance*1000-1e-6) / 1000, f.outline(id)}
		}
	}
	f.glyphs[r] = g
	return g
}

// has takes what only joins letters for had: a font need not draw it.
func (f *face) has(r rune) bool {
	return r == '\u200c' || r == '\u200d' || f.glyph(r) != nil
}

func (f *face) hasAll(text []rune) bool {
	for _, r := range text {
		if !f.has(r) {
			return false
		}
	}
	return true
}

// outline flattens a glyph's curves finely enough for the largest letters on a label.
func (f *face) outline(id font.GID) *outline {
	if o, ok := f.outlines[id]; ok {
		return o
	}
	o := &outline{}
	if data, ok := f.font.GlyphDataOutline(id); ok {
		em := float64(f.font.Upem())
		at := func(p opentype.SegmentPoint) Point { return Point{float64(p.X) / em, -float64(p.Y) / em} }
		var ring []Point
		for _, s := range data.Segments {
			switch s.Op {
			case opentype.SegmentOpMoveTo:
				o.add(ring)
				ring = []Point{at(s.Args[0])}
			case opentype.SegmentOpLineTo:
				ring = append(ring, at(s.Args[0]))
			case opentype.SegmentOpQuadTo:
				p := ring[len(ring)-1]
				ring = curve(ring, p, between(p, at(s.Args[0])), between(at(s.Args[1]), at(s.Args[0])),
					at(s.Args[1]))
			case opentype.SegmentOpCubeTo:
				ring = curve(ring, ring[len(ring)-1], at(s.Args[0]), at(s.Args[1]), at(s.Args[2]))
			}
		}
		o.add(ring)
	}
	f.outlines[id] = o
	return o
}

func (o *outline) add(ring []Point) {
	if n := len(ring); n > 1 && ring[0] == ring[n-1] {
		ring = ring[:n-1]
	}
	if len(ring) > 2 {
		o.rings = append(o.rings, ring)
		for _, p := range ring {
			o.top, o.bottom = max(o.top, -p.Y), max(o.bottom, p.Y)
		}
	}
}

// between is two thirds of the way from p to q: a quadratic curve's control point q as a cubic one's.
func between(p, q Point) Point { return Point{p.X + (q.X-p.X)*2/3, p.Y + (q.Y-p.Y)*2/3} }

// curve appends a cubic Bézier curve as straight pieces, as many as its length asks for.
func curve(ring []Point, p, q, r, s Point) []Point {
	long := math.Hypot(q.X-p.X, q.Y-p.Y) + math.Hypot(r.X-q.X, r.Y-q.Y) + math.Hypot(s.X-r.X, s.Y-r.Y)
	steps := min(max(int(long*20), 2), 12)
	for i := 1; i <= steps; i++ {
		t := float64(i) / float64(steps)
		u := 1 - t
		a, b, c, d := u*u*u, 3*u*u*t, 3*u*t*t, t*t*t
		ring = append(ring, Point{a*p.X + b*q.X + c*r.X + d*s.X, a*p.Y + b*q.Y + c*r.Y + d*s.Y})
	}
	return ring
}
