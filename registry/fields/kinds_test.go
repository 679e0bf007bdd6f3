package fields_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/fields"
	"pitman/registry/measure"
)

type bed struct{ length, width measure.Length }

func FuzzParseLengthByWidth(f *testing.F) {
	for _, seed := range []string{"371x178", "14 5/8 x 7 in", "× by x", "1/0x1", "371 × 178 mm"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		length, width, err := measure.ParseLengthByWidth("bed", text)
		if err != nil {
			assert.Equal(t, registry.Invalid, registry.CodeOf(err))
			assert.Zero(t, length+width)
			return
		}
		assert.True(t, length >= 0 && length <= measure.MaxMeasure && width >= 0 &&
			width <= measure.MaxMeasure)
		// What was read is read again from what is shown.
		typed := fields.LengthByWidth("bed", "",
			func(b *bed) (*measure.Length, *measure.Length) { return &b.length, &b.width })
		var h bed
		require.NoError(t, typed.Set(&h, []string{text}))
		var again bed
		require.NoError(t, typed.Set(&again, typed.Get(&h)))
		assert.Equal(t, h, again)
	})
}
