package verify

import (
	"bytes"
	"encoding/json"
	"fmt"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"pitman/registry"
)

// The history is the registry's second account of itself: replayed from the first change on, it must end at
// the rows as they stand. Both are read in step, by kind and row number, so that a house of any size is
// checked in little memory.

// history replays every record's changes and compares the end with the row.
func (v *Verification) history() error {
	changed, err := Strings(v, "SELECT DISTINCT kind FROM change")
	if err != nil {
		return err
	}
	for _, kind := range changed {
		if _, there := v.tables[kind]; !there {
			v.Fault(kind, MendRestore, "has a history but no table")
		}
	}
	kinds, err := v.inUse(changed)
	if err != nil {
		return err
	}
	chained, err := columnOrEmpty(v, "link", "note")
	if err == nil && chained == "note" {
		v.comingIn, err = InTurns(v)
	}
	if err != nil {
		return err
	}
	for _, kind := range kinds {
		if err := v.replayKind(kind); err != nil {
			return fmt.Errorf("%s: %w", kind, err)
		}
	}
	return nil
}

// inUse names the kinds that have a record or a change: most houses never use all of them.
func (v *Verification) inUse(changed []string) (kinds []string, err error) {
	var empty []string
	for _, kind := range v.tables.records() {
		if slices.Contains(changed, kind) {
			kinds = append(kinds, kind)
		} else {
			empty = append(empty, "SELECT '"+kind+"' WHERE EXISTS (SELECT 1 FROM "+kind+")")
		}
	}
	if len(empty) == 0 {
		return kinds, nil
	}
	filled, err := Strings(v, strings.Join(empty, " UNION ALL "))
	kinds = append(kinds, filled...)
	slices.Sort(kinds)
	return kinds, err
}

