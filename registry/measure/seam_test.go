package measure_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/measure"
)

// Worked by hand: 50 mm over 12 is 4.167 mm, and eight to the inch of 25.4 mm is 3.175 mm.
func TestSeamInOneLine(t *testing.T) {
	for text, want := range map[string]measure.StitchCheck{
		"4 = 50 mm / 12":               {Dial: 4000, Ruler: 50_000, Stitches: 12},
		"4=50/12":                      {Dial: 4000, Ruler: 50_000, Stitches: 12},
		"reverse 2,5 = 5 cm/20":        {Dial: 2500, Ruler: 50_000, Stitches: 20, Reverse: true},
		"R none=50/20":                 {Ruler: 50_000, Stitches: 20, Reverse: true},
		"8/in = 1 in / 8":              {Dial: 3175, Ruler: 25_400, Stitches: 8},
		"8 per inch = 14 1/2 in / 116": {Dial: 3175, Ruler: 368_300, Stitches: 116},
	} {
		got, err := measure.ParseSeam(text)
		require.NoError(t, err, text)
		assert.Equal(t, want, got, text)
	}
	for text, says := range map[string]string{
		"4":           "not a setting, a length and a count: type 4 = 50 mm / 12",
		"4 = 50":      "not a setting, a length and a count",
		"8 = 50/20":   "does not say what it counts",
		"4 = long/20": "is not a length",
		"4 = 50/many": `stitches "many" is not a count`,
		"4 = 500/10":  "make a stitch longer than 12 mm",
		"":            "not a setting",
	} {
		_, err := measure.ParseSeam(text)
		assert.ErrorContains(t, err, says, text)
	}
	several, err := measure.ParseSeams(" 4=50/12; r 2.5=50/20 ;")
	require.NoError(t, err)
	require.Len(t, several, 2)
	got, err := several[1].Measure()
	require.NoError(t, err)
	assert.Equal(t,
		"stitch length in reverse: 2.50 mm, 10.2 to the inch; the dial says 2.50 mm, 10.2 to the "+
			"inch (+0.00 mm)", got.Said())
}

func FuzzParseSeams(f *testing.F) {
	for _, seed := range []string{"4 = 50 mm / 12", "r none=50/20; 8/in=1 in/8", "=/", "4=/", ";;"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if n, err := measure.ParseCount(text); err == nil {
			require.Positive(t, n)
		}
		if _, err := measure.ParseSeam(text); err != nil {
			require.Equal(t, registry.Invalid, registry.CodeOf(err))
		}
		checks, err := measure.ParseSeams(text)
		if err != nil {
			require.Equal(t, registry.Invalid, registry.CodeOf(err))
			return
		}
		for _, c := range checks {
			_, err := c.Measure()
			require.NoError(t, err)
		}
	})
}
