package serials

import (
	"maps"
	"slices"
	"strings"

	"pitman/serials/table"
)

func sortedKeys[V any](m map[string]V) []string { return slices.Sorted(maps.Keys(m)) }

var firstLine = strings.Join(table.Columns, ",") + "\n"

func faultTexts(faults []table.Fault) (out []string) {
	for _, f := range faults {
		out = append(out, f.String())
	}
	return out
}
