package sqlite

import (
	"context"
	"database/sql"
	"reflect"

	"pitman/registry"
	"pitman/registry/sqlite/behind"
	"pitman/registry/sqlite/mapping"
	"pitman/registry/sqlite/statement"
	"pitman/registry/stock"
)

// reader reads within one transaction.
type reader struct {
	ctx  context.Context
	conn *statement.Conn

	behind *behind.Queue // what stores rows in the background; nil where each is stored at once
	ahead  ahead         // what is known before it is stored there
}

// prepare compiles a text that is to be run at once, after all that is still to be stored.
func (r *reader) prepare(text string) (*statement.Statement, error) {
	if err := r.ctx.Err(); err != nil {
		return nil, err
	}
	if err := r.settle(); err != nil {
		return nil, err
	}
	return r.conn.Prepare(r.ctx, text)
}

// query and exec look at the context before each statement, and do not hand it down: to watch over a
// statement, the driver starts a goroutine for each, which costs more than a look-up does.
func (r *reader) query(text string, args ...any) (*statement.Rows, error) {
	s, err := r.prepare(text)
	if err != nil {
		return nil, err
	}
	return s.Query(context.WithoutCancel(r.ctx), args...)
}

func (r *reader) exec(text string, args ...any) (sql.Result, error) {
	s, err := r.prepare(text)
	if err != nil {
		return nil, err
	}
	return s.ExecContext(context.WithoutCancel(r.ctx), args...)
}

// one reads a row that is always there.
func (r *reader) one(text string, args []any, into ...any) error {
	s, err := r.prepare(text)
	if err != nil {
		return err
	}
	return s.QueryRowContext(context.WithoutCancel(r.ctx), args...).Scan(into...)
}

// walk fills the record v with each row of a SELECT over its columns in turn, and calls fn after each.
func (r *reader) walk(v reflect.Value, text string, args []any, fn func() error) error {
	rows, err := r.query(text, args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	scan := r.scanner(mapping.Of(v.Type()))
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

// scanner moves rows into records, with one set of buffers for all rows.
type scanner struct {
	ctx    context.Context // a long list can be broken off between two rows
	table  *mapping.Table
	values []any
	slots  []any
}

func (r *reader) scanner(t *mapping.Table) *scanner {
	s := &scanner{ctx: r.ctx, table: t, values: make([]any, len(t.Columns)),
		slots: make([]any, len(t.Columns))}
	for i := range s.values {
		s.slots[i] = &s.values[i]
	}
	return s
}

func (s *scanner) into(rows *statement.Rows, v reflect.Value) error {
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
	return s.table.Fill(v, s.values)
}

func (r *reader) Get(rec registry.Record, fields stock.Fields) error {
	_, err := r.get(rec, fields)
	return err
}

// get also returns the values as they are stored.
func (r *reader) get(rec registry.Record, fields stock.Fields) ([]any, error) {
	v := reflect.ValueOf(rec).Elem()
	t := mapping.Of(v.Type())
	condition, args := mapping.Where(fields)
	rows, err := r.query(mapping.OldestFirst(t.List, rec.Kind(), condition)+" LIMIT 1", args...)
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

func (r *reader) All(dst any, fields stock.Fields) error {
	list := reflect.ValueOf(dst).Elem()
	typ := list.Type().Elem()
	t := mapping.Of(typ)
	kind := reflect.New(typ).Interface().(registry.Record).Kind()
	condition, args := mapping.Where(fields)
	list.SetLen(0)
	v := reflect.New(typ).Elem()
	return r.walk(v, mapping.OldestFirst(t.List, kind, condition), args, func() error {
		list.Set(reflect.Append(list, v))
		return nil
	})
}

func (r *reader) Each(rec registry.Record, fn func() error) error {
	v := reflect.ValueOf(rec).Elem()
	return r.walk(v, "SELECT "+mapping.Of(v.Type()).List+" FROM "+rec.Kind()+" WHERE struck = 0 ORDER BY id",
		nil, fn)
}
