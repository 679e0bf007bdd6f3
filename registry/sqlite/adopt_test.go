package sqlite

import (
	"path/filepath"
	"reflect"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry/kinds"
	"pitman/registry/sqlite/mapping"
	"pitman/registry/sqlite/verify"
	"pitman/registry/stock"
)

// Every table of records has a kind that can be made anew, with all its columns; else bundles would leave it
// behind.
func TestEveryTableOfRecordsHasItsKind(t *testing.T) {
	path := filepath.Join(t.TempDir(), "pitman.db")
	require.NoError(t, Create(path))
	db, err := Open(path)
	require.NoError(t, err)
	defer db.Close()
	require.NoError(t, db.View(t.Context(), func(reading stock.Reader) error {
		r := reading.(*reader)
		tables, err := verify.RecordTables(source{r})
		require.NoError(t, err)
		require.Contains(t, tables, "machine")
		for _, name := range tables {
			rec := kinds.New(name)
			if !assert.NotNil(t, rec, "%s is not in registry's list of kinds", name) {
				continue
			}
			columns, err := r.strings("SELECT name FROM pragma_table_info (?)", name)
			require.NoError(t, err)
			var mapped []string
			for _, c := range mapping.Of(reflect.TypeOf(rec).Elem()).Columns {
				mapped = append(mapped, c.Name)
			}
			assert.ElementsMatch(t, columns, mapped, name)
		}
		return nil
	}))
}
