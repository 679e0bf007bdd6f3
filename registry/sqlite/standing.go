package sqlite

import (
	"database/sql"
	"encoding/json"
	"strings"
	"time"

	"pitman/registry"
	"pitman/registry/mains"
	"pitman/registry/sqlite/mapping"
	"pitman/registry/sqlite/statement"
	"pitman/registry/stock"
)

// What a check of stages asks of a machine is gathered in one row, along indexes, so that a whole house costs
// one row each.
const (
	machineStandings = `SELECT m.tag, m.stage, m.held_from, m.held_why, m.unsafe_why, m.drive, m.tested_at,
		m.tested_by, m.safety_at, m.safety_by, m.mains, m.moved_in,
		f.at, f.by, f.pass, f.drive, s.at, s.by, s.pass, ` + orderOf +
		`m.tag AND o.stands = 1 AND o.struck = 0),
		(SELECT group_concat(k.skill) FROM order_set AS o
			JOIN work_order AS k ON k.number = o.number AND k.head = o.head AND k.promised_at = o.at
			WHERE o.head = m.tag AND o.stands = 1 AND o.struck = 0 AND k.struck = 0 AND k.done_at <> '')
	FROM machine AS m
	LEFT JOIN function_test AS f ON f.id = (SELECT max(id) FROM function_test WHERE tag = m.tag
	AND struck = 0)
	LEFT JOIN safety_test AS s ON s.id = (SELECT max(id) FROM safety_test WHERE tag = m.tag AND struck = 0
	AND revives = '')
	WHERE m.struck = 0`
	orderOf       = `(SELECT group_concat(number) FROM order_set AS o WHERE o.head = `
	baseStandings = `SELECT b.tag, b.stage, b.held_from, b.held_why, b.parts, b.top,
		(SELECT group_concat(number) FROM order_set AS o WHERE o.base = b.tag AND o.base <> ''
		AND o.stands = 1 AND o.struck = 0)
	FROM base AS b WHERE b.struck = 0`
	partsTaken = `SELECT taken_from, part, count(*), (SELECT count(*) FROM spare AS f
			WHERE f.struck = 0 AND f.fitted_to = spare.taken_from AND f.part = spare.part AND f.replaced = 0)
		FROM spare WHERE struck = 0 AND taken_from <> ''`
)

// Standings reads heads, then bases, in the order of their tags.
func (r *reader) Standings(tag registry.Tag, fn func(*stock.Standing) error) error {
	if err := r.machineStandings(tag, fn); err != nil {
		return err
	}
	return r.baseStandings(tag, fn)
}

// only narrows a query to one tag, when one is named.
func only(text, column string, tag registry.Tag) (string, []any) {
	if tag == "" {
		return text, nil
	}
	return text + " AND " + column + " = ?", []any{string(tag)}
}

func (r *reader) machineStandings(tag registry.Tag, fn func(*stock.Standing) error) error {
	text, args := only(partsTaken, "taken_from", tag)
	parts, err := r.query(text+" GROUP BY taken_from, part ORDER BY taken_from, part", args...)
	if err != nil {
		return err
	}
	defer parts.Close()
	taken := &takenParts{rows: parts}
	text, args = only(machineStandings, "m.tag", tag)
	rows, err := r.query(text+" ORDER BY m.tag", args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		s := stock.Standing{Unit: "machine"}
		var testedAt, safetyAt, parts string
		var f, t seen
		var orders, done sql.NullString
		err := rows.Scan((*string)(&s.Tag), (*string)(&s.Stage), (*string)(&s.HeldFrom), &s.HeldWhy,
			&s.UnsafeWhy, (*string)(&s.Drive),
			&testedAt, (*string)(&s.TestedBy), &safetyAt, (*string)(&s.SafetyBy), &parts, &s.MovedIn,
			&f.at, &f.by, &f.pass, &f.drive, &t.at, &t.by, &t.pass, &orders, &done)
		if err != nil {
			return err
		}
		if parts != "[]" && json.Unmarshal([]byte(parts), &s.Mains) != nil {
			// what cannot be read may be anything
			s.Mains = mains.Parts{{Part: "motor", State: mains.Unknown}}
		}
		s.TestedAt, s.SafetyAt = moment(testedAt), moment(safetyAt)
		s.Tested, s.Safe, s.Orders, s.WorkDone = f.test(), t.test(), parted(orders), parted(done)
		if s.Taken, err = taken.of(s.Tag); err != nil {
			return err
		}
		if err := fn(&s); err != nil {
			return err
		}
	}
	return rows.Err()
}

func (r *reader) baseStandings(tag registry.Tag, fn func(*stock.Standing) error) error {
	text, args := only(baseStandings, "b.tag", tag)
	rows, err := r.query(text+" ORDER BY b.tag", args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		s := stock.Standing{Unit: "base"}
		var parts string
		var orders sql.NullString
		err := rows.Scan((*string)(&s.Tag), (*string)(&s.Stage), (*string)(&s.HeldFrom), &s.HeldWhy, &parts,
			(*string)(&s.Top), &orders)
		if err != nil {
			return err
		}
		_ = json.Unmarshal([]byte(parts), &s.Parts) // a list that cannot be read names no part
		s.Orders = parted(orders)
		if err := fn(&s); err != nil {
			return err
		}
	}
	return rows.Err()
}

// seen is the last test of a machine, if it had one.
type seen struct {
	at, by, drive sql.NullString
	pass          sql.NullBool
}

func (s seen) test() *stock.TestSeen {
	if !s.at.Valid {
		return nil
	}
	return &stock.TestSeen{At: moment(s.at.String), By: registry.Initials(s.by.String), Pass: s.pass.Bool,
		Drive: registry.Drive(s.drive.String)}
}

// moment reads a stored time; what is none was not recorded, so that a check can go on over a damaged row.
func moment(text string) time.Time {
	at, err := time.Parse(mapping.Stamp, text)
	if err != nil {
		return time.Time{}
	}
	return at
}

// parted is what group_concat joined.
func parted(joined sql.NullString) []string {
	if joined.String == "" {
		return nil
	}
	return strings.Split(joined.String, ",")
}

// takenParts reads in step with the machines, both by their tags.
type takenParts struct {
	rows  *statement.Rows
	ahead bool // a row is read and not yet given
	tag   registry.Tag
	part  stock.PartTaken
}

func (t *takenParts) of(tag registry.Tag) (parts []stock.PartTaken, err error) {
	for {
		if !t.ahead {
			if !t.rows.Next() {
				return parts, t.rows.Err()
			}
			if err := t.rows.Scan((*string)(&t.tag), &t.part.Part, &t.part.Taken,
				&t.part.Fitted); err != nil {
				return parts, err
			}
			t.ahead = true
		}
		if t.tag > tag {
			return parts, nil
		}
		if t.ahead = false; t.tag == tag {
			parts = append(parts, t.part)
		}
	}
}
