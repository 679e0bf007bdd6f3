package sqlite

import (
	"database/sql"
	"errors"
	"reflect"
	"strings"

	"github.com/mattn/go-sqlite3"

	"pitman/registry"
	"pitman/registry/kinds"
	"pitman/registry/sqlite/mapping"
	"pitman/registry/sqlite/value"
)

// adopted finds an action by its origin, along the index of those that have one, or by its number.
const adopted = "SELECT id, at, by, verb FROM action WHERE origin <> '' AND origin = ?1 OR origin = '' AND " +
	"id = ?2"

// Adopt looks for the action under its origin, or under its own number when it was done in this house.
func (t *tx) Adopt(a *registry.Action) (id int64, err error) {
	at := a.At.UTC().Format(mapping.Stamp)
	s, err := t.prepare(adopted)
	if err != nil {
		return 0, err
	}
	var have [3]string
	err = s.QueryRowContext(t.ctx, a.Origin, a.ID).Scan(&id, &have[0], &have[1], &have[2])
	switch {
	case err == nil && have == [3]string{at, string(a.By), a.Verb}:
		return id, nil
	case err == nil, errors.Is(err, sql.ErrNoRows) && a.ID != 0:
		return 0, registry.Errorf(registry.Conflict,
			"the bundle tells of %q by %s as action %s, and this house does not: it may come from a house "+
				"with the same letters; give one of them others",
			a.Verb, a.By, a.Origin)
	case !errors.Is(err, sql.ErrNoRows):
		return 0, err
	}
	copied := *a
	err = t.insertAction(&copied)
	return copied.ID, err
}

func (t *tx) Replay(c *registry.Change) error {
	rec := kinds.New(c.Kind)
	if rec == nil {
		return registry.Errorf(registry.Invalid,
			"the bundle has a record of kind %.40q, which this program does not know: install a newer one",
			c.Kind)
	}
	v := reflect.ValueOf(rec).Elem()
	m := mapping.Of(v.Type())
	before := make([]any, len(m.Columns))
	if c.Ref != 0 {
		var err error
		if before, err = t.stored(rec, m, c.Ref); err != nil {
			return err
		}
		if err := m.Fill(v, before); err != nil {
			return err
		}
	}
	var fields []mapping.Field
	told := make([]*mapping.Field, len(m.Columns)) // the one of each column, where there is one
	for i, col := range m.Columns {
		values, ok := c.Fields[col.Name]
		if !ok || col.Name == "id" {
			continue
		}
		after, err := value.Native(col.In(v).Type(), values[1])
		if err == nil {
			err = col.Load(v, after)
		}
		if err != nil {
			return registry.Errorf(registry.Invalid,
				"the bundle has %s %.60v for a %s of %s: ask for a new one", col.Name, values[1], c.Kind,
				c.Subject)
		}
		told[i] = &mapping.Field{Name: col.Name, Was: before[i], Now: after}
		fields = append(fields, *told[i])
	}
	if len(fields) != len(c.Fields) {
		return newer(c.Kind)
	}
	if rec.Subject() != c.Subject {
		return registry.Errorf(registry.Invalid,
			"the bundle has a %s of %.40q in the history of %s: ask for a new one", c.Kind, rec.Subject(),
			c.Subject)
	}
	now, err := m.Values(v)
	if err != nil {
		return err
	}
	for i, col := range m.Columns {
		if told[i] == nil {
			continue
		}
		if col.JSON && !value.Holds(now[i], told[i].Now) {
			return newer(c.Kind)
		}
		now[i] = told[i].Now // as it was told, so that both houses keep the same history
	}
	err = t.rewrite(rec, m, c, now, fields)
	var refused sqlite3.Error
	if errors.As(err, &refused) && refused.Code == sqlite3.ErrConstraint {
		return registry.Errorf(registry.Invalid,
			"the bundle has a %s of %s that cannot be (%v): ask for a new one", c.Kind, c.Subject, refused)
	}
	return err
}

// newer refuses what another house keeps of a record and this program would lose.
func newer(kind string) error {
	return registry.Errorf(registry.Invalid,
		"the bundle was made by a newer version: it has fields of a %s that this program does not know: "+
			"install the newer one", kind)
}

// rewrite stores the record, and the change as it was told.
func (t *tx) rewrite(rec registry.Record, m *mapping.Table, c *registry.Change, now []any,
	fields []mapping.Field) (err error) {
	t.latest = row{}
	if c.Ref == 0 {
		if c.Ref, err = t.insertRow(rec.Kind(), m, now); err != nil {
			return err
		}
	} else {
		var set []string
		var args []any
		for _, f := range fields {
			set = append(set, f.Name+" = ?")
			args = append(args, f.Now)
		}
		if len(set) > 0 {
			if _, err := t.exec("UPDATE "+rec.Kind()+" SET "+strings.Join(set, ", ")+" WHERE id = ?",
				append(args, c.Ref)...); err != nil {
				return err
			}
		}
	}
	return t.recordUnder(c.Action, c.Kind, c.Subject, c.Ref, fields, c.Forgotten)
}
