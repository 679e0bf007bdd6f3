package colour

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	colorful "github.com/lucasb-eyer/go-colorful"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The 34 pairs of Sharma, Wu and Dalal 2005, table 1: L, a, b twice, and the difference to four decimals.
var sharma = [][7]float64{
	{50.0000, 2.6772, -79.7751, 50.0000, 0.0000, -82.7485, 2.0425},
	{50.0000, 3.1571, -77.2803, 50.0000, 0.0000, -82.7485, 2.8615},
	{50.0000, 2.8361, -74.0200, 50.0000, 0.0000, -82.7485, 3.4412},
	{50.0000, -1.3802, -84.2814, 50.0000, 0.0000, -82.7485, 1.0000},
	{50.0000, -1.1848, -84.8006, 50.0000, 0.0000, -82.7485, 1.0000},
	{50.0000, -0.9009, -85.5211, 50.0000, 0.0000, -82.7485, 1.0000},
	{50.0000, 0.0000, 0.0000, 50.0000, -1.0000, 2.0000, 2.3669},
	{50.0000, -1.0000, 2.0000, 50.0000, 0.0000, 0.0000, 2.3669},
	{50.0000, 2.4900, -0.0010, 50.0000, -2.4900, 0.0009, 7.1792},
	{50.0000, 2.4900, -0.0010, 50.0000, -2.4900, 0.0010, 7.1792},
	{50.0000, 2.4900, -0.0010, 50.0000, -2.4900, 0.0011, 7.2195},
	{50.0000, 2.4900, -0.0010, 50.0000, -2.4900, 0.0012, 7.2195},
	{50.0000, -0.0010, 2.4900, 50.0000, 0.0009, -2.4900, 4.8045},
	{50.0000, -0.0010, 2.4900, 50.0000, 0.0010, -2.4900, 4.8045},
	{50.0000, -0.0010, 2.4900, 50.0000, 0.0011, -2.4900, 4.7461},
	{50.0000, 2.5000, 0.0000, 50.0000, 0.0000, -2.5000, 4.3065},
	{50.0000, 2.5000, 0.0000, 73.0000, 25.0000, -18.0000, 27.1492},
	{50.0000, 2.5000, 0.0000, 61.0000, -5.0000, 29.0000, 22.8977},
	{50.0000, 2.5000, 0.0000, 56.0000, -27.0000, -3.0000, 31.9030},
	{50.0000, 2.5000, 0.0000, 58.0000, 24.0000, 15.0000, 19.4535},
	{50.0000, 2.5000, 0.0000, 50.0000, 3.1736, 0.5854, 1.0000},
	{50.0000, 2.5000, 0.0000, 50.0000, 3.2972, 0.0000, 1.0000},
	{50.0000, 2.5000, 0.0000, 50.0000, 1.8634, 0.5757, 1.0000},
	{50.0000, 2.5000, 0.0000, 50.0000, 3.2592, 0.3350, 1.0000},
	{60.2574, -34.0099, 36.2677, 60.4626, -34.1751, 39.4387, 1.2644},
	{63.0109, -31.0961, -5.8663, 62.8187, -29.7946, -4.0864, 1.2630},
	{61.2901, 3.7196, -5.3901, 61.4292, 2.2480, -4.9620, 1.8731},
	{35.0831, -44.1164, 3.7933, 35.0232, -40.0716, 1.5901, 1.8645},
	{22.7233, 20.0904, -46.6940, 23.0331, 14.9730, -42.5619, 2.0373},
	{36.4612, 47.8580, 18.3852, 36.2715, 50.5065, 21.2231, 1.4146},
	{90.8027, -2.0831, 1.4410, 91.1528, -1.6435, 0.0447, 1.4441},
	{90.9257, -0.5406, -0.9208, 88.6381, -0.8985, -0.7239, 1.5381},
	{6.7747, -0.2908, -2.4247, 5.8714, -0.0985, -2.2286, 0.6377},
	{2.0776, 0.0795, -1.1350, 0.9033, -0.0636, -0.5514, 0.9082},
}

