package wall

import (
	"bytes"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/labels"
)

// Openings of any measure stand on both sheets with their figures; a fifth is refused.
func TestBedsAreDrawnWithTheirMeasures(t *testing.T) {
	beds := []Bed{{"Elm, up to 3", 374, 181, 241}, {"Alder", 313.5, 168, 198}, {"unmeasured", 0, 0, 0},
		{"a table", 1999, 900, 5}}
	for n := range len(beds) + 1 {
		for _, size := range [][2]float64{A4, A3} {
			p := Beds{Title: "Wanted", Lines: []string{"Lantern Row"}, Beds: beds[:n],
				Notes: []string{"From above."}}
			d, err := p.Draw(size)
			require.NoError(t, err)
			var pdf, svg bytes.Buffer
			require.NoError(t, labels.WritePDF(&pdf, "x", time.Time{}, d))
			require.NoError(t, d.WriteSVG(&svg))
		}
	}
	_, err := Beds{Beds: append(beds, beds...)}.Draw(A4)
	assert.ErrorContains(t, err, "4 is the most")
}
