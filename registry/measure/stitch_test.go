package measure_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/measure"
)

// Worked by hand with the inch of 25.4 mm; ruler over stitches counted is common practice, as are ± 0.3 mm
// and the usual equivalents that sewing charts print (2.5 mm about 10 to the inch, 2 mm about 12, 1.5 mm
// about 17).
func TestStitchLength(t *testing.T) {
	for _, c := range []struct {
		name     string
		ruler    string
		stitches int
		dial     string
		length   measure.Length
		perInch  float64
		off      float64
		pass     bool
	}{
		{"50 mm over 20 is 2.5 mm", "50 mm", 20, "2.5", 2500, 10.16, 0, true},
		{"one inch over 10", "1 in", 10, "10 spi", 2540, 10, 0, true},
		// 2.1166… beside a dial kept as 2.117
		{"two inches over 24", "2 in", 24, "12 spi", 2117, 12, -1.0 / 3000, true},
		{"short by 0.3 passes", "44 mm", 20, "2.5", 2200, 25.4 / 2.2, -0.3, true},
		{"short by 0.31 fails", "43.8 mm", 20, "2.5", 2190, 25.4 / 2.19, -0.31, false},
		{"long by 0.3 passes", "56 mm", 20, "2.5", 2800, 25.4 / 2.8, 0.3, true},
		{"long by 1/3 fails", "17 mm", 6, "2.5", 2833, 25.4 * 6 / 17, 1.0 / 3, false},
		{"no scale is only recorded", "50 mm", 13, "none", 3846, 25.4 * 13 / 50, 0, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			ruler, err := measure.ParseLength("ruler", c.ruler)
			require.NoError(t, err)
			dial, err := measure.ParseDial(c.dial)
			require.NoError(t, err)
			got, err := measure.StitchCheck{Ruler: ruler, Stitches: c.stitches, Dial: dial,
				Tolerance: 300}.Measure()
			require.NoError(t, err)
			assert.Equal(t, c.length, got.Length)
			assert.InDelta(t, c.perInch, got.PerInch, 1e-9)
			assert.InDelta(t, c.off, got.Off, 1e-9)
			assert.Equal(t, c.pass, got.Pass)
			assert.Equal(t, c.dial == "none", got.NoScale)
		})
	}
}

func TestStitchesPerInchBothWays(t *testing.T) {
	assert.InDelta(t, 10.16, measure.PerInch(2500), 1e-9)
	assert.InDelta(t, 12.7, measure.PerInch(2000), 1e-9)
	assert.InDelta(t, 16.9, measure.PerInch(1500), 0.05)
	for per, want := range map[string]measure.Length{"10 spi": 2540, "12 spi": 2117} {
		dial, err := measure.ParseDial(per)
		require.NoError(t, err)
		assert.Equal(t, want, dial)
	}
	assert.False(t, math.IsInf(measure.PerInch(1), 0))
}

func TestStitchRefusals(t *testing.T) {
	for name, c := range map[string]measure.StitchCheck{
		"ruler length is missing":   {Stitches: 10},
		"stitches 0 is not a count": {Ruler: 50_000},
		"stitches -3":               {Ruler: 50_000, Stitches: -3},
		"longer than 12 mm":         {Ruler: 500_000, Stitches: 10},
		"is negative":               {Ruler: 50_000, Stitches: 20, Dial: 2500, Tolerance: -1},
		"not a stitch length":       {Ruler: 50_000, Stitches: 20, Dial: 40_000},
	} {
		_, err := c.Measure()
		assert.ErrorContains(t, err, name)
	}
	for text, says := range map[string]string{
		"25":     "longer than any stitch: type 25 spi",
		"B":      "is not a stitch length",
		"-2":     "is not a stitch length",
		"99 spi": "between 2 and 60 spi",
		"0 spi":  "between 2 and 60 spi",
	} {
		_, err := measure.ParseDial(text)
		assert.ErrorContains(t, err, says, text)
	}
	for text, want := range map[string]measure.Length{"10 SPI": 2540, "10/in": 2540, "2,5 mm": 2500,
		"no scale": 0,
		"none":     0} {
		got, err := measure.ParseDial(text)
		require.NoError(t, err, text)
		assert.Equal(t, want, got)
	}
}

func FuzzParseDial(f *testing.F) {
	for _, seed := range []string{"2.5", "10 spi", "none", "8/in", "25", "0 spi", "1e9", "½ in", "-1"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		dial, err := measure.ParseDial(text)
		if err != nil {
			require.Equal(t, registry.Invalid, registry.CodeOf(err))
			return
		}
		require.LessOrEqual(t, dial, 12_700*measure.Millimetre/1000, "2 spi is 12.7 mm")
		require.GreaterOrEqual(t, dial, measure.Length(0))
	})
}
