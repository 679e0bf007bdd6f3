package sqlite

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"reflect"
	"slices"
	"strings"

	"pitman/registry"
)

// reader reads within one transaction.
type reader struct {
	ctx        context.Context
	conn       *sql.Conn
	statements map[string]*sql.Stmt // each text is compiled once a transaction, which counts when it repeats 100,000 times
}

func (r *reader) close() {
	for _, s := range r.statements {
		s.Close()
	}
}

func (r *reader) prepare(text string) (*sql.Stmt, error) {
	if err := r.ctx.Err(); err != nil {
		return nil, err
	}
	if s, ok := r.statements[text]; ok {
		return s, nil
	}
	s, err := r.conn.PrepareContext(r.ctx, text)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", text, err)
	}
	r.statements[text] = s
	return s, nil
}

// query and exec look at the context before each statement, and do not hand it down: to watch over a statement, the driver starts a
// goroutine for each, which costs more than a look-up does.
func (r *reader) query(text string, args ...any) (*sql.Rows, error) {
	s, err := r.prepare(text)
	if err != nil {
		return nil, err
	}
	return s.QueryContext(context.WithoutCancel(r.ctx), args...)
}

func (r *reader) exec(text string, args ...any) (sql.Result, error) {
	s, err := r.prepare(text)
	if err != nil {
		return nil, err
	}
	return s.ExecContext(context.WithoutCancel(r.ctx), args...)
}

