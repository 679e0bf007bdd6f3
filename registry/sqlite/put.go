package sqlite

import (
	"context"
	"database/sql"
	"fmt"
	"reflect"
	"strings"

	"pitman/registry"
	"pitman/registry/chain"
	"pitman/registry/kinds"
	"pitman/registry/sqlite/mapping"
	"pitman/registry/sqlite/turn"
	"pitman/registry/sqlite/verify"
	"pitman/registry/stock"
)

// tx writes, under one action.
type tx struct {
	*reader
	action  *registry.Action
	written bool   // the action's row is there
	begun   bool   // a change was stored under it
	told    bool   // something went into the history, for which the chain has to vouch
	note    string // what the link vouches for beside it

	// latest is the row read last, which is the one that most actions change; nobody else can change it
	// meanwhile.
	latest row

	fields []mapping.Field // of the row that is being made, to be used again for the next

	link *linking // over what is stored behind, where it is summed up meanwhile

	made      map[string]int64 // in a turn among several: of each kind, the first row that this one made
	withdrawn []string         // subjects of which nothing is to come in after all

	columns map[string][]string // of each kind that was asked for
}

// row is one row as it is stored.
type row struct {
	kind   string
	id     int64
	values []any
}

// Update runs fn in one transaction for the action; the action's row is written with the first change.
func (db *DB) Update(ctx context.Context, a *registry.Action, fn func(stock.Tx) error) error {
	return db.within(ctx, turn.Writing, func(r *reader) error {
		t := &tx{reader: r, action: a}
		defer t.end()
		if err := fn(t); err != nil {
			return err
		}
		if !t.told {
			return t.settle()
		}
		return t.vouch()
	})
}

// Get reads, and keeps the row at hand for Put.
func (t *tx) Get(rec registry.Record, fields stock.Fields) error {
	values, err := t.get(rec, fields)
	if err == nil {
		t.latest = row{rec.Kind(), registry.RowOf(rec).ID, values}
	}
	return err
}

func (t *tx) Action() *registry.Action { return t.action }

func (t *tx) NextNumber() (int64, error) { return t.Next("tag") }

func (t *tx) Next(counter string) (n int64, err error) {
	if t.behind != nil {
		return t.nextBehind(counter)
	}
	// Two statements: RETURNING would take ten times as long, since SQLite keeps what is returned in a table
	// of its own.
	if _, err := t.exec("UPDATE counter SET value = value + 1 WHERE name = ?", counter); err != nil {
		return 0, err
	}
	return n, t.one("SELECT value FROM counter WHERE name = ?", []any{counter}, &n)
}

func (t *tx) NumberGiven(n int64) error {
	_, err := t.exec("UPDATE counter SET value = max(value, ?) WHERE name = 'tag'", n)
	delete(t.ahead.counters, "tag") // it may be another now
	return err
}

func (t *tx) Put(rec registry.Record) error {
	v := reflect.ValueOf(rec).Elem()
	m := mapping.Of(v.Type())
	now, err := m.Values(v)
	if err != nil {
		return err
	}
	id := registry.RowOf(rec).ID
	if id == 0 {
		return t.insert(rec, m, now)
	}
	before := t.latest.values
	if t.latest.kind != rec.Kind() || t.latest.id != id {
		if before, err = t.stored(rec, m, id); err != nil {
			return err
		}
	} else {
		t.latest = row{} // it is about to be another
	}
	if first, own := t.made[rec.Kind()]; t.made != nil && (!own || id < first) {
		return fmt.Errorf("a turn changes %s %d, which it did not make and could not hide", rec.Kind(), id)
	}
	var fields []mapping.Field
	var set []string
	var args []any
	for _, i := range m.ByName {
		if c := m.Columns[i]; now[i] != before[i] {
			fields = append(fields, mapping.Field{Name: c.Name, Was: before[i], Now: now[i]})
			set = append(set, c.Name+" = ?")
			args = append(args, now[i])
		}
	}
	if len(set) == 0 {
		return nil
	}
	if _, err := t.exec("UPDATE "+rec.Kind()+" SET "+strings.Join(set, ", ")+" WHERE id = ?",
		append(args, id)...); err != nil {
		return err
	}
	return t.record(rec, id, fields)
}

func (t *tx) insert(rec registry.Record, m *mapping.Table, now []any) (err error) {
	fields := t.fields[:0]
	for _, i := range m.ByName {
		if c := m.Columns[i]; c.Name != "id" && !verify.IsZero(now[i]) {
			fields = append(fields, mapping.Field{Name: c.Name, Now: now[i]})
		}
	}
	t.fields = fields
	row := registry.RowOf(rec)
	if row.ID, err = t.insertRow(rec.Kind(), m, now); err != nil {
		return err
	}
	if _, before := t.made[rec.Kind()]; t.made != nil && !before {
		t.made[rec.Kind()] = row.ID
	}
	return t.record(rec, row.ID, fields)
}

