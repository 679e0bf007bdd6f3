package sqlite

import (
	"fmt"
	"time"

	"pitman/registry"
)

func (r *reader) Used(column registry.Column, makerKey string) ([]registry.Named, error) {
	switch column {
	case registry.ColumnModel, registry.ColumnDonor, registry.ColumnPlace, registry.ColumnCondition:
	default:
		return nil, fmt.Errorf("column %q cannot be offered", column)
	}
	name := string(column)
	text := "SELECT " + name + ", count(*) FROM machine WHERE struck = 0 AND " + name + " <> ''"
	var args []any
	if makerKey != "" {
		text += " AND maker_key = ?"
		args = append(args, makerKey)
	}
	return r.named(text+" GROUP BY "+name+" ORDER BY 2 DESC, 1", args...)
}

func (r *reader) Makers() ([]registry.Named, error) {
	return r.named("SELECT min(maker), count(*) FROM machine WHERE struck = 0 GROUP BY maker_key ORDER BY 2 DESC, 1")
}

func (r *reader) named(text string, args ...any) ([]registry.Named, error) {
	rows, err := r.query(text, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var out []registry.Named
	for rows.Next() {
		var n registry.Named
		if err := rows.Scan(&n.Name, &n.Count); err != nil {
			return nil, err
		}
		out = append(out, n)
	}
	return out, rows.Err()
}

func (r *reader) Done(by registry.Initials, since time.Time) (n int, err error) {
	s, err := r.prepare(`SELECT count(*) FROM action WHERE by = ? AND at >= ? AND undoes IS NULL
		AND NOT EXISTS (SELECT 1 FROM action AS later WHERE later.undoes = action.id)`)
	if err != nil {
		return 0, err
	}
	return n, s.QueryRowContext(r.ctx, string(by), since.UTC().Format(stamp)).Scan(&n)
}
