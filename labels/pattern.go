package labels

import (
	"fmt"
	"math"
	"math/bits"
	"slices"
	"strings"
	"sync"
)

// Pattern is the figure with which a band is filled, so that it is known without its colour.
type Pattern string

// patternTile is the side, in millimetres, of the square that repeats. A band is at least 4.5 mm high, so
// every figure is seen one and a half times over; the thinnest part of one is 0.5 mm, four dots of a 203 dpi
// printer.
const patternTile = 3.0

// patterns are the figures of one tile in the unit square, in the order in which they are offered. Figures
// may stick out of the tile: neighbours and the band's edge take care of that.
var patterns = []struct {
	name Pattern
	tile []ring
}{
	{"plain", nil},
	{"upright", []ring{rect(0.25, 0, 0.5, 1)}},
	{"level", []ring{rect(0, 0.25, 1, 0.5)}},
	{"rising", diagonals(true, 0.5)},
	{"falling", diagonals(false, 0.5)},
	{"dots", []ring{disc(0.5, 0.5, 0.3)}},
	{"checks", []ring{rect(0, 0, 0.5, 0.5), rect(0.5, 0.5, 0.5, 0.5)}},
	{"grid", []ring{rect(0, 0, 0.2, 1), rect(0.2, 0, 0.8, 0.2)}},
	{"lattice", append(diagonals(true, 0.24), diagonals(false, 0.24)...)},
	{"waves", []ring{wave()}},
	{"windows", []ring{rect(0, 0, 1, 0.48), rect(0, 0.48, 0.48, 0.52)}}, // light windows in a dark wall
	{"triangles", []ring{{{0, 1}, {0.5, 0}, {1, 1}}}},
	{"chevrons", []ring{{{0, 0}, {0.5, 0.5}, {1, 0}, {1, 0.5}, {0.5, 1}, {0, 0.5}}}},
	{"bars", []ring{rect(0, 0, 0.2, 1), rect(0.5, 0, 0.2, 1)}},
	{"dashes", []ring{rect(0, 0.1, 0.6, 0.25), rect(0.5, 0.6, 0.5, 0.25), rect(0, 0.6, 0.1, 0.25)}},
	{"pins", []ring{disc(0.25, 0.25, 0.17), disc(0.75, 0.75, 0.17), disc(0.25, 0.75, 0.17),
		disc(0.75, 0.25, 0.17)}},
	{"threads", []ring{rect(0, 0.08, 1, 0.17), rect(0, 0.4133, 1, 0.17), rect(0, 0.7467, 1, 0.17)}},
	{"bricks", []ring{rect(0, 0, 1, 0.18), rect(0, 0.18, 0.18, 0.32), rect(0, 0.5, 1, 0.18),
		rect(0.5, 0.68, 0.18, 0.32)}},
}

// Patterns names the figures in the order in which they are offered.
func Patterns() []Pattern {
	names := make([]Pattern, len(patterns))
	for i, p := range patterns {
		names[i] = p.name
	}
	return names
}

func (p Pattern) index() int {
	for i, known := range patterns {
		if known.name == p {
			return i
		}
	}
	return -1
}

func (p Pattern) validate() error {
	if p.index() < 0 {
		var names []string
		for _, known := range patterns {
			names = append(names, string(known.name))
		}
		return fmt.Errorf("pattern %q is not known: type one of %s", string(p), strings.Join(names, ", "))
	}
	return nil
}

// filled is a pattern over so many tiles across and down, in hundredths of a tile.
type filled struct {
	Pattern
	across, down float64
}

const tileUnits = 100

func (f filled) rings() []ring {
	return f.Pattern.rings(box{0, 0, f.across * tileUnits, f.down * tileUnits}, tileUnits)
}

// drawn says that there is something of the pattern to see.
func (p Pattern) drawn() bool { i := p.index(); return i >= 0 && len(patterns[i].tile) > 0 }

// rings fills b with the pattern in tiles of a side, cut to b's edges.
func (p Pattern) rings(b box, tile float64) (out []ring) {
	i := p.index()
	if i < 0 {
		return nil
	}
	for row := -1.0; row*tile < b.h-1e-9; row++ {
		for column := -1.0; column*tile < b.w-1e-9; column++ {
			for _, figure := range patterns[i].tile {
				moved := make(ring, len(figure))
				for j, q := range figure {
					moved[j] = point{b.x + (column+q.x)*tile, b.y + (row+q.y)*tile}
				}
				if cut := b.clip(moved); len(cut) > 2 {
					out = append(out, cut)
				}
			}
		}
	}
	return out
}

func rect(x, y, w, h float64) ring { return box{x, y, w, h}.ring() }

// diagonals are stripes of the given thickness along x, repeating once a tile.
func diagonals(rising bool, thick float64) []ring {
	r := ring{{0, 0}, {thick, 0}, {1 + thick, 1}, {1, 1}}
	if rising {
		for i := range r {
			r[i].y = 1 - r[i].y
		}
		slices.Reverse(r) // every figure runs the same way round, so that crossing stripes do not cancel
	}
	return []ring{r}
}

