package serials_test

import (
	"fmt"
	"math/rand"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/serials"
	"pitman/serials/table"
	"pitman/serials/years"
)

// sure reads rows with the column confidence behind them.
func sure(t *testing.T, lines ...string) *serials.Tables {
	t.Helper()
	rows, faults := table.Read("t.csv", strings.NewReader(strings.TrimSpace(firstLine)+",confidence\n"+
		strings.Join(lines, "\n")+"\n"))
	require.Empty(t, faults)
	return serials.NewTables(rows)
}

// How sure a row is weighs it beside others that say otherwise, and makes its single year "about"; what is
// possible stays.
func TestConfidenceOfARow(t *testing.T) {
	q := serials.Query{Maker: "Quill", Serial: "50"}
	a := date(t, sure(t, "Quill,,1,100,1900,1900,,,a,,0.9", "Quill,,1,100,1910,1910,,,b,,30 %"), q)
	assert.Equal(t, years.Estimate{From: 1900, To: 1910, Basis: years.Overlap}, a.Estimate)
	require.Len(t, a.Years, 2)
	assert.InDelta(t, 0.75, a.Years[0].P, 1e-12)
	assert.InDelta(t, 0.25, a.Years[1].P, 1e-12)
	a = date(t, sure(t, "Quill,,1,100,1900,1900,,,a,,", "Quill,,1,100,1910,1910,,,b,,0.25"), q)
	assert.InDelta(t, 0.8, a.Years[0].P, 1e-12, "a row without one counts as sure")

	a = date(t, sure(t, "Quill,,1,100,1900,1900,,,a,,70 %"), q)
	assert.Equal(t, "about 1900", a.Year())
	assert.Equal(t, years.Estimate{From: 1900, To: 1900, Best: 1900, Basis: years.Range}, a.Estimate)
	assert.Contains(t, a.Notes, "t.csv:2 is right in about 70 of 100, as the table says of itself")
	assert.Equal(t, "1900", date(t, sure(t, "Quill,,1,100,1900,1900,,,a,,1"), q).Year())

	_, faults := table.Read("t.csv", strings.NewReader(strings.TrimSpace(firstLine)+
		",Confidence\nQuill,,1,9,1900,,,,,,2\nQuill,,1,9,1900,,,,,,sure\nQuill,,1,9,1900,,,,,,0\n"))
	require.Len(t, faults, 3)
	assert.Contains(t, faults[0].Message, `confidence "2" is not a share: type a number above 0 and up to 1`)
	assert.Equal(t, table.Duplicate,
		sure(t, "Quill,,1,9,1900,1900,,,a,,0.5", "Quill,,1,9,1900,1900,,,a,,0.6").Check()[0].Kind)

	again, faults := table.Read("t.csv", strings.NewReader(table.File(sure(t, "Quill,,1,9,1900,1900,,,a,,0.5",
		"Quill,,10,19,1901,1901,,,a,,").Files()[0].Rows)))
	require.Empty(t, faults)
	assert.Equal(t, []float64{0.5, 0}, []float64{again.Rows[0].Confidence, again.Rows[1].Confidence})
}

// Whatever confidence rows have, the years that remain are the same, and what is likely adds up.
func TestConfidenceRulesNoYearOut(t *testing.T) {
	rnd := rand.New(rand.NewSource(11))
	for range 100 {
		var plain, said []string
		for range 1 + rnd.Intn(5) {
			first, year := 1+rnd.Intn(50), 1900+rnd.Intn(9)
			line := fmt.Sprintf("Quill,,%d,%d,%d,%d,,,s%d,", first, first+rnd.Intn(60), year, year+
				rnd.Intn(4),
				rnd.Intn(3))
			plain, said = append(plain, line+","),
				append(said, fmt.Sprintf("%s,%.2f", line, 0.01+0.99*rnd.Float64()))
		}
		for _, serial := range []string{"30", "?5", "5?", "110"} {
			q := serials.Query{Maker: "Quill", Serial: serial}
			without, with := date(t, sure(t, plain...), q), date(t, sure(t, said...), q)
			require.Equal(t, without.Estimate, with.Estimate, "%s of %v", serial, said)
			require.Equal(t, without.Shares, with.Shares)
			require.InDelta(t, without.Outside, with.Outside, 1e-9)
			sum := with.Outside
			for _, y := range with.Years {
				sum += y.P
			}
			require.InDelta(t, 1, sum, 1e-9)
			require.Len(t, with.Years, len(without.Years))
		}
	}
}
