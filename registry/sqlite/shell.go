package sqlite

import (
	"pitman/registry"
)

// ShellRow asks the sqlite3 shell for a machine's row, for a comparison.
func ShellRow(tag registry.Tag) string {
	return "SELECT * FROM machine WHERE tag = '" + string(tag) + "'"
}
