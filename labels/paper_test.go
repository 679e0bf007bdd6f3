package labels

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Whatever stands on a paper is on one of its pages, within the margins, and no text lies on another.
func TestPaper(t *testing.T) {
	p := Paper{Title: "Packing list",
		Before: []string{"for the mending room", "", strings.Repeat("long words before the table ", 20)},
		Header: []string{"tag", "machine"}, Wide: []float64{0.2, 0.8}, After: []string{"Signed:"}}
	for i := range 60 {
		p.Rows = append(p.Rows,
			[]string{fmt.Sprintf("AB%05dK", i), strings.Repeat("Meadowlark Vibra ", 1+i%15)})
	}
	p.Rows = append(p.Rows, []string{"AB99999K", strings.Repeat("higher than a page ", 900)})
	pages, err := p.Draw()
	require.NoError(t, err)
	require.Greater(t, len(pages), 3)
	all := ""
	for i, page := range pages {
		assert.True(t, strings.HasSuffix(page.words(), fmt.Sprintf("page %d of %d", i+1, len(pages))))
		inner := box{paperMargin - 0.5, paperMargin - 1, paperWidth - 2*paperMargin + 1,
			paperHeight - 2*paperMargin + 5}
		for j, o := range page.ops {
			assert.True(t, inner.holds(o.bounds()), "page %d: %q at %v", i+1, o.text, o.bounds())
			for _, other := range page.ops[j+1:] {
				if o.text != "" && other.text != "" {
					require.False(t, o.bounds().overlaps(other.bounds()), "%q on %q", o.text, other.text)
				}
			}
		}
		all += page.words() + " "
	}
	for i := range 60 {
		assert.Contains(t, all, fmt.Sprintf("AB%05dK", i))
	}
	assert.Equal(t, 900, strings.Count(all, "higher"))
	p.Rows = [][]string{{"AB00001K", "Lark \U000F1234"}}
	_, err = p.Draw()
	assert.ErrorContains(t, err, "has letters that no font of this computer draws")
}

// However long a table and what stands behind it are, no page ends a paper with a line or two alone.
func TestNoLastLinesAlone(t *testing.T) {
	rows := func(d *Drawing) int {
		high := map[float64]bool{}
		for _, o := range d.ops {
			if o.text != "" {
				high[o.bounds().y] = true
			}
		}
		return len(high) - 1 // the foot
	}
	for n := range 34 {
		for after := range 42 {
			p := Paper{Title: "Care", Header: []string{"what"}, Wide: []float64{1}}
			for range n {
				p.Rows = append(p.Rows, []string{"oil"})
			}
			for range after {
				p.After = append(p.After, "mind it")
			}
			pages, err := p.Draw()
			require.NoError(t, err)
			last := rows(pages[len(pages)-1])
			require.True(t, len(pages) == 1 || last >= 3, "%d rows, %d lines behind: %d alone", n, after, last)
		}
	}
}
