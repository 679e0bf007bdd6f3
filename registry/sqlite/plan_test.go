package sqlite

import (
	"context"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/promise"
	"pitman/registry/spares"
	"pitman/registry/sqlite/turn"
	"pitman/registry/stock"
)

// What is looked up once for each row of an import, each step of a bundle or each piece of an order goes
// along an index, or its time would grow with the square of the house. The plans are SQLite's own, of the
// very statements that were run.
func TestLookUpsGoAlongAnIndex(t *testing.T) {
	path := filepath.Join(t.TempDir(), "pitman.db")
	require.NoError(t, Create(path))
	db, err := Open(path)
	require.NoError(t, err)
	defer db.Close()
	require.NoError(t, db.within(context.Background(), turn.Reading, func(r *reader) error {
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
		_, err = r.prepare(adopted)
		require.NoError(t, err)
		_, err = r.History("PM16")
		require.NoError(t, err)
		_, err = r.changes(1, "PM16")
		require.NoError(t, err)
		for _, text := range r.conn.Texts() {
			rows, err := r.conn.QueryContext(context.Background(), "EXPLAIN QUERY PLAN "+text,
				make([]any, strings.Count(text, "?"))...)
			require.NoError(t, err)
			for rows.Next() {
				var id, parent, unused int
				var step string
				require.NoError(t, rows.Scan(&id, &parent, &unused, &step))
				assert.False(t, strings.HasPrefix(step, "SCAN"), "%s\n%s", step, text)
				assert.NotContains(t, step, "change_action", "all that an import did\n%s", text)
				assert.NotContains(t, step, "(undoes=? AND rowid", "every action that still stands\n%s", text)
			}
			require.NoError(t, rows.Close())
		}
		return nil
	}))
}
