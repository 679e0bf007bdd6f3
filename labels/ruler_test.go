package labels

import (
	"bytes"
	"math"
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The ruler must be as long as it says, in the finished file.
func TestRulerIsTrue(t *testing.T) {
	for _, name := range []string{"a4-3x7", "roll-62x29", "letter-tag-2x4"} {
		stock := stockNamed(t, name)
		d := RulerSheet(stock)
		var pdf bytes.Buffer
		require.NoError(t, WritePDF(&pdf, "ruler", made, d))
		var across []float64
		for _, m := range regexp.MustCompile(`([\d.-]+) [\d.-]+ ([\d.-]+) ([\d.-]+) re\n`).FindAllStringSubmatch(contents(t, pdf.Bytes())[0], -1) {
			if wide := number(t, []byte(m[2])) / pointsPerMM; math.Abs(wide-0.2) < 0.01 &&
				number(t, []byte(m[3])) < -5 {
				across = append(across, number(t, []byte(m[1]))/pointsPerMM)
			}
		}
		require.Greater(t, len(across), 20)
		for i, x := range across {
			assert.InDelta(t, float64(i), x-across[0], 0.01, "%s: tick %d", name, i)
			assert.InDelta(t, math.Round(x), x+0.1, 0.01, "%s: it counts from the edge of the paper", name)
		}
		assert.Contains(t, d.words(), "print at 100 %", name)
		page := box{0, 0, d.Width, d.Height}
		for o := range d.steps() {
			assert.True(t, page.holds(o.bounds()), "%s: %v %q", name, o.bounds(), o.text)
		}
	}
}

// The narrowest stock that a table may name leaves no room for the words, and still ends.
func TestRulerOnNarrowStock(t *testing.T) {
	for side := 10.0; side < 60; side++ {
		for _, stock := range []Stock{{Name: "narrow", PageWidth: side, PageHeight: 300},
			{Name: "low", PageWidth: 300, PageHeight: side}} {
			stock.Columns, stock.Rows, stock.LabelWidth, stock.LabelHeight = 1, 1, stock.PageWidth,
				stock.PageHeight
			require.NoError(t, stock.validate())
			assert.NotEmpty(t, RulerSheet(stock).ops)
		}
	}
}
