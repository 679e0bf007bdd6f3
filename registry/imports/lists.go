package imports

import (
	"slices"

	"pitman/registry"
	"pitman/registry/exchange"
	"pitman/registry/sheet"
)

// ColumnName says what a column of other people's spreadsheets holds, from columns.csv.
type ColumnName struct {
	Column string `csv:"column" json:"column"` // its heading
	Field  string `csv:"field" json:"field"`   // what the house calls it; - leaves the column out
}

// ColumnLeftOut stands in place of a field for a column that is not wanted.
const ColumnLeftOut = "-"

// ImportFields lists what a column of a spreadsheet can be.
func ImportFields() []string { return append(exchange.TypedFields(), movingFields...) }

func (c ColumnName) Key() string { return sheet.ColumnKey(c.Column) }

// Check says what is wrong with the row.
func (c ColumnName) Check() error { return c.check(ImportFields()) }

func (c ColumnName) check(fields []string) error {
	if c.Key() == "" {
		return registry.Errorf(registry.Invalid, "column %q has no name: type the heading of a column",
			c.Column)
	}
	if c.Field != ColumnLeftOut && !slices.Contains(fields, c.Field) {
		return registry.Errorf(registry.Invalid,
			"field %q is not known: type %s, or - to leave the column out", c.Field,
			registry.OrList(fields))
	}
	return nil
}