// each calls fn with every record of a SELECT over the columns of one type; the record is used again for the next.
func each[T any](r *reader, text string, args []any, fn func(*T) error) error {
	rows, err := r.query(text, args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	var rec T
	v := reflect.ValueOf(&rec).Elem()
	scan := r.scanner(tableOf(v.Type()))
	for rows.Next() {
		v.SetZero()
		if err := scan.into(rows, v); err != nil {
			return err
		}
		if err := fn(&rec); err != nil {
			return err
		}
	}
	return rows.Err()
}

// scanner moves rows into records, with one set of buffers for all rows.
type scanner struct {
	ctx    context.Context // a long list can be broken off between two rows
	table  *table
	values []any
	slots  []any
}

func (r *reader) scanner(t *table) *scanner {
	s := &scanner{ctx: r.ctx, table: t, values: make([]any, len(t.columns)), slots: make([]any, len(t.columns))}
	for i := range s.values {
		s.slots[i] = &s.values[i]
	}
	return s
}

func (s *scanner) into(rows *sql.Rows, v reflect.Value) error {
	if err := s.ctx.Err(); err != nil {
		return err
	}
	if err := rows.Scan(s.slots...); err != nil {
		return err
	}
	for i, value := range s.values {
		if text, ok := value.([]byte); ok {
			s.values[i] = string(text)
		}
	}
	return s.table.fill(v, s.values)
}

// where turns fields into a condition, in an order that does not change. That a text is not empty, and what is yes or no, stands in the
// condition itself: SQLite takes an index over a part of the rows only if it sees that no row outside that part is wanted.
func where(fields registry.Fields) (string, []any) {
	names := make([]string, 0, len(fields))
	for name := range fields {
		names = append(names, name)
	}
	slices.Sort(names)
	args := make([]any, 0, len(names))
	condition := "struck = 0"
	for _, name := range names {
		switch v := reflect.ValueOf(fields[name]); v.Kind() {
		case reflect.Bool:
			yes, _ := store(v, false)
			condition += fmt.Sprintf(" AND %s = %d", name, yes)
		case reflect.String:
			condition += " AND " + name + " = ?"
			if args = append(args, v.String()); v.Len() > 0 {
				condition += " AND " + name + " <> ''"
			}
		default:
			condition += " AND " + name + " = ?"
			args = append(args, fields[name])
		}
	}
	return condition, args
}

// oldestFirst selects by a condition of equalities. The order stands apart from the condition, because SQLite compiles a statement anew each
// time it is run when the value of a parameter could matter for its order, and that takes ten times as long as the look-up.
func oldestFirst(columns, kind, condition string) string {
	return "SELECT " + columns + " FROM " + kind + " WHERE id IN (SELECT id FROM " + kind + " WHERE " + condition + ") ORDER BY id"
}

func (r *reader) Get(rec registry.Record, fields registry.Fields) error {
	_, err := r.get(rec, fields)
	return err
}

// get also returns the values as they are stored.
func (r *reader) get(rec registry.Record, fields registry.Fields) ([]any, error) {
	v := reflect.ValueOf(rec).Elem()
	t := tableOf(v.Type())
	condition, args := where(fields)
	rows, err := r.query(oldestFirst(t.list, rec.Kind(), condition)+" LIMIT 1", args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	if !rows.Next() {
		if err := rows.Err(); err != nil {
			return nil, err
		}
		return nil, registry.Errorf(registry.NotFound, "there is no such %s in this house", rec.Kind())
	}
	scan := r.scanner(t)
	return scan.values, scan.into(rows, v)
}

func (r *reader) All(dst any, fields registry.Fields) error {
	list := reflect.ValueOf(dst).Elem()
	typ := list.Type().Elem()
	t := tableOf(typ)
	kind := reflect.New(typ).Interface().(registry.Record).Kind()
	condition, args := where(fields)
	rows, err := r.query(oldestFirst(t.list, kind, condition), args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	list.SetLen(0)
	scan := r.scanner(t)
	for rows.Next() {
		v := reflect.New(typ).Elem()
		if err := scan.into(rows, v); err != nil {
			return err
		}
		list.Set(reflect.Append(list, v))
	}
	return rows.Err()
}

func (r *reader) Each(rec registry.Record, fn func() error) error {
	v := reflect.ValueOf(rec).Elem()
	t := tableOf(v.Type())
	rows, err := r.query("SELECT " + t.list + " FROM " + rec.Kind() + " WHERE struck = 0 ORDER BY id")
	if err != nil {
		return err
	}
	defer rows.Close()
	scan := r.scanner(t)
	for rows.Next() {
		v.SetZero()
		if err := scan.into(rows, v); err != nil {
			return err
		}
		if err := fn(); err != nil {
			return err
		}
	}
	return rows.Err()
}

// tx writes, under one action.
type tx struct {
	*reader
	action  *registry.Action
	written bool // the action's row is there

	// latest is the row read last, which is the one that most actions change; nobody else can change it meanwhile.
	latest row
}

// row is one row as it is stored.
type row struct {
	kind   string
	id     int64
	values []any
}

// Get reads, and keeps the row at hand for Put.
func (t *tx) Get(rec registry.Record, fields registry.Fields) error {
	values, err := t.get(rec, fields)
	if err == nil {
		t.latest = row{rec.Kind(), registry.RowOf(rec).ID, values}
	}
	return err
}

func (t *tx) Action() *registry.Action { return t.action }

func (t *tx) NextNumber() (int64, error) { return t.next("tag") }
func (t *tx) NextOrder() (int64, error)  { return t.next("order") }

func (t *tx) next(counter string) (n int64, err error) {
	// Two statements: RETURNING would take ten times as long, since SQLite keeps what is returned in a table of its own.
	if _, err := t.exec("UPDATE counter SET value = value + 1 WHERE name = ?", counter); err != nil {
		return 0, err
	}
	s, err := t.prepare("SELECT value FROM counter WHERE name = ?")
	if err != nil {
		return 0, err
	}
	return n, s.QueryRowContext(context.WithoutCancel(t.ctx), counter).Scan(&n)
}

func (t *tx) NumberGiven(n int64) error {
	_, err := t.exec("UPDATE counter SET value = max(value, ?) WHERE name = 'tag'", n)
	return err
}

func (t *tx) Put(rec registry.Record) error {
	v := reflect.ValueOf(rec).Elem()
	m := tableOf(v.Type())
	now, err := m.values(v)
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
	fields := map[string][2]any{}
	var set []string
	var args []any
	for i, c := range m.columns {
		if now[i] != before[i] {
			fields[c.name] = [2]any{before[i], now[i]}
			set = append(set, c.name+" = ?")
			args = append(args, now[i])
		}
	}
	if len(set) == 0 {
		return nil
	}
	if _, err := t.exec("UPDATE "+rec.Kind()+" SET "+strings.Join(set, ", ")+" WHERE id = ?", append(args, id)...); err != nil {
		return err
	}
	return t.record(rec, id, fields)
}

func (t *tx) insert(rec registry.Record, m *table, now []any) (err error) {
	fields := map[string][2]any{}
	for i, c := range m.columns {
		if c.name != "id" && !isZero(now[i]) {
			fields[c.name] = [2]any{nil, now[i]}
		}
	}
	row := registry.RowOf(rec)
	if row.ID, err = t.insertRow(rec.Kind(), m, now); err != nil {
		return err
	}
	return t.record(rec, row.ID, fields)
}

// insertRow stores a new row and returns its number.
func (t *tx) insertRow(kind string, m *table, now []any) (int64, error) {
	marks := strings.TrimSuffix(strings.Repeat("?, ", len(m.columns)), ", ")
	for i, c := range m.columns {
		if c.name == "id" {
			now[i] = nil
		}
	}
	result, err := t.exec("INSERT INTO "+kind+" ("+m.list+") VALUES ("+marks+")", now...)
	if err != nil {
		return 0, err
	}
	return result.LastInsertId()
}

func isZero(stored any) bool {
	switch stored {
	case nil, "", "[]", "{}", int64(0), float64(0):
		return true
	}
	return false
}

func (t *tx) stored(rec registry.Record, m *table, id int64) ([]any, error) {
	rows, err := t.query("SELECT "+m.list+" FROM "+rec.Kind()+" WHERE id = ?", id)
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

// record keeps a change in the history, and with the first one the action and whoever acts for the first time.
func (t *tx) record(rec registry.Record, id int64, fields map[string][2]any) error {
	return t.recordOf(rec.Kind(), rec.Subject(), id, fields)
}

func (t *tx) recordOf(kind, subject string, id int64, fields map[string][2]any) error {
	if err := t.begin(); err != nil {
		return err
	}
	return t.recordUnder(t.action.ID, kind, subject, id, fields)
}

// recordUnder keeps a change under an action that is stored already.
func (t *tx) recordUnder(action int64, kind, subject string, id int64, fields map[string][2]any) error {
	text, err := json.Marshal(fields)
	if err != nil {
		return err
	}
	_, err = t.exec("INSERT INTO change (action, kind, ref, subject, fields) VALUES (?, ?, ?, ?, ?)", action, kind, id, subject, string(text))
	if err != nil {
		return err
	}
	return t.indexText(kind, id, fields)
}

func (t *tx) begin() error {
	if t.written {
		return nil
	}
	a := t.action
	at := a.At.UTC().Format(stamp)
	result, err := t.exec("INSERT INTO person (initials, since) VALUES (?, ?) ON CONFLICT DO NOTHING", string(a.By), at)
	if err != nil {
		return err
	}
	fresh, err := result.RowsAffected()
	if err != nil {
		return err
	}
	a.NewPerson = fresh == 1
	undoes := sql.NullInt64{Int64: a.Undoes, Valid: a.Undoes != 0}
	result, err = t.exec("INSERT INTO action (at, by, verb, why, undoes) VALUES (?, ?, ?, ?, ?)", at, string(a.By), a.Verb, a.Why, undoes)
	if err != nil {
		return err
	}
	t.written = true
	a.ID, err = result.LastInsertId()
	return err
}
