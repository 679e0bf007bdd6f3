package schema

// ShellRow asks the sqlite3 shell for a machine's row, for a comparison.
func ShellRow(tag string) string {
	return "SELECT * FROM machine WHERE tag = '" + tag + "'"
}
