package wall

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/labels/letters"
)

// What is too long for its line ends in dots within the sheet, and what is short stays whole.
func TestFitted(t *testing.T) {
	for _, text := range []string{"ORD1 fill from stock", strings.Repeat("mend ", 30), "W", ""} {
		got := fitted(letters.Regular, text, 12)
		assert.LessOrEqual(t, letters.Regular.Width(got, 1), 12.0, text)
		assert.True(t, got == text || strings.HasSuffix(got, "…"), got)
	}
}

// ISO 216: A3 is 297 mm by 420 mm.
func TestPosterIsOneSheetOfA3(t *testing.T) {
	p := Poster{Title: "What to do next", Lines: make([]Line, MaxLines)}
	d, err := p.Draw()
	require.NoError(t, err)
	assert.Equal(t, []float64{420, 297}, []float64{d.Width, d.Height})
	last := posterMargin + posterCapital + MaxLines*posterLead
	assert.Less(t, last+0.3*posterSize, posterHeight-posterMargin, "descenders of the last line")
	p.Lines = append(p.Lines, Line{})
	_, err = p.Draw()
	assert.ErrorContains(t, err, "12 is the most")
	_, err = Poster{Title: "Lark \U000F1234"}.Draw()
	assert.ErrorContains(t, err, "has letters that no font of this computer draws")
}
