package papers_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/labels"
	"pitman/labels/papers"
)

// A4 lying (ISO 216: 297 mm by 210 mm), and its margins.
const (
	paperWidth, paperHeight = 297.0, 210.0
	paperMargin             = 12.0
)

// Whatever stands on a paper is on one of its pages, within the margins, and no text lies on another.
func TestPaper(t *testing.T) {
	p := papers.Paper{Title: "Packing list",
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
		texts := slices.Collect(page.Texts())
		assert.True(t,
			strings.HasSuffix(texts[len(texts)-1].Text, fmt.Sprintf("page %d of %d", i+1, len(pages))))
		for j, o := range texts {
			assert.True(t, o.X > paperMargin-0.5 && o.X+o.Width < paperWidth-paperMargin+0.5 &&
				o.Y > paperMargin-1 && o.Y+o.Height < paperHeight-paperMargin+4, "page %d: %v", i+1, o)
			for _, other := range texts[j+1:] {
				require.False(t, overlap(o, other), "%q on %q", o.Text, other.Text)
			}
			all += o.Text + " "
		}
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
	rows := func(d *labels.Drawing) int {
		high := map[float64]bool{}
		for o := range d.Texts() {
			high[o.Y] = true
		}
		return len(high) - 1 // the foot
	}
	for n := range 34 {
		for after := range 42 {
			p := papers.Paper{Title: "Care", Header: []string{"what"}, Wide: []float64{1}}
			for range n {
				p.Rows = append(p.Rows, []string{"oil"})
			}
			for range after {
				p.After = append(p.After, "mind it")
			}
			pages, err := p.Draw()
			require.NoError(t, err)
			last := rows(pages[len(pages)-1])
			require.True(t, len(pages) == 1 || last >= 3, "%d rows, %d lines behind: %d alone", n, after,
				last)
		}
	}
}

func overlap(a, b labels.Text) bool {
	const touch = 1e-6
	return a.X < b.X+b.Width-touch && b.X < a.X+a.Width-touch && a.Y < b.Y+b.Height-touch &&
		b.Y < a.Y+a.Height-touch
}

// What runs from right to left begins at the right edge of its column.
func TestRightToLeftCellsBeginAtTheRight(t *testing.T) {
	pages, err := papers.Paper{Header: []string{"what", "what to do"}, Wide: []float64{0.5, 0.5},
		Rows: [][]string{{"oil", "الزيت"}}}.Draw()
	require.NoError(t, err)
	for o := range pages[0].Texts() {
		if o.Text == "الزيت" {
			assert.InDelta(t, paperWidth-paperMargin-1, o.X+o.Width, 0.5)
		}
	}
}
