package serials_test

import (
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pitman/serials"
	"pitman/serials/series"
	"pitman/serials/table"
)

func sortedKeys[V any](m map[string]V) []string { return slices.Sorted(maps.Keys(m)) }

var firstLine = strings.Join(table.Columns, ",") + "\n"

// seriesOf lays out a maker's rows by their prefix.
func seriesOf(t *testing.T, tables *serials.Tables, maker string) map[string]*series.Series {
	t.Helper()
	_, rows, ok := tables.Rows(maker)
	require.True(t, ok)
	of := map[string][]table.Row{}
	for _, r := range rows {
		of[r.Prefix] = append(of[r.Prefix], r)
	}
	laid := map[string]*series.Series{}
	for prefix, rows := range of {
		laid[prefix] = series.New(prefix, rows)
	}
	return laid
}

func faultTexts(faults []table.Fault) (out []string) {
	for _, f := range faults {
		out = append(out, f.String())
	}
	return out
}
