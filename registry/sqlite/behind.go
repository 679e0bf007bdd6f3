package sqlite

import (
	"context"

	"pitman/registry/sqlite/behind"
)

// WriteBehind makes the rest of the transaction store its rows in the background: half of an import's work is
// SQLite's, and a second processor can do it.
func (t *tx) WriteBehind() {
	if t.behind == nil {
		t.behind = behind.New()
		t.ahead = ahead{map[string]int64{}, map[string]int64{}, map[string]bool{}}
	}
}

// ahead is what is known before it is stored: the last number of each table, and of each counter.
type ahead struct {
	ids, counters map[string]int64
	owed          map[string]bool // counters that went on since they were stored
}

// end leaves nobody behind that writes, before the transaction is kept or undone.
func (t *tx) end() {
	if t.behind != nil {
		t.behind.End()
		t.behind = nil
	}
}

// settle waits until all is stored that was put.
func (r *reader) settle() error {
	if r.behind == nil {
		return nil
	}
	for counter := range r.ahead.owed {
		if err := r.later("UPDATE counter SET value = ? WHERE name = ?", r.ahead.counters[counter],
			counter); err != nil {
			return err
		}
	}
	clear(r.ahead.owed)
	return r.behind.Settle()
}

// later runs a statement of whose result nothing is wanted: at once, or in the background once there is one.
func (r *reader) later(text string, args ...any) error {
	if r.behind == nil {
		_, err := r.exec(text, args...)
		return err
	}
	return r.behind.Do(func() error {
		s, err := r.conn.Prepare(r.ctx, text)
		if err != nil {
			return err
		}
		_, err = s.ExecContext(context.WithoutCancel(r.ctx), args...)
		return err
	})
}

// nextID is the number that SQLite would give the next row of a table, told before it is stored.
func (t *tx) nextID(kind string) (int64, error) {
	last, known := t.ahead.ids[kind]
	if !known {
		err := t.one("SELECT coalesce(max(id), 0) FROM "+kind, nil, &last)
		if err != nil {
			return 0, err
		}
	}
	t.ahead.ids[kind] = last + 1
	return last + 1, nil
}

// nextBehind counts on in memory; the last number is stored before anything is read.
func (t *tx) nextBehind(counter string) (int64, error) {
	n, known := t.ahead.counters[counter]
	if !known {
		if err := t.one("SELECT value FROM counter WHERE name = ?", []any{counter}, &n); err != nil {
			return 0, err
		}
	}
	n++
	t.ahead.counters[counter], t.ahead.owed[counter] = n, true
	return n, nil
}

// vouch makes the link over all that the transaction told.
func (t *tx) vouch() error {
	if t.link == nil {
		return t.appendLink(t.note)
	}
	if err := t.settle(); err != nil {
		return err
	}
	return t.endLink(t.link, t.note)
}