func disc(x, y, radius float64) (r ring) {
	const corners = 16
	for i := range corners {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / corners)
		r = append(r, point{x + radius*cos, y + radius*sin})
	}
	return r
}

// wave is one period of a sine, thick enough to read.
func wave() (r ring) {
	const steps = 16
	height := func(i int) float64 { return 0.5 - 0.26*math.Sin(2*math.Pi*float64(i)/steps) }
	for i := range steps + 1 {
		r = append(r, point{float64(i) / steps, height(i) - 0.16})
	}
	for i := steps; i >= 0; i-- {
		r = append(r, point{float64(i) / steps, height(i) + 0.16})
	}
	return r
}

// Apart says how different two patterns look in one ink, from 0 (alike) to 1: the share of the area that
// differs when one is slid over the other to where they agree best.
func (p Pattern) Apart(q Pattern) float64 {
	i, j := p.index(), q.index()
	if i < 0 || j < 0 {
		return 0
	}
	return patternDistances()[i][j]
}

const rasterSide = 32 // of one tile, for comparing

var patternDistances = sync.OnceValue(func() [][]float64 {
	tiles := make([]tile, len(patterns))
	for i, p := range patterns {
		tiles[i] = p.name.raster()
	}
	return distances(tiles)
})

func distances(tiles []tile) [][]float64 {
	out := make([][]float64, len(tiles))
	for i := range out {
		out[i] = make([]float64, len(tiles))
		for j := range i {
			out[i][j] = slideApart(tiles[i], tiles[j])
			out[j][i] = out[i][j]
		}
	}
	return out
}

// MonoDistances compares patterns as a printer without colours sets their dots.
func MonoDistances(dpi int) func(p, q Pattern) float64 {
	known, ok := monos.Load(dpi)
	if !ok {
		tiles := make([]tile, len(patterns))
		for i, p := range patterns {
			tiles[i] = p.name.dots(dpi)
		}
		known, _ = monos.LoadOrStore(dpi, distances(tiles))
	}
	return func(p, q Pattern) float64 {
		i, j := p.index(), q.index()
		if i < 0 || j < 0 {
			return 0
		}
		return known.([][]float64)[i][j]
	}
}

var monos sync.Map // by dots per inch: a program meets one or two

// dots is one tile as it is printed on the lowest band; finer dots than 300 an inch make no difference.
func (p Pattern) dots(dpi int) tile {
	dpi = min(dpi, 300)
	on := Device{DPI: dpi, Mono: true}
	_, side := on.tiles(lowestBand)
	d := &Drawing{Width: 3 * side, Height: 3 * side}
	d.fill(black, p.rings(box{0, 0, 3 * side, 3 * side}, side)...)
	img, err := d.image(on)
	if err != nil {
		return nil
	}
	n := int(math.Round(side * float64(dpi) / 25.4))
	out := make(tile, n)
	for y := range out {
		for x := range n {
			if img.ColorIndexAt(n+x, n+y) == 1 {
				out[y] |= 1 << x
			}
		}
	}
	return out
}

// tile is a square of up to 64 dots a side: bit x of row y is set where there is ink.
type tile []uint64

// raster samples one tile: bit x of row y is set where there is ink.
func (p Pattern) raster() tile {
	rows := make(tile, rasterSide)
	// The second tile in each direction has all its neighbours.
	rings := p.rings(box{0, 0, 3 * patternTile, 3 * patternTile}, patternTile)
	for y := range rasterSide {
		for x := range rasterSide {
			at := point{patternTile * (1 + (float64(x)+0.5)/rasterSide),
				patternTile * (1 + (float64(y)+0.5)/rasterSide)}
			if slices.ContainsFunc(rings, func(r ring) bool { return r.contains(at) }) {
				rows[y] |= 1 << x
			}
		}
	}
	return rows
}

// contains tells by the even-odd rule whether p lies within r.
func (r ring) contains(p point) (in bool) {
	for i, a := range r {
		b := r[(i+len(r)-1)%len(r)]
		if (a.y > p.y) != (b.y > p.y) && p.x < a.x+(b.x-a.x)*(p.y-a.y)/(b.y-a.y) {
			in = !in
		}
	}
	return in
}

func slideApart(a, b tile) float64 {
	n := len(a)
	if n == 0 || n != len(b) {
		return 0
	}
	mask := uint64(1)<<n - 1
	least := n * n
	for dx := range n {
		for dy := range n {
			differ := 0
			for y := range n {
				row := b[(y+dy)%n]
				differ += bits.OnesCount64(a[y] ^ (row<<dx|row>>(n-dx))&mask)
			}
			least = min(least, differ)
		}
	}
	return float64(least) / float64(n*n)
}
