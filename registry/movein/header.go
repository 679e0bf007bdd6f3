package movein

import (
	"io"
	"slices"

	"pitman/registry/imports"
	"pitman/registry/sheet"
)

// ReadHeader finds the row that names the columns of a list, or takes the one that was said, and finds out
// what they hold: what was said of them (given), what was answered, and what they are called.
func ReadHeader(kind Kind, from io.Reader, row int, given map[string]string,
	answers []imports.ColumnName) (*imports.Header, error) {
	fields, need := kind.Fields()
	names := kind.names(fields)
	match := func(header []string, answers []imports.ColumnName) (imports.Columns, []int, []*sheet.Fault) {
		said := kind.names(fields)
		for _, answer := range answers {
			said[answer.Key()] = answer.Field
		}
		for heading, field := range given {
			said[sheet.ColumnKey(heading)] = field
		}
		return imports.Match(header, said)
	}
	rows := imports.Rows{Fields: fields, Need: need, Names: names, Match: match}
	return rows.ReadHeader(from, row, answers)
}

// names are the headings that say what their column holds.
func (k Kind) names(fields []string) map[string]string {
	known := map[string]string{"partner": "for", "customer": "for", "number": "quantity", "asked": "quantity",
		"wanted": "kind"}
	if k == Partners {
		known = map[string]string{"partner": "name"}
	}
	for heading, field := range known {
		if !slices.Contains(fields, field) {
			delete(known, heading)
		}
	}
	for _, name := range fields {
		known[sheet.ColumnKey(name)] = name
	}
	return known
}

// Words are the fields of each kind whose words are mostly known ones, and what those are elsewhere.
func (k Kind) Words() (asked []string, as map[string]string) {
	switch k {
	case Bases:
		return []string{"maker", "donor", "place"}, nil
	case Partners:
		return []string{"name"}, map[string]string{"name": "partner"}
	}
	return []string{"for", "maker"}, map[string]string{"for": "partner"}
}
