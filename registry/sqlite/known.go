package sqlite

import (
	"fmt"
	"strings"
	"time"

	"pitman/registry"
	"pitman/registry/sqlite/mapping"
	"pitman/registry/stock"
)

func (r *reader) Used(column stock.Column, makerKey string) ([]stock.Named, error) {
	switch column {
	case stock.ColumnMaker, stock.ColumnModel, stock.ColumnDonor, stock.ColumnPlace, stock.ColumnCondition:
	default:
		return nil, fmt.Errorf("column %q cannot be offered", column)
	}
	name := string(column)
	of, args := "", []any{}
	if makerKey != "" {
		of, args = " AND maker_key = ?", append(args, makerKey)
	}
	return r.named("SELECT "+name+", count(*) FROM (SELECT "+name+" FROM machine WHERE struck = 0"+of+
		" ORDER BY id DESC LIMIT "+ofLate+
		") WHERE "+name+" <> '' GROUP BY "+name+" ORDER BY 2 DESC, 1", args...)
}

// ofLate is how many machines, the latest first, are looked at for what to offer: what was typed twenty years
// ago is of less help, and the form must not wait for it.
const ofLate = "20000"

func (r *reader) Serials(fn func(makerKey, serialKey string)) error {
	rows, err := r.query("SELECT DISTINCT maker_key, serial_key FROM machine WHERE serial_key <> ''")
	if err != nil {
		return err
	}
	defer rows.Close()
	var maker, serial string
	for rows.Next() {
		if err := rows.Scan(&maker, &serial); err != nil {
			return err
		}
		fn(maker, serial)
	}
	return rows.Err()
}

func (r *reader) Makers() ([]stock.Named, error) {
	// Counted within the index; each name is spelt as it was first.
	return r.named(`SELECT (SELECT maker FROM machine WHERE maker_key = k AND struck = 0 ORDER BY id
		LIMIT 1) AS name, n
		FROM (SELECT maker_key AS k, count(*) AS n FROM machine WHERE struck = 0 GROUP BY maker_key)
		ORDER BY n DESC, name`)
}

func (r *reader) named(text string, args ...any) ([]stock.Named, error) {
	rows, err := r.query(text, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var out []stock.Named
	for rows.Next() {
		var n stock.Named
		if err := rows.Scan(&n.Name, &n.Count); err != nil {
			return nil, err
		}
		out = append(out, n)
	}
	return out, rows.Err()
}

func (r *reader) Done(by registry.Initials, since time.Time) (n int, err error) {
	final, args := notFinal()
	s, err := r.prepare("SELECT count(*) FROM action WHERE by = ? AND at >= ? AND origin = '' AND " + final +
		" AND " + live)
	if err != nil {
		return 0, err
	}
	return n, s.QueryRowContext(r.ctx,
		append([]any{string(by), since.UTC().Format(mapping.Stamp)}, args...)...).Scan(&n)
}

// TagsFrom goes along the indexes of tags, so it is as quick in a big house as in a small one.
func (r *reader) TagsFrom(begin string, n int, fn func(registry.Tag, string)) error {
	rows, err := r.query(`SELECT tag, trim(maker || ' ' || model) FROM machine WHERE tag >= ?1
		AND tag < ?1 || char(0x10FFFF) AND struck = 0
		UNION ALL SELECT tag, trim(maker || ' ' || pattern || ' base') FROM base WHERE tag >= ?1
		AND tag < ?1 || char(0x10FFFF) AND struck = 0
		ORDER BY tag LIMIT ?2`, begin, n)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var tag, what string
		if err := rows.Scan(&tag, &what); err != nil {
			return err
		}
		fn(registry.Tag(tag), what)
	}
	return rows.Err()
}

// Names jumps from one name to the next along an index, so that the number of machines does not matter.
func (r *reader) Names(column stock.Column, n int) ([]string, error) {
	var key, order string // as the index has them
	switch column {
	case stock.ColumnMaker:
		key, order = "maker_key", "maker_key"
	case stock.ColumnPlace:
		key, order = "place", "place COLLATE NOCASE"
	default:
		return nil, fmt.Errorf("column %q has no index", column)
	}
	text := strings.NewReplacer("$key", key, "$order", order, "$column",
		string(column)).Replace(`WITH RECURSIVE known (name) AS (
			VALUES ('')
			UNION ALL SELECT (SELECT $key FROM machine WHERE struck = 0 AND $key <> '' AND $order > name
			ORDER BY $order LIMIT 1) FROM known WHERE name IS NOT NULL)
		SELECT (SELECT $column FROM machine WHERE struck = 0 AND $order = name AND $key <> '' LIMIT 1)
		FROM known WHERE name <> '' LIMIT ?`)
	return r.strings(text, n)
}
