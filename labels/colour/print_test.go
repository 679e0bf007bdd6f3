package colour

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// What no ink prints on any paper (common knowledge of the trade): the screen's pure cyan, green, blue and
// magenta. What it does print: the solid inks themselves, black, white and every grey.
func TestPrintGamut(t *testing.T) {
	parse := func(s string) Colour {
		c, err := Parse(s)
		assert.NoError(t, err)
		return c
	}
	for _, neon := range []string{"#00ffff", "#00ff00", "#0000ff", "#ff00ff", "#00e0e0", "#39ff14"} {
		c := parse(neon)
		assert.False(t, c.Printable(), neon)
		printed := c.On(White)
		assert.True(t, printed.Printable(), "%s as %s", neon, printed)
		assert.Greater(t, Difference(c.Lab(), printed.Lab()), 3.0, "%s as %s", neon, printed)
	}
	for _, plain := range []string{"#000000", "#ffffff", "#808080", "#d4682a", "#136a46", "#a4527a",
		"#0e2842"} {
		assert.True(t, parse(plain).Printable(), plain)
		assert.Equal(t, plain, parse(plain).On(White).String())
	}
	for y := range 256 {
		grey := Colour{uint8(y), uint8(y), uint8(y)}
		assert.Equal(t, grey, grey.On(White))
	}
	// Each solid ink lies on the edge of what it bounds.
	for i, l := range relative(solids) {
		assert.True(t, l.printable(), "%v", solids[i])
	}
}

// On brown card white is brown, black is black, and nothing is lighter than the card.
func TestInkOnPaper(t *testing.T) {
	kraft := Colour{0xb8, 0x94, 0x65}
	assert.Equal(t, kraft, White.On(kraft))
	assert.Equal(t, Black, Black.On(kraft))
	for _, c := range []Colour{{200, 220, 255}, {255, 255, 0}, {120, 200, 150}} {
		seen := c.On(kraft)
		assert.LessOrEqual(t, seen.R, kraft.R)
		assert.LessOrEqual(t, seen.G, kraft.G)
		assert.LessOrEqual(t, seen.B, kraft.B)
	}
}
