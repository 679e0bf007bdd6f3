package sqlite

import (
	"bytes"
	"encoding/json"
	"fmt"
	"reflect"
	"strings"
	"time"

	"pitman/registry"
	"pitman/registry/chain"
	"pitman/registry/sqlite/mapping"
	"pitman/registry/sqlite/texts"
	"pitman/registry/sqlite/verify"
	"pitman/registry/stock"
)

func (r *reader) Machines(f stock.MachineFilter, fn func(*stock.Machine) error) error {
	from, args, err := r.machines(f)
	if err != nil {
		return err
	}
	order := "id"
	if strings.Contains(from, "docid") {
		order = "docid" // the same number, and the order in which the index of texts comes
	}
	var m stock.Machine
	v := reflect.ValueOf(&m).Elem()
	text := "SELECT " + mapping.Of(v.Type()).List + " FROM " + from + " ORDER BY " + order
	if f.Limit > 0 {
		text += " LIMIT ?"
		args = append(args, f.Limit)
	}
	return r.walk(v, text, args, func() error { return fn(&m) })
}

func (r *reader) Count(f stock.MachineFilter) (n int, err error) {
	from, args, err := r.machines(f)
	if err != nil {
		return 0, err
	}
	s, err := r.prepare("SELECT count(*) FROM " + from)
	if err != nil {
		return 0, err
	}
	return n, s.QueryRowContext(r.ctx, args...).Scan(&n)
}

// machines turns a filter into what stands behind FROM.
func (r *reader) machines(f stock.MachineFilter) (string, []any, error) {
	through, conditions := "machine", []string{"struck = 0"}
	var args []any
	need := func(condition string, values ...any) {
		conditions = append(conditions, condition)
		args = append(args, values...)
	}
	if f.Stage != "" {
		need("stage = ?", string(f.Stage))
	}
	if f.Drive != "" {
		need("drive = ?", string(f.Drive))
	}
	if f.Maker != "" {
		need("maker_key = ?", stock.MakerKey(f.Maker))
	}
	if f.Here {
		need("handed_to = ''")
	}
	if f.Place != "" {
		need("place <> '' AND place = ? COLLATE NOCASE", f.Place)
	}
	if f.MadeFrom != 0 || f.MadeTo != 0 {
		need("(year_from IS NOT NULL OR year_to IS NOT NULL)")
	}
	if f.MadeFrom != 0 {
		need("coalesce(year_to, 9999) >= ?", f.MadeFrom)
	}
	if f.MadeTo != 0 {
		need("coalesce(year_from, 0) <= ?", f.MadeTo)
	}
	if f.NoYear {
		// Where no bound and no year stands, the basis tells a contradiction from what nobody knows.
		bases := stock.OpenBases()
		need("year_from IS NULL AND year_to IS NULL AND year_best IS NULL AND year_basis NOT IN (?, ?, ?)",
			bases[0], bases[1], bases[2])
	}
	switch from, to := f.Received[0], f.Received[1]; {
	case !from.IsZero():
		// The numbers come out of the index first, so that they are sorted and not the rows.
		need("id IN (SELECT id FROM machine WHERE struck = 0 AND logged_at >= ? AND logged_at < ?)",
			from.UTC().Format(mapping.Stamp), to.UTC().Format(mapping.Stamp))
	case !to.IsZero():
		need("+logged_at < ?", to.UTC().Format(mapping.Stamp)) // most of the house: row by row
	}
	if f.Text != "" {
		table, condition, values := texts.Condition(f.Text)
		through = table
		need(condition, values...)
	}
	if f.Since != 0 {
		need("id IN (SELECT ref FROM change WHERE action > ? AND kind = 'machine')", f.Since)
	}
	if f.After != "" {
		after, err := stock.MachineByTag(r, f.After)
		if err != nil {
			return "", nil, err
		}
		need("id > ?", after.ID)
	}
	return through + " WHERE " + strings.Join(conditions, " AND "), args, nil
}

