package sqlite_test

import (
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/promise"
	"pitman/registry/registrytest"
	"pitman/registry/spares"
	"pitman/registry/sqlite"
	"pitman/registry/stock"
)

// What is looked up once for each row of an import, each step of a bundle or each piece of an order goes
// along an index, or its time would grow with the square of the house. The plans are SQLite's own, of the
// very statements that were run.
func TestLookUpsGoAlongAnIndex(t *testing.T) {
	w, db, _ := registrytest.Open(t)
	require.NoError(t, db.View(ctx, func(r stock.Reader) error {
		for _, look := range []struct {
			rec   registry.Record
			where stock.Fields
		}{
			{&stock.Machine{}, stock.Fields{"tag": "PM16"}},
			{&stock.Machine{}, stock.Fields{"import_id": "A 12"}},
			{&stock.Machine{}, stock.Fields{"maker_key": "ostermann", "serial_key": "1"}},
			{&stock.Base{}, stock.Fields{"tag": "PM16"}},
			{&bench.Work{}, stock.Fields{"tag": "PM16"}},
			{&bench.FunctionTest{}, stock.Fields{"tag": "PM16"}},
			{&spares.Need{}, stock.Fields{"tag": "PM16", "part": "belt", "met": false}},
			{&spares.Spare{}, stock.Fields{"taken_from": "PM16", "part": "motor"}},
			{&spares.Spare{}, stock.Fields{"fitted_to": "", "part": "motor"}},
			{&spares.Supply{}, stock.Fields{"part": "belt"}},
			{&spares.KitItem{}, stock.Fields{"tag": "PM16"}},
			{&promise.OrderSet{}, stock.Fields{"head": "PM16", "stands": true}},
			{&promise.OrderSet{}, stock.Fields{"base": "PM16", "stands": true}},
			{&promise.OrderSet{}, stock.Fields{"number": "ORD1", "stands": true}},
		} {
			require.Equal(t, registry.NotFound, registry.CodeOf(r.Get(look.rec, look.where)))
		}
		_, err := r.LastAction("", "PM16")
		require.NoError(t, err)
		_, err = r.BuiltOn("PM16", 1)
		require.NoError(t, err)
		_, err = r.History("PM16")
		return err
	}))
	alongAnIndex(t, plans(t, db))

	// What every action does once is no look-up.
	require.NoError(t, inTurns(w, func(int, stock.Tx) error { return nil }))
	once := plans(t, db)
	require.NoError(t, inTurns(w, func(turn int, tx stock.Tx) error {
		if turn == 2 {
			_, err := tx.Adopt(&registry.Action{By: "QX", Verb: "log", Origin: "f00d/1"})
			require.NoError(t, err)
		}
		if turn == 4 {
			tx.Withdraw(string(registry.NewTag("PM", 5)))
		}
		return nil
	}))
	more := plans(t, db)
	for text := range once {
		delete(more, text)
	}
	alongAnIndex(t, more)
	texts := strings.Join(slices.Collect(maps.Keys(more)), "\n")
	assert.Contains(t, texts, "origin = ?1", "Adopt")
	assert.Contains(t, texts, "+action = ? AND subject = ?", "Withdraw")
}

func plans(t *testing.T, db *sqlite.DB) map[string][]string {
	t.Helper()
	found, err := db.Plans(ctx)
	require.NoError(t, err)
	require.NotEmpty(t, found)
	return found
}

func alongAnIndex(t *testing.T, plans map[string][]string) {
	t.Helper()
	for text, steps := range plans {
		for _, step := range steps {
			assert.False(t, strings.HasPrefix(step, "SCAN"), "%s\n%s", step, text)
			assert.NotContains(t, step, "change_action", "all that an import did\n%s", text)
			assert.NotContains(t, step, "(undoes=? AND rowid", "every action that still stands\n%s", text)
		}
	}
}
