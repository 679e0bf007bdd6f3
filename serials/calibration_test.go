package serials_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"pitman/serials"
	"pitman/serials/years"
)

// Published tables are joined to rows of five years, and the numbers of each printed year are dated by them;
// the maker's own table is left out of what the spread is learnt from. This is about tables: how true their
// years are nobody can say from them. Source: Cooper 1968, Appendix II; without Grover & Baker 1860–65, whose
// counts are near equal by estimate.
func TestCalibrationOnPublishedTables(t *testing.T) {
	const width = 5
	var n, held, exact, straightExact, long, score, straightScore, early float64
	outputs := starterTables(t).Outputs()
	spread := years.NewSpread(outputs)
	for _, o := range outputs {
		for start := 0; start < width; start++ {
			var rows []string
			for i := start; i+width < len(o.First); i += width {
				rows = append(rows,
					fmt.Sprintf("%s,,%d,%d,%d,%d,,,printed,", o.Maker, o.First[i], o.First[i+width]-1, o.From+
						i, o.From+i+width-1))
			}
			if len(rows) == 0 {
				continue
			}
			coarse := tables(t, rows...)
			for i := start; i+1 < len(o.First) && i < start+len(rows)*width; i++ {
				year := years.Year(o.From + i)
				if o.Skip != nil && o.Skip(int(year)) {
					continue
				}
				for _, q := range []uint64{1, 3, 5, 7, 9} {
					serial := o.First[i] + (o.First[i+1]-o.First[i])*q/10
					a := date(t, coarse, serials.Query{Maker: o.Maker, Serial: fmt.Sprint(serial)})
					n++
					if a.Interval80[0] <= year && year <= a.Interval80[1] {
						held++
					}
					long += float64(a.Interval80[1]-a.Interval80[0]) + 1
					for _, c := range a.Years {
						if c.Year == year {
							score += math.Log(c.P)
						}
					}
					if a.Best == year {
						exact++
					}
					early += float64(year - a.Best)
					// The straight line, with the spread that the same tables give to it.
					at := (i - start) / width * width
					first, past := o.First[start+at], o.First[start+at+width]
					bin := int((serial - first) * width * 4 / (past - first))
					straightScore += math.Log(spread.Kernel(width, bin, false, o.Maker)[i-start-at])
					if bin/4 == i-start-at {
						straightExact++
					}
				}
			}
		}
	}
	t.Logf("%v numbers: %.1f %% in the 80 %% interval of %.2f years; exact %.1f %%, straight line %.1f %%; "+
		"log score %.3f, straight line %.3f, uniform %.3f; %.2f years early",
		n, held/n*100, long/n, exact/n*100, straightExact/n*100, score/n, straightScore/n, -math.Log(width),
		early/n)
	assert.Greater(t, n, 500.)
	assert.GreaterOrEqual(t, held/n, 0.75)
	assert.Less(t, held/n, 0.95, "nor so wide that it says little")
	assert.Less(t, long/n, 4., "an even spread over five years needs four for 80 %")
	assert.Greater(t, score/n, -math.Log(width))
	assert.Greater(t, score/n, straightScore/n)
	assert.Greater(t, exact, straightExact)
}
