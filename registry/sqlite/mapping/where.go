package mapping

import (
	"fmt"
	"reflect"
	"slices"
)

// Where turns fields into a condition, in an order that does not change. That a text is not empty, and what
// is yes or no, stands in the condition itself: SQLite takes an index over a part of the rows only if it sees
// that no row outside that part is wanted.
func Where(fields map[string]any) (string, []any) {
	names := make([]string, 0, len(fields))
	for name := range fields {
		names = append(names, name)
	}
	slices.Sort(names)
	args := make([]any, 0, len(names))
	condition := "struck = 0"
	for _, name := range names {
		switch v := reflect.ValueOf(fields[name]); v.Kind() {
		case reflect.Bool:
			yes, _ := Store(v, false)
			condition += fmt.Sprintf(" AND %s = %d", name, yes)
		case reflect.String:
			condition += " AND " + name + " = ?"
			if args = append(args, v.String()); v.Len() > 0 {
				condition += " AND " + name + " <> ''"
			}
		default:
			condition += " AND " + name + " = ?"
			args = append(args, fields[name])
		}
	}
	return condition, args
}

// OldestFirst selects by a condition of equalities. The order stands apart from the condition, because SQLite
// compiles a statement anew each time it is run when the value of a parameter could matter for its order, and
// that takes ten times as long as the look-up.
func OldestFirst(columns, kind, condition string) string {
	return "SELECT " + columns + " FROM " + kind + " WHERE id IN (SELECT id FROM " + kind + " WHERE " +
		condition + ") ORDER BY id"
}