func (r *reader) People() ([]stock.Person, error) {
	// The latest is the last of an index.
	rows, err := r.query(`SELECT initials, since, (SELECT max(at) FROM action WHERE by = initials), actions
		FROM person JOIN acted USING (initials) ORDER BY initials`)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var out []stock.Person
	for rows.Next() {
		var p stock.Person
		var since, last string
		if err := rows.Scan((*string)(&p.Initials), &since, &last, &p.Actions); err != nil {
			return nil, err
		}
		if p.Since, err = time.Parse(mapping.Stamp, since); err != nil {
			return nil, err
		}
		if p.Last, err = time.Parse(mapping.Stamp, last); err != nil {
			return nil, err
		}
		out = append(out, p)
	}
	return out, rows.Err()
}

func (r *reader) History(subject string) ([]registry.Event, error) {
	comingIn, err := verify.InTurns(source{r})
	if err != nil {
		return nil, err
	}
	rows, err := r.query(`SELECT action.id, at, by, verb, why, coalesce(undoes, 0), origin, kind, ref, fields,
		marks FROM change JOIN action ON action.id = change.action WHERE subject = ? AND action.id <> ?
		ORDER BY change.id`, subject, comingIn)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var out []registry.Event
	for rows.Next() {
		var e registry.Event
		var at, origin, kind, fields, marks string
		var ref int64
		if err := rows.Scan(&e.ID, &at, (*string)(&e.By), &e.Action, &e.Why, &e.Undoes, &origin, &kind, &ref,
			&fields, &marks); err != nil {
			return nil, err
		}
		e.House, _, _ = strings.Cut(origin, "/")
		if e.At, err = time.Parse(mapping.Stamp, at); err != nil {
			return nil, err
		}
		if err := json.Unmarshal([]byte(fields), &e.Changes); err != nil {
			return nil, err
		}
		for side := range chain.ParseMarks(marks).Forgotten {
			tellForgotten(e.Changes, side)
		}
		if !subjects[kind] {
			e.Changes = prefixed(kind, ref, e.Changes)
		}
		if n := len(out); n > 0 && out[n-1].ID == e.ID {
			for name, values := range e.Changes {
				out[n-1].Changes[name] = values
			}
			continue
		}
		out = append(out, e)
	}
	return out, rows.Err()
}

func (r *reader) Changes(subject string, fn func(*registry.Action, *registry.Change) error) error {
	text := `SELECT action.id, at, by, verb, why, coalesce(undoes, 0), origin, kind, ref, subject, fields,
		marks FROM change JOIN action ON action.id = change.action WHERE action.id <> ?`
	comingIn, err := verify.InTurns(source{r})
	if err != nil {
		return err
	}
	args := []any{comingIn}
	if subject != "" {
		text += " AND subject = ?"
		args = append(args, subject)
	}
	rows, err := r.query(text+" ORDER BY change.id", args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		if err := r.ctx.Err(); err != nil {
			return err
		}
		var a registry.Action
		var c registry.Change
		var at string
		var fields []byte
		var marks string
		if err := rows.Scan(&a.ID, &at, (*string)(&a.By), &a.Verb, &a.Why, &a.Undoes, &a.Origin, &c.Kind,
			&c.Ref, &c.Subject, &fields, &marks); err != nil {
			return err
		}
		if a.At, err = time.Parse(mapping.Stamp, at); err != nil {
			return err
		}
		d := json.NewDecoder(bytes.NewReader(fields))
		d.UseNumber() // whole numbers beyond 2^53 stay exact
		if err := d.Decode(&c.Fields); err != nil {
			return err
		}
		c.Action = a.ID
		for side := range chain.ParseMarks(marks).Forgotten {
			c.Forget(side.Column, side.At)
		}
		if err := fn(&a, &c); err != nil {
			return err
		}
	}
	return rows.Err()
}

// tellForgotten says in a history that something stood there.
func tellForgotten(fields map[string][2]any, side chain.Side) {
	if values, ok := fields[side.Column]; ok {
		values[side.At] = "(forgotten)"
		fields[side.Column] = values
	}
}

// subjects are the kinds of record that have a history of their own; the others stand in the history of one
// of these.
var subjects = map[string]bool{"machine": true, "base": true, "partner_order": true,
	"shipment": true}

// prefixed names the fields of a record that stands in another's history: "check.12.result".
func prefixed(kind string, ref int64, fields map[string][2]any) map[string][2]any {
	out := make(map[string][2]any, len(fields))
	for name, values := range fields {
		out[fmt.Sprintf("%s.%d.%s", kind, ref, name)] = values
	}
	return out
}