func TestCIEDE2000MeetsThePublishedPairs(t *testing.T) {
	require.Len(t, sharma, 34)
	for i, row := range sharma {
		p, q := Lab{row[0], row[1], row[2]}, Lab{row[3], row[4], row[5]}
		assert.InDelta(t, row[6], Difference(p, q), 0.00005, "pair %d", i+1)
		assert.InDelta(t, row[6], Difference(q, p), 0.00005, "pair %d, the other way round", i+1)
	}
}

// A second, independent implementation beside ours, over colours that the published pairs do not reach.
func TestDifferenceAgreesWithAnotherLibrary(t *testing.T) {
	rnd := rand.New(rand.NewPCG(1, 2))
	for range 2000 {
		p := Colour{uint8(rnd.IntN(256)), uint8(rnd.IntN(256)), uint8(rnd.IntN(256))}
		q := Colour{uint8(rnd.IntN(256)), uint8(rnd.IntN(256)), uint8(rnd.IntN(256))}
		other := func(c Colour) colorful.Color {
			return colorful.Color{R: float64(c.R) / 255, G: float64(c.G) / 255, B: float64(c.B) / 255}
		}
		theirs := other(p).DistanceCIEDE2000(other(q)) * 100
		// The libraries round the white point differently, hence not four decimals here.
		assert.InDelta(t, theirs, Difference(p.linear().lab(), q.linear().lab()), 0.05, "%v and %v", p, q)
	}
}

// The transfer curve for each of the 256 levels, beside another library's.
func TestLinearLightAgreesWithAnotherLibrary(t *testing.T) {
	for level := range 256 {
		want, _, _ := colorful.Color{R: float64(level) / 255}.LinearRgb()
		assert.InDelta(t, want, Colour{R: uint8(level)}.linear().r, 1e-12, "level %d", level)
	}
}

func TestContrastMeetsWCAGExamples(t *testing.T) {
	for _, row := range []struct {
		a, b string
		want float64
		from string
	}{
		{"#000000", "#ffffff", 21, "WCAG 2.2, definition of contrast ratio: from 1:1 to 21:1"},
		{"#808080", "#808080", 1, "WCAG 2.2, definition of contrast ratio"},
		{"#767676", "#ffffff", 4.54,
			"W3C uses this grey and prints no ratio; two published contrast tables give 4.54"},
		{"#777777", "#ffffff", 4.48, "computed: a near miss, which must not be rounded up to 4.5"},
		{"#949494", "#ffffff", 3.03, "W3C, Understanding 1.4.11, which prints 3:1"},
		{"#cccccc", "#ffffff", 1.606, "W3C, Understanding 1.4.11, which prints 1.6"},
		{"#6e747b", "#ffffff", 4.722, "the same, 4.7"},
		{"#9d9d9d", "#ffffff", 2.712, "the same, 2.7"},
		{"#aaaaaa", "#ffffff", 2.323, "the same, 2.3"},
		{"#fff000", "#ffffff", 1.185, "the same, 1.2"},
		{"#ff0000", "#ffffff", 3.998, "computed"},
		{"#0000ff", "#ffffff", 8.592, "computed"},
	} {
		a, err := Parse(row.a)
		require.NoError(t, err)
		b, err := Parse(row.b)
		require.NoError(t, err)
		assert.InDelta(t, row.want, Contrast(a, b), 0.005, "%s on %s: %s", row.a, row.b, row.from)
		assert.Equal(t, Contrast(a, b), Contrast(b, a))
	}
}

func TestSomeInkAlwaysReads(t *testing.T) {
	worst := 21.0
	for r := 0; r < 256; r += 3 {
		for g := 0; g < 256; g += 3 {
			for b := 0; b < 256; b += 5 {
				c := Colour{uint8(r), uint8(g), uint8(b)}
				worst = min(worst, Contrast(InkFor(c), c))
			}
		}
	}
	assert.GreaterOrEqual(t, worst, 4.5)
	assert.InDelta(t, math.Sqrt(21), worst, 0.02)
}