func (v *Verification) replayKind(kind string) error {
	changesOf, rowsOf, args, err := v.scope(kind)
	if err != nil {
		return err
	}
	rows, err := v.Query("SELECT * FROM "+kind+rowsOf+" ORDER BY id", args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	changes, err := v.Query("SELECT ref, subject, fields, action FROM change"+changesOf+" ORDER BY ref, id",
		args...)
	if err != nil {
		return err
	}
	defer changes.Close()
	told := &replay{rows: changes}
	if err := told.step(); err != nil {
		return err
	}
	now, err := newStanding(rows)
	if err != nil {
		return err
	}
	for now.next() {
		for !told.done && told.ref < now.id {
			v.Fault(told.subject, MendRestore, "its history tells of %s %d, which is not there", kind,
				told.ref)
			if err := told.step(); err != nil {
				return err
			}
		}
		if told.done || told.ref != now.id {
			v.Fault(fmt.Sprintf("%s %d", kind, now.id), MendRestore,
				"is there, but no history tells how it came")
			continue
		}
		v.compare(kind, told, now)
		if err := told.step(); err != nil {
			return err
		}
	}
	for !told.done {
		v.Fault(told.subject, MendRestore, "its history tells of %s %d, which is not there", kind, told.ref)
		if err := told.step(); err != nil {
			return err
		}
	}
	return now.err
}

// scope says which changes and rows of a kind are looked at: all, or those of some subjects.
func (v *Verification) scope(kind string) (changes, rows string, args []any, err error) {
	if v.Only == nil {
		return " WHERE kind = ?1", " WHERE ?1 <> ''", []any{kind}, nil
	}
	subjects, err := json.Marshal(v.Only)
	of := " WHERE kind = ?1 AND subject IN (SELECT value FROM json_each (?2))"
	return of, " WHERE id IN (SELECT ref FROM change" + of + ")", []any{kind, string(subjects)}, err
}

// compare says where a row is not what its history tells.
func (v *Verification) compare(kind string, told *replay, now *standing) {
	if told.damage != nil {
		v.Fault(told.subject, MendRestore, "its history of %s %d cannot be read: %v", kind, now.id,
			told.damage)
		return
	}
	for _, column := range []string{"tag", "number"} {
		if own, ok := told.end[column].(string); ok && own != told.subject {
			told.subject, told.strays = own, append(told.strays, told.subject)
		}
	}
	for _, stray := range told.strays {
		v.Fault(told.subject, MendRestore,
			"a change of its %s %d is filed under %q, where nobody looks for it", kind, now.id, stray)
	}
	for _, name := range told.gaps {
		v.Fault(told.subject, MendRestore,
			"a change is missing in its history, or stands there twice: %s of %s %d does not follow", name,
			kind, now.id)
	}
	for i, name := range now.columns {
		value := now.values[i]
		if text, ok := value.([]byte); ok {
			value = string(text)
		}
		want, mentioned := told.end[name]
		if name == "struck" && v.comingIn != 0 && told.action == v.comingIn {
			want, mentioned = json.Number("1"), true // until all of it is there
		}
		switch {
		case name == "id":
		case !mentioned && (IsZero(value) || fmt.Sprint(value) == v.tables[kind][name]):
			// never set, or the column came later than the record
		case !mentioned:
			v.Fault(told.subject, mendField, "%s of %s %d is %q, but no history tells who set it", name, kind,
				now.id, fmt.Sprint(value))
		case !sameStored(value, want):
			v.Fault(told.subject, mendField, "%s of %s %d is %q, but its history ends with %q", name, kind,
				now.id, fmt.Sprint(value), fmt.Sprint(want))
		}
	}
}

var mendField = Remedy{"somebody changed the registry's file by other means: find out which value is right " +
	"and correct it here (to another value and back where it reads right already), or " + MendRestore.Say,
	append([]registry.NextStep{registry.Next(registry.DoAmend, "")}, MendRestore.Next...)}

// replay reads the changes of one kind, record by record.
type replay struct {
	rows    Rows
	done    bool
	ref     int64
	action  int64 // that made it
	subject string
	end     map[string]any // the columns that changes set, as they left them
	damage  error          // a change that cannot be read
	strays  []string       // other subjects that changes are filed under
	gaps    []string       // columns whose changes do not follow from one another

	err         error
	ahead       bool // a change of the next record is read already
	nextRef     int64
	nextAction  int64
	nextSubject string
	nextFields  []byte
}

// step replays the next record.
func (p *replay) step() error {
	if !p.ahead && !p.read() {
		p.done = true
		return p.err
	}
	p.ref, p.action, p.subject, p.end = p.nextRef, p.nextAction, p.nextSubject, map[string]any{}
	p.damage, p.strays, p.gaps = nil, nil, nil
	for {
		var fields map[string][2]any
		d := json.NewDecoder(bytes.NewReader(p.nextFields))
		d.UseNumber()
		if err := d.Decode(&fields); err != nil {
			p.damage = err
		}
		for name, values := range fields {
			// a damaged history can hold anything
			if was, ok := p.end[name]; ok && !reflect.DeepEqual(was, values[0]) {
				p.gaps = append(p.gaps, name)
			}
			p.end[name] = values[1]
		}
		if p.nextSubject != p.subject {
			p.strays = append(p.strays, p.nextSubject)
		}
		if p.ahead = p.read(); !p.ahead || p.nextRef != p.ref {
			return p.err
		}
	}
}

func (p *replay) read() bool {
	if !p.rows.Next() {
		p.err = p.rows.Err()
		return false
	}
	p.err = p.rows.Scan(&p.nextRef, &p.nextSubject, &p.nextFields, &p.nextAction)
	return p.err == nil
}

// standing reads the rows of one kind as they stand.
type standing struct {
	rows    Rows
	columns []string
	values  []any
	slots   []any
	idAt    int
	id      int64
	err     error
}

func newStanding(rows Rows) (*standing, error) {
	columns, err := rows.Columns()
	if err != nil {
		return nil, err
	}
	s := &standing{rows: rows, columns: columns, values: make([]any, len(columns)),
		slots: make([]any, len(columns))}
	for i, name := range columns {
		s.slots[i] = &s.values[i]
		if name == "id" {
			s.idAt = i
		}
	}
	return s, nil
}

func (s *standing) next() bool {
	if !s.rows.Next() {
		s.err = s.rows.Err()
		return false
	}
	if s.err = s.rows.Scan(s.slots...); s.err != nil {
		return false
	}
	s.id, _ = s.values[s.idAt].(int64)
	return true
}

// sameStored compares a stored value with one that was kept as JSON.
func sameStored(value, told any) bool {
	if number, ok := told.(json.Number); ok {
		switch v := value.(type) {
		case int64:
			return number.String() == strconv.FormatInt(v, 10)
		case float64:
			f, err := number.Float64()
			return err == nil && f == v
		}
		return false
	}
	return value == told
}

// IsZero says that a stored value is the one of a field that nobody ever set.
func IsZero(stored any) bool {
	switch stored {
	case nil, "", "[]", "{}", int64(0), float64(0):
		return true
	}
	return false
}
