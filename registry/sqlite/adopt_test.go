package sqlite_test

import (
	"database/sql"
	"reflect"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry/kinds"
	"pitman/registry/registrytest"
	"pitman/registry/sqlite/mapping"
	"pitman/registry/sqlite/verify"
)

// Every table of records has a kind that can be made anew, with all its columns; else bundles would leave it
// behind.
func TestEveryTableOfRecordsHasItsKind(t *testing.T) {
	_, _, path := registrytest.Open(t)
	file := file{raw: registrytest.Raw(t, path)}
	tables, err := verify.RecordTables(file)
	require.NoError(t, err)
	require.Contains(t, tables, "machine")
	for _, name := range tables {
		rec := kinds.New(name)
		if !assert.NotNil(t, rec, "%s is not in registry's list of kinds", name) {
			continue
		}
		columns, err := verify.Strings(file, "SELECT name FROM pragma_table_info (?)", name)
		require.NoError(t, err)
		var mapped []string
		for _, c := range mapping.Of(reflect.TypeOf(rec).Elem()).Columns {
			mapped = append(mapped, c.Name)
		}
		assert.ElementsMatch(t, columns, mapped, name)
	}
}

// file is a registry without pitman around it, to be asked as the checks ask.
type file struct {
	verify.Source
	raw *sql.DB
}

func (f file) Query(text string, args ...any) (verify.Rows, error) { return f.raw.Query(text, args...) }