// What the paper requires of every simulation: greys are seen as they are, and the confused colours fall
// together.
func TestSimulationsKeepGreyAndConfuseWhatTheyShould(t *testing.T) {
	for v, m := range machado {
		for i, row := range m {
			assert.InDelta(t, 1, row[0]+row[1]+row[2], 2e-6, "%s, row %d", v, i)
		}
	}
	red, green := Colour{200, 60, 30}, Colour{108, 108, 30}
	usual := Difference(red.linear().lab(), green.linear().lab())
	for _, v := range []Vision{Protan, Deutan} {
		seen := Difference(v.view(red.linear()).lab(), v.view(green.linear()).lab())
		assert.Less(t, seen, usual/2, "%s confuses red and olive", v)
	}
	blue, teal := Colour{30, 70, 160}, Colour{0, 105, 100}
	usual = Difference(blue.linear().lab(), teal.linear().lab())
	assert.Less(t, Difference(Tritan.view(blue.linear()).lab(), Tritan.view(teal.linear()).lab()), usual/2,
		"tritan confuses blue and teal")
	for y := range 256 {
		c := Colour{uint8(y), uint8(y), uint8(y)}
		for _, v := range Visions {
			assert.Equal(t, c, v.view(c.linear()).colour(), "%s", v)
		}
	}
}

// The matrices for severity 1.0 as the authors publish them beside the paper, row by row,
// https://www.inf.ufrgs.br/~oliveira/pubs_files/CVD_Simulation/CVD_Simulation.html, read from the copy that
// the colour library culori 4.0.2 (MIT licence) names that page for. A pure primary picks one column: neither
// rows nor columns are swapped.
func TestMatricesAreThePublishedOnes(t *testing.T) {
	for v, rows := range map[Vision][9]float64{
		Protan: {0.152286, 1.052583, -0.204868, 0.114503, 0.786281, 0.099216, -0.003882, -0.048116, 1.051998},
		Deutan: {0.367322, 0.860646, -0.227968, 0.280085, 0.672501, 0.047413, -0.01182, 0.04294, 0.968881},
		Tritan: {1.255528, -0.076749, -0.178779, -0.078411, 0.930809, 0.147602, 0.004733, 0.691367, 0.3039},
	} {
		for column, primary := range []linear{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}} {
			got := v.view(primary)
			for row, seen := range []float64{got.r, got.g, got.b} {
				assert.InDelta(t, min(max(rows[3*row+column], 0), 1), seen, 1e-9, "%s, row %d, column %d", v,
					row, column)
			}
			for row := range 3 {
				assert.InDelta(t, rows[3*row+column], machado[v][row][column], 1e-9, "%s, row %d, column %d",
					v, row, column)
			}
		}
	}
}

func TestColourText(t *testing.T) {
	for in, want := range map[string]string{"#B5532A": "#b5532a", "b5532a": "#b5532a", "#fa0": "#ffaa00",
		" #000000 ": "#000000"} {
		c, err := Parse(in)
		require.NoError(t, err, in)
		assert.Equal(t, want, c.String())
	}
	for _, in := range []string{"", "#", "red", "#12345", "#1234567", "#+12345", "#gggggg", "0x12ab"} {
		_, err := Parse(in)
		assert.ErrorContains(t, err, fmt.Sprintf("colour %q", in))
	}
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"#b5532a", "#fff", "red", "#é23", ""} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		c, err := Parse(s)
		if err != nil {
			return
		}
		again, err := Parse(c.String())
		require.NoError(t, err)
		assert.Equal(t, c, again)
	})
}

func FuzzParseColour(f *testing.F) {
	for _, s := range []string{"#fff", "0a0B0c", "#12345", "", "#ｆｆｆ", "##fff"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		c, err := Parse(s)
		if err != nil {
			return
		}
		again, err := Parse(c.String())
		require.NoError(t, err, "%q", s)
		require.Equal(t, c, again, "%q", s)
	})
}
