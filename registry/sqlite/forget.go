package sqlite

import (
	"context"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"time"

	"pitman/registry"
	"pitman/registry/kinds"
	"pitman/registry/sqlite/blank"
	"pitman/registry/sqlite/mapping"
	"pitman/registry/sqlite/turn"
	"pitman/registry/stock"
)

// Forget puts the texts out of the records, of their history and of the index of texts. What the records
// still say is told as a change, like any other.
func (t *tx) Forget(cut func(column, text string) (rest string, found bool)) (f stock.Forgotten, err error) {
	is := func(text string) bool { _, found := cut("", text); return found }
	found, err := blank.Find(source{t.reader}, is, kinds.Personal)
	if err != nil {
		return f, err
	}
	f = stock.Forgotten{Since: found.Since, Open: found.Open, Settings: found.Settings}
	type cutOut struct {
		kind, subject, column, rest string
		id                          int64
	}
	var texts []cutOut
	for _, fresh := range kinds.All {
		rec := fresh()
		v := reflect.ValueOf(rec).Elem()
		m := mapping.Of(v.Type())
		err := t.walk(v, "SELECT "+m.List+" FROM "+rec.Kind(), nil, func() error {
			for _, c := range m.Columns {
				field := c.In(v)
				if c.JSON || field.Kind() != reflect.String {
					continue
				}
				rest, is := cut(c.Name, field.String())
				if is && kinds.Personal(rec.Kind(), c.Name) {
					texts = append(texts,
						cutOut{rec.Kind(), rec.Subject(), c.Name, rest, registry.RowOf(rec).ID})
				}
			}
			return nil
		})
		if err != nil {
			return f, err
		}
	}
	for _, c := range found.Changes {
		f.Lines += len(c.Sides)
	}
	if f.Lines += len(found.Actions) + len(found.Decisions); f.Lines+len(texts) == 0 {
		return f, nil
	}
	last, err := t.lastLink()
	if err == nil {
		err = t.begin()
	}
	if err == nil {
		t.note, err = found.PutOut(source{t.reader}, last.ID+1)
	}
	if err != nil {
		return f, err
	}
	for _, c := range texts {
		if _, err := t.exec("UPDATE "+c.kind+" SET "+c.column+" = ? WHERE id = ?", c.rest, c.id); err != nil {
			return f, err
		}
		if c.rest != "" {
			if err := t.recordOf(c.kind, c.subject, c.id,
				[]mapping.Field{{Name: c.column, Was: "", Now: c.rest}}); err != nil {
				return f, err
			}
		}
		f.Records++
		if !slices.Contains(f.Subjects, c.subject) {
			f.Subjects = append(f.Subjects, c.subject)
		}
	}
	t.latest = row{}
	return f, blank.Texts(source{t.reader})
}

// Scrub clears the file of what was put out of it: SQLite leaves old bytes where a row has been, and in its
// log.
func (db *DB) Scrub(ctx context.Context) error {
	if _, err := db.sql.ExecContext(ctx, "VACUUM"); err != nil {
		return db.explain(err)
	}
	conn, err := db.sql.Conn(ctx)
	if err != nil {
		return db.explain(err)
	}
	defer conn.Close()
	var told [3]int // whether it could, and of how many pages
	for began := time.Now(); ; time.Sleep(20 * time.Millisecond) {
		// SQLite calls it no error where others read, and waits for them as it would for a writer.
		if _, err = conn.ExecContext(ctx, "PRAGMA busy_timeout = 0"); err == nil {
			err = conn.QueryRowContext(ctx, "PRAGMA wal_checkpoint (TRUNCATE)").Scan(&told[0], &told[1],
				&told[2])
		}
		_, again := conn.ExecContext(context.WithoutCancel(ctx),
			fmt.Sprintf("PRAGMA busy_timeout = %d", turn.Busy.Milliseconds()))
		if err = errors.Join(err, again); err == nil && told[0] == 0 {
			return nil
		}
		if err != nil && ctx.Err() == nil {
			return db.explain(err)
		}
		if ctx.Err() != nil || time.Since(began) > readersEnd {
			return registry.Errorf(registry.Conflict, "another program is reading it")
		}
	}
}

// readersEnd is how long another program may go on reading.
const readersEnd = 5 * time.Second
