package labels

import (
	"math/bits"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/labels/letters"
)

func TestPatternDistanceIsADistance(t *testing.T) {
	for _, p := range patterns {
		a := p.name
		assert.Zero(t, a.Apart(a), a)
		for _, q := range patterns {
			b := q.name
			assert.Equal(t, a.Apart(b), b.Apart(a), "%s, %s", a, b)
			if a != b {
				assert.Greater(t, a.Apart(b), 0.1, "%s, %s", a, b)
			}
		}
	}
	// Half of the area is inked in stripes and none in plain; crossing stripes agree on half wherever they
	// are slid.
	assert.InDelta(t, 0.5, Pattern("plain").Apart("upright"), 0.001)
	assert.InDelta(t, 0.5, Pattern("upright").Apart("level"), 0.001)
	assert.Zero(t, Pattern("plain").Apart("tartan"))
}

// However a pattern is slid, it is the same pattern.
func TestSlidingMakesNoDifference(t *testing.T) {
	for _, known := range patterns {
		tile := known.name.raster()
		slid := make([]uint64, rasterSide)
		for y := range slid {
			slid[(y+5)%rasterSide] = uint64(bits.RotateLeft32(uint32(tile[y]), 7))
		}
		assert.Zero(t, slideApart(tile, slid), known.name)
		assert.Zero(t, slideApart(slid, tile), known.name)
	}
}

// Every pattern as it prints, in the order in which it is offered: looked at as the other pictures are.
func TestPatternsPicture(t *testing.T) {
	d := &Drawing{Width: 64, Height: 130}
	for i, known := range patterns {
		at := box{2 + float64(i%2)*31, 2 + float64(i/2)*14, 29, 9}
		d.fill(black, known.name.rings(at, patternTile)...)
		d.fill(black, at.frame(bandLine)...)
		d.write(black, letters.Regular, 2.6, at.x, at.y+at.h+3.2, string(known.name))
	}
	sameAs(t, filepath.Join("testdata", "patterns.png"), d, 127)
}

// A black-and-white label printer has 203 dots an inch, on or off. What it prints must be as inked as what
// was drawn.
func TestPatternsSurviveACoarsePrinter(t *testing.T) {
	for _, known := range patterns {
		p := known.name
		d := &Drawing{Width: 12, Height: 12}
		d.fill(black, p.rings(box{0, 0, 12, 12}, patternTile)...)
		img, err := d.image(Device{DPI: 203})
		require.NoError(t, err)
		inked, exact := 0.0, 0.0
		for _, pix := range pixels(img) {
			exact += 1 - float64(pix)/255
			if pix < 128 {
				inked++
			}
		}
		n := float64(img.Bounds().Dx() * img.Bounds().Dy())
		assert.InDelta(t, exact/n, inked/n, 0.04, p)
		tile := 0
		for _, row := range p.raster() {
			for ; row > 0; row &= row - 1 {
				tile++
			}
		}
		assert.InDelta(t, float64(tile)/(rasterSide*rasterSide), exact/n, 0.045,
			"%s: what is compared is what is drawn", p)
	}
}

func TestPatternsStayWithinTheirBand(t *testing.T) {
	b := box{3.1, 7.7, 11.3, 4.9}
	for _, known := range patterns {
		p := known.name
		for _, r := range p.rings(b, patternTile) {
			for _, q := range r {
				assert.True(t, q.x >= b.x-1e-9 && q.x <= b.x+b.w+1e-9 && q.y >= b.y-1e-9 && q.y <= b.y+b.h+
					1e-9, "%s: %v", p, q)
			}
		}
	}
	assert.Empty(t, Pattern("tartan").rings(b, patternTile))
}
