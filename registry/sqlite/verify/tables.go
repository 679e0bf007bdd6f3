package verify

import (
	"maps"
	"slices"
	"strings"

	"pitman/registry"
)

// tables are those of a file by name, each with its columns, and with what a column gave to the rows that
// were there before it. They are read once for all checks: SQLite compiles a statement for each table.
type tables map[string]map[string]string

func readTables(r Source) (tables, error) {
	rows, err := r.Query(`SELECT name, '', '' FROM sqlite_schema WHERE type = 'table' UNION ALL
		SELECT t.name, c.name, coalesce(trim(c.dflt_value, ''''), '')
		FROM sqlite_schema AS t, pragma_table_info (t.name) AS c
		WHERE t.type = 'table' AND t.sql NOT LIKE 'CREATE VIRTUAL%'`)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	t := tables{}
	for rows.Next() {
		var table, column, gave string
		if err := rows.Scan(&table, &column, &gave); err != nil {
			return nil, err
		}
		if t[table] == nil {
			t[table] = map[string]string{}
		}
		if column != "" {
			t[table][column] = gave
		}
	}
	return t, rows.Err()
}

// have says whether a table is there, or a column of one.
func (t tables) have(name string) bool {
	table, column, ofColumn := strings.Cut(name, ".")
	columns, there := t[table]
	if ofColumn {
		_, there = columns[column]
	}
	return there
}

// records names the tables that hold records, and have these columns.
func (t tables) records(columns ...string) (names []string) {
	for _, name := range slices.Sorted(maps.Keys(t)) {
		if !slices.ContainsFunc(append(columns, "id", "struck"),
			func(column string) bool { _, there := t[name][column]; return !there }) {
			names = append(names, name)
		}
	}
	return names
}

// RecordTables names the tables that hold records.
func RecordTables(r Source) ([]string, error) {
	t, err := readTables(r)
	return t.records(), err
}

// EachTag calls fn for every tag that a record carries or refers to.
func EachTag(r Source, fn func(table string, id int64, tag registry.Tag)) error {
	t, err := readTables(r)
	if err != nil {
		return err
	}
	return eachTag(r, t, fn)
}

func eachTag(r Source, t tables, fn func(table string, id int64, tag registry.Tag)) error {
	for _, table := range t.records("tag") {
		rows, err := r.Query("SELECT id, tag FROM " + table + " WHERE tag <> ''")
		if err != nil {
			return err
		}
		defer rows.Close()
		for rows.Next() {
			var id int64
			var tag string
			if err := rows.Scan(&id, &tag); err != nil {
				return err
			}
			fn(table, id, registry.Tag(tag))
		}
		if err := rows.Err(); err != nil {
			return err
		}
	}
	return nil
}
