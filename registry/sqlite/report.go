package sqlite

import (
	"time"

	"pitman/registry"
)

func (r *reader) StageChanges(fn func(registry.StageChange) error) error {
	rows, err := r.query(`SELECT ref, json_extract(fields, '$.stage[1]') AS stage, at FROM change JOIN action ON action.id = change.action
		WHERE kind = 'machine' AND stage IS NOT NULL AND ` + live + ` ORDER BY ref, change.id`)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var c registry.StageChange
		var at string
		if err := rows.Scan(&c.Machine, (*string)(&c.Stage), &at); err != nil {
			return err
		}
		if c.At, err = time.Parse(stamp, at); err != nil {
			return err
		}
		if err := fn(c); err != nil {
			return err
		}
	}
	return rows.Err()
}

func (r *reader) FirstTests(from, to time.Time) (passed, tested int, err error) {
	// Beside min, SQLite takes the other columns from the row that has it; all is read from one index.
	s, err := r.prepare(`SELECT coalesce(sum(pass), 0), count(*)
		FROM (SELECT min(at) AS first, pass FROM function_test WHERE struck = 0 GROUP BY tag) WHERE first >= ? AND first < ?`)
	if err != nil {
		return 0, 0, err
	}
	return passed, tested, s.QueryRowContext(r.ctx, from.UTC().Format(stamp), to.UTC().Format(stamp)).Scan(&passed, &tested)
}