// insertRow stores a new row and returns its number.
func (t *tx) insertRow(kind string, m *mapping.Table, now []any) (int64, error) {
	var id any // SQLite gives the number, but where it is needed before the row is stored
	if t.behind != nil {
		n, err := t.nextID(kind)
		if err != nil {
			return 0, err
		}
		id = n
	}
	for i, c := range m.Columns {
		if c.Name == "id" {
			now[i] = id
		}
	}
	values, args := mapping.Literals(now)
	text := "INSERT INTO " + kind + " (" + m.List + ") VALUES (" + values + ")"
	if n, ahead := id.(int64); ahead {
		return n, t.later(text, args...)
	}
	result, err := t.exec(text, args...)
	if err != nil {
		return 0, err
	}
	return result.LastInsertId()
}

func (t *tx) stored(rec registry.Record, m *mapping.Table, id int64) ([]any, error) {
	rows, err := t.query("SELECT "+m.List+" FROM "+rec.Kind()+" WHERE id = ?", id)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	if !rows.Next() {
		return nil, fmt.Errorf("%s %d is gone", rec.Kind(), id)
	}
	scan := t.scanner(m)
	if err := scan.into(rows, reflect.New(reflect.TypeOf(rec).Elem()).Elem()); err != nil {
		return nil, err
	}
	return scan.values, nil
}

// record keeps a change in the history, and with the first one the action and whoever acts for the first
// time.
func (t *tx) record(rec registry.Record, id int64, fields []mapping.Field) error {
	return t.recordOf(rec.Kind(), rec.Subject(), id, fields)
}

func (t *tx) recordOf(kind, subject string, id int64, fields []mapping.Field) error {
	if err := t.begin(); err != nil {
		return err
	}
	return t.recordUnder(t.action.ID, kind, subject, id, fields, nil)
}

// recordUnder keeps a change under an action that is stored already, and which of its texts came forgotten.
func (t *tx) recordUnder(action int64, kind, subject string, id int64, fields []mapping.Field,
	forgotten map[string][2]bool) error {
	text, err := mapping.Changes(fields)
	if err != nil {
		return err
	}
	t.told = true
	marks := chain.Seal(text, func(column string) bool { return kinds.Personal(kind, column) }, forgotten)
	change := verify.ChangeRow{Action: action, Kind: kind, Ref: id, Subject: subject, Fields: text,
		Marks: marks}
	if err := t.insertChange(change); err != nil {
		return err
	}
	return t.indexText(kind, id, fields)
}

// insertChange stores a change. SQLite gives its number, but where it is summed up as it is stored.
func (t *tx) insertChange(c verify.ChangeRow) error {
	columns, values := "action, kind, ref, subject, fields", "?, ?, ?, ?, ?"
	args := []any{c.Action, c.Kind, c.Ref, c.Subject, c.Fields}
	if c.Marks != "" {
		columns, values, args = columns+", marks", values+", ?", append(args, c.Marks)
	}
	if t.link != nil {
		var err error
		if c.ID, err = t.nextID("change"); err != nil {
			return err
		}
		columns, values, args = columns+", id", values+", ?", append(args, c.ID)
		t.link.add(c)
	}
	return t.later("INSERT INTO change ("+columns+") VALUES ("+values+")", args...)
}

// nextAction is null, for the next number, but in a house that was restored: other houses may know what it
// did since the backup by the numbers that would come next.
const nextAction = "(SELECT max(value, (SELECT max(id) FROM action)) + 1 FROM counter WHERE name = 'action')"

func (t *tx) begin() error {
	if t.begun {
		return nil
	}
	if !t.written {
		if err := t.insertAction(t.action); err != nil {
			return err
		}
		t.written = true
	}
	if t.begun = true; t.behind == nil {
		return nil
	}
	var err error
	t.link, err = t.beginLink()
	return err
}

// insertAction stores an action and, when there is none yet, the person who did it.
func (t *tx) insertAction(a *registry.Action) error {
	t.told, t.link = true, nil // which is not made over what comes after an action's changes
	at := a.At.UTC().Format(mapping.Stamp)
	result, err := t.exec("INSERT INTO person (initials, since) VALUES (?, ?) ON CONFLICT DO NOTHING",
		string(a.By), at)
	if err != nil {
		return err
	}
	fresh, err := result.RowsAffected()
	if err != nil {
		return err
	}
	a.NewPerson = fresh == 1
	undoes := sql.NullInt64{Int64: a.Undoes, Valid: a.Undoes != 0}
	mark := ""
	if a.Why != "" {
		mark = chain.NewSalt()
	}
	result, err = t.exec("INSERT INTO action (id, at, by, verb, why, undoes, origin, sent, mark) VALUES ("+
		nextAction+", ?, ?, ?, ?, ?, ?, ?, ?)",
		at, string(a.By), a.Verb, a.Why, undoes, a.Origin, a.Sent, mark)
	if err != nil {
		return err
	}
	a.ID, err = result.LastInsertId()
	return err
}
