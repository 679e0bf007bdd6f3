package exchange

import (
	"slices"
	"strings"
	"unicode"

	"pitman/registry"
	"pitman/registry/stock"
)

// ColumnName says what a column of other people's spreadsheets holds, from columns.csv.
type ColumnName struct {
	Column string `csv:"column" json:"column"` // its heading
	Field  string `csv:"field" json:"field"`   // what the house calls it; - leaves the column out
}

// ColumnLeftOut stands in place of a field for a column that is not wanted.
const ColumnLeftOut = "-"

// ImportFields lists what a column of a spreadsheet can be.
func ImportFields() []string { return append(typedFields(), movingFields...) }

// typedFields lists what people type of any machine.
func typedFields() []string {
	names := []string{"tag", "id"}
	for _, f := range stock.MachineFields {
		names = append(names, f.Name)
	}
	return names
}

// ColumnKey is the same for every way in which people write one heading. One without a letter, such as #,
// stands for itself.
func ColumnKey(heading string) string {
	key := strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return unicode.ToLower(r)
		}
		return -1
	}, heading)
	if key == "" {
		return strings.TrimSpace(heading)
	}
	return key
}

func (c ColumnName) Key() string { return ColumnKey(c.Column) }

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
