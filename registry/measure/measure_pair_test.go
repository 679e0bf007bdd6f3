package measure_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/measure"
)

func TestParseLengthByWidth(t *testing.T) {
	for text, want := range map[string][2]measure.Length{
		"":                     {},
		"371x178":              {371 * measure.Millimetre, 178 * measure.Millimetre},
		"371 X 178":            {371 * measure.Millimetre, 178 * measure.Millimetre},
		"371 × 178 mm":         {371 * measure.Millimetre, 178 * measure.Millimetre},
		"37.1 cm x 178":        {371 * measure.Millimetre, 178 * measure.Millimetre},
		"370,5x178":            {370_500, 178 * measure.Millimetre},
		"14 5/8 x 7 in":        {371_475, 177_800}, // 14.625 and 7 international inches of 25.4 mm
		`14⅝" by 7"`:           {371_475, 177_800},
		"14 5/8 in x 7 inches": {371_475, 177_800},
	} {
		length, width, err := measure.ParseLengthByWidth("bed", text)
		require.NoError(t, err, text)
		assert.Equal(t, want, [2]measure.Length{length, width}, text)
	}
	for text, says := range map[string]string{
		"371":      `bed "371" is not a length by a width: type both with an x between them`,
		"371x":     "is not a length by a width",
		"x":        "is not a length by a width",
		"1x2x3":    "is not a length by a width",
		"-371x178": `bed "-371" is negative`,
		"NaNx178":  `bed "NaN" is not a number`,
		"0x178":    "is nought",
		"371x3001": `bed "3001" is more than 3000 mm`,
		"371x7 ft": `bed "371 ft" has the unknown unit`,
	} {
		_, _, err := measure.ParseLengthByWidth("bed", text)
		assert.ErrorContains(t, err, says, text)
		assert.Equal(t, registry.Invalid, registry.CodeOf(err), text)
	}
}

// No measure of a head or base is negative or longer than anything that is measured there.
func FuzzParseMeasure(f *testing.F) {
	for _, s := range []string{"", "371", "14 5/8 in", "3000", "3000.1", "-1", "0", "1e3", "１２", "9999999999999"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, typed string) {
		l, err := measure.ParseMeasure("pins", typed)
		if err != nil {
			require.Equal(t, registry.Invalid, registry.CodeOf(err), "%q", typed)
		}
		require.True(t, l >= 0 && l <= measure.MaxMeasure, "%q became %s", typed, l)
	})
}
