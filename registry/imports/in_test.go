package imports_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/imports"
	"pitman/registry/registrytest"
	"pitman/registry/stock"
)

// Two machines with one number, which the sheet tells apart by ids, stay two: whichever is in the house
// already, in whatever order the rows come, and however often.
func TestIDsTellTwinsApart(t *testing.T) {
	const head, a, b = "id,maker,serial,drive\n", "A,Arden,7,hand\n", "B,Arden,7,hand\n"
	for name, c := range map[string]struct {
		logged bool   // one was logged at the desk
		first  string // a sheet that came before that
	}{"none is here": {}, "one was logged": {logged: true}, "one has its id": {first: head + b},
		"one of each": {true, head + b}} {
		t.Run(name, func(t *testing.T) {
			w := registrytest.InLetters(t, "PM")
			if c.first != "" {
				_, err := registrytest.TakeIn(ctx, w, c.first)
				require.NoError(t, err)
			}
			if c.logged {
				registrytest.Logged(t, w, "Arden", "7")
			}
			tags := map[string]registry.Tag{}
			for _, order := range []string{b + a, a + b, b + a} {
				result, err := registrytest.TakeIn(ctx, w, head+order)
				require.NoError(t, err)
				require.Len(t, result.Rows, 2)
				for i, line := range strings.SplitAfter(order, "\n")[:2] {
					if tags[line] == "" {
						tags[line] = result.Rows[i].Tag
					}
					assert.Equal(t, tags[line], result.Rows[i].Tag, "%s", line)
				}
			}
			assert.NotEqual(t, tags[a], tags[b])
			require.NoError(t, w.Store.View(ctx, func(r stock.Reader) error {
				n, err := r.Count(stock.MachineFilter{})
				assert.Equal(t, 2, n)
				return err
			}))
		})
	}
}

// A tag or an id names one row, whether its machine is new or here already.
func TestNoNameStandsTwice(t *testing.T) {
	w := registrytest.InLetters(t, "PM")
	const ids = "id,maker,serial,drive\nC,Ostermann,B1,hand\n"
	for _, in := range []string{"new", "here"} {
		result, err := registrytest.TakeInOr(ctx, w, ids+"C,Ostermann,B1,treadle\n", true)
		require.ErrorIs(t, err, imports.ErrFaults, in)
		require.Len(t, result.Faults, 1)
		assert.EqualError(t, result.Faults[0],
			`row 3, column id: id "C" stands in row 2 already: give each machine one of its own`)
		_, err = registrytest.TakeIn(ctx, w, ids)
		require.NoError(t, err)
	}
	row := string(registrytest.Logged(t, w, "Arden", "7").Tag) + ",Arden,7,hand\n"
	result, err := registrytest.TakeInOr(ctx, w,
		"tag,maker,serial,drive\n"+row+strings.Replace(row, "hand", "treadle", 1), true)
	require.ErrorIs(t, err, imports.ErrFaults)
	assert.ErrorContains(t, result.Faults[0], "stands in row 2 already: a tag is given to one machine only")
}

// A serial that an update corrects is dated anew, and one that it leaves is not touched.
func TestAnUpdateIsDatedAnew(t *testing.T) {
	w := registrytest.InLetters(t, "PM")
	m := registrytest.Logged(t, w, "Willcox & Gibbs", "15000")
	require.Equal(t, "about 1858", m.Year())
	for _, c := range []struct{ serial, year string }{{"15000", "about 1858"}, {"296572", "1876 or later"}} {
		_, err := registrytest.TakeInOr(ctx, w, "tag,maker,serial,drive,place\n"+string(m.Tag)+",Willcox & Gibbs,"+
			c.serial+",hand,bay "+c.serial+"\n", true)
		require.NoError(t, err)
		now, err := w.Machine(ctx, m.Tag)
		require.NoError(t, err)
		assert.Equal(t, c.year, now.Year())
		assert.Equal(t, "bay "+c.serial, now.Place)
	}
}
