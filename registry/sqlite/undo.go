package sqlite

import (
	"bytes"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"pitman/registry"
	"pitman/registry/sqlite/mapping"
	"pitman/registry/sqlite/value"
)

// live is the condition for an action that still stands: neither an undo nor undone.
const live = "action.undoes IS NULL AND NOT EXISTS (SELECT 1 FROM action AS u WHERE u.undoes = action.id)"

// action reads one action, or nil.
func (r *reader) action(text string, args ...any) (*registry.Action, error) {
	s, err := r.prepare("SELECT action.id, at, by, verb, why, origin FROM action " + text)
	if err != nil {
		return nil, err
	}
	var a registry.Action
	var at string
	err = s.QueryRowContext(r.ctx, args...).Scan(&a.ID, &at, (*string)(&a.By), &a.Verb, &a.Why, &a.Origin)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	a.At, err = time.Parse(mapping.Stamp, at)
	return &a, err
}

// Latest looks at many actions, not at the last alone: its clock may have been set back already. It does not
// look at all, so that one action under a clock that ran ahead is outgrown some day.
func (r *reader) Latest() (at time.Time, err error) {
	s, err := r.prepare("SELECT max(at) FROM (SELECT at FROM action WHERE origin = '' ORDER BY id DESC " +
		"LIMIT 1000)")
	if err != nil {
		return at, err
	}
	var text sql.NullString
	if err := s.QueryRowContext(r.ctx).Scan(&text); err != nil || !text.Valid {
		return at, err
	}
	return time.Parse(mapping.Stamp, text.String)
}

// notFinal is the condition for an action that undoing does not pass over.
func notFinal() (condition string, args []any) {
	for _, verb := range registry.Final {
		args = append(args, verb)
	}
	return "verb NOT IN (?" + strings.Repeat(", ?", len(args)-1) + ")", args
}

func (r *reader) LastAction(by registry.Initials, subject string) (*registry.Action, error) {
	if subject == "" {
		final, args := notFinal()
		return r.action("WHERE by = ? AND origin = '' AND "+final+" AND "+live+
			" ORDER BY action.id DESC LIMIT 1", append([]any{string(by)}, args...)...)
	}
	return r.action("WHERE action.id = (SELECT max(action) FROM "+ofSubject+" AND "+live+" AND "+notForget+
		")",
		subject)
}

func (r *reader) ActionSent(key string) (*registry.Action, error) {
	return r.action("WHERE sent = ? AND sent <> ''", key)
}

func (r *reader) SubjectsOf(action int64) ([]string, error) {
	rows, err := r.query("SELECT DISTINCT subject FROM change WHERE action = ? ORDER BY subject", action)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var subjects []string
	for rows.Next() {
		var s string
		if err := rows.Scan(&s); err != nil {
			return nil, err
		}
		subjects = append(subjects, s)
	}
	return subjects, rows.Err()
}

func (r *reader) BuiltOn(subject string, action int64) (*registry.Action, error) {
	return r.action("WHERE action.id = (SELECT min(action) FROM "+ofSubject+" AND action > ? AND "+live+
		" AND "+
		notForget+")", subject, action)
}

// notForget passes over what cannot be undone and stands in nobody's way: what was forgotten is gone.
const notForget = "verb <> '" + registry.VerbForget + "'"

// ofSubject goes from the few changes of a subject to their actions, not from all actions to theirs.
const ofSubject = "change CROSS JOIN action ON action.id = action WHERE subject = ?"

// change is one stored change.
type change struct {
	id, ref       int64
	kind, subject string
	fields        map[string][2]any
	first         bool // it made the record
}

// changes reads what an action did, to one subject or, where it is empty, to all, newest first. Of what made
// a record nothing has to be put back, so its fields are not read.
func (r *reader) changes(action int64, subject string) ([]change, error) {
	of, args := "action = ?", []any{action}
	if subject != "" { // found by its subject: the action may have changed a million others
		of, args = "+action = ? AND subject = ?", append(args, subject)
	}
	rows, err := r.query(`SELECT id, kind, ref, subject, iif(first, '{}', fields), first FROM (SELECT *,
		NOT EXISTS (SELECT 1 FROM change AS e WHERE e.kind = change.kind AND e.ref = change.ref
		AND e.id < change.id) AS first FROM change WHERE `+of+`) ORDER BY id DESC`, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var list []change
	for rows.Next() {
		var c change
		var text []byte
		if err := rows.Scan(&c.id, &c.kind, &c.ref, &c.subject, &text, &c.first); err != nil {
			return nil, err
		}
		d := json.NewDecoder(bytes.NewReader(text))
		d.UseNumber() // a number goes back exactly as it was
		if err := d.Decode(&c.fields); err != nil {
			return nil, err
		}
		list = append(list, c)
	}
	return list, rows.Err()
}

// Revert puts back what an action changed, newest change first, and keeps that as changes of this action.
// What the action made is struck: it stays for the history, and is shown nowhere.
func (t *tx) Revert(action int64) error { return t.revertOf(action, "") }

// revertOf is Revert of what was done to one subject, or, where it is empty, to all.
func (t *tx) revertOf(action int64, subject string) error {
	list, err := t.changes(action, subject)
	if err != nil {
		return err
	}
	for _, c := range list {
		old := map[string]any{"struck": int64(1)}
		if !c.first {
			old = map[string]any{}
			for name, values := range c.fields {
				if old[name], err = value.Stored(values[0]); err != nil {
					return fmt.Errorf("change %d: %w", c.id, err)
				}
			}
		}
		if err := t.revert(c, old); err != nil {
			return err
		}
	}
	return nil
}

func (t *tx) revert(c change, old map[string]any) error {
	names := slices.Sorted(maps.Keys(old))
	if err := t.known(c.kind, names); err != nil {
		return err
	}
	args := make([]any, 0, len(names)+1)
	for _, name := range names {
		args = append(args, old[name])
	}
	now, slots := make([]any, len(names)), make([]any, len(names))
	for i := range now {
		slots[i] = &now[i]
	}
	s, err := t.prepare("SELECT " + strings.Join(names, ", ") + " FROM " + c.kind + " WHERE id = ?")
	if err != nil {
		return err
	}
	if err := s.QueryRowContext(t.ctx, c.ref).Scan(slots...); err != nil {
		return err
	}
	t.latest = row{}
	if _, err := t.exec("UPDATE "+c.kind+" SET "+strings.Join(names, " = ?, ")+" = ? WHERE id = ?",
		append(args, c.ref)...); err != nil {
		return err
	}
	var fields []mapping.Field
	for i, name := range names {
		if text, ok := now[i].([]byte); ok {
			now[i] = string(text)
		}
		fields = append(fields, mapping.Field{Name: name, Was: now[i], Now: old[name]})
	}
	return t.recordOf(c.kind, c.subject, c.ref, fields)
}

// known makes sure that names out of the history are the names of this schema before they stand in a
// statement.
func (t *tx) known(kind string, names []string) error {
	columns, read := t.columns[kind]
	if !read {
		var err error
		if columns, err = t.strings("SELECT name FROM pragma_table_info(?)", kind); err != nil {
			return err
		}
		if t.columns == nil {
			t.columns = map[string][]string{}
		}
		t.columns[kind] = columns
	}
	if len(columns) == 0 {
		return fmt.Errorf("the history speaks of %q, which this schema has not", kind)
	}
	for _, name := range names {
		if !slices.Contains(columns, name) {
			return fmt.Errorf("the history speaks of %s.%q, which this schema has not", kind, name)
		}
	}
	return nil
}
