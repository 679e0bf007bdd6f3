package sqlite

import (
	"time"

	"pitman/registry/sqlite/mapping"
	"pitman/registry/stock"
)

// The condition of the index of changes of a stage, and what it was changed to.
const (
	toStage = "json_extract(fields, '$.stage[1]')"
	staged  = "kind = 'machine' AND " + toStage + " IS NOT NULL"
)

func (r *reader) StageChanges(from, to time.Time, fn func(stock.StageChange) error) error {
	moved, args := "", []any{}
	if !from.IsZero() {
		// There is an index of actions by person and time, so all people together have one by time.
		moved = ` AND ref IN (SELECT ref FROM person CROSS JOIN action ON by = initials AND at >= ? AND at < ?
			CROSS JOIN change ON change.action = action.id WHERE ` + staged + `)`
		args = append(args, from.UTC().Format(mapping.Stamp), to.UTC().Format(mapping.Stamp))
	}
	rows, err := r.query("SELECT ref, "+toStage+
		", at FROM change CROSS JOIN action ON action.id = change.action WHERE "+staged+moved+
		" AND "+live+" ORDER BY ref, change.id", args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var c stock.StageChange
		var at string
		if err := rows.Scan(&c.Machine, (*string)(&c.Stage), &at); err != nil {
			return err
		}
		if c.At, err = time.Parse(mapping.Stamp, at); err != nil {
			return err
		}
		if err := fn(c); err != nil {
			return err
		}
	}
	return rows.Err()
}

func (r *reader) FirstTests(from, to time.Time) (passed, tested int, err error) {
	within := ""
	if !from.IsZero() {
		within = "AND tag IN (SELECT tag FROM function_test WHERE struck = 0 AND at >= ?1 AND at < ?2)"
	}
	// Beside min, SQLite takes the other columns from the row that has it; all is read from one index.
	s, err := r.prepare(`SELECT coalesce(sum(pass), 0), count(*)
		FROM (SELECT min(at) AS first, pass FROM function_test WHERE struck = 0 AND points <> '[]' ` +
		within +
		` GROUP BY tag) WHERE first >= ?1 AND first < ?2`)
	if err != nil {
		return 0, 0, err
	}
	return passed, tested,
		s.QueryRowContext(r.ctx, from.UTC().Format(mapping.Stamp),
			to.UTC().Format(mapping.Stamp)).Scan(&passed, &tested)
}
