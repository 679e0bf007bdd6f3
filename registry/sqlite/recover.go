package sqlite

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"reflect"
	"strings"
	"time"

	"github.com/mattn/go-sqlite3"

	"pitman/registry"
	"pitman/registry/chain"
	"pitman/registry/kinds"
	"pitman/registry/sqlite/blank"
	"pitman/registry/sqlite/mapping"
	"pitman/registry/sqlite/turn"
	"pitman/registry/sqlite/value"
	"pitman/registry/sqlite/verify"
)

// A damaged registry is mended by taking what can be proved: link by link its chain is walked, from where a
// good one stands, and each link whose sum is right is done again there, with the same rows under the same
// numbers. The first one that is not ends it: nobody can say what was built on it.

// Unproved is an action that a damaged registry tells of and that could not be proved.
type Unproved struct {
	Action  int64             `json:"action"`
	At      string            `json:"at"`
	By      registry.Initials `json:"by"`
	Verb    string            `json:"verb"`
	Subject string            `json:"subject,omitempty"` // of its first change
}

// Damaged opens a copy of a registry file that may be damaged, as far as SQLite can read it.
func Damaged(path string) (*DB, error) { return connect(path, forWork()) }

// maxUnproved is how many actions that are not proved are told.
const maxUnproved = 1000

// TakeProved does again what the other registry proves behind the end of this one's chain. It returns how far
// that came, and what the other one tells of beyond it. An empty registry becomes the other one's.
func (db *DB) TakeProved(ctx context.Context, from *DB) (end chain.Head, beyond []Unproved, err error) {
	beyond = []Unproved{}
	err = db.within(ctx, turn.Writing, func(r *reader) error {
		return from.transaction(ctx, turn.Reading, func(other *reader) error {
			last, err := r.lastLink()
			if err != nil {
				return err
			}
			if last, err = r.become(other, last); err != nil {
				return err
			}
			proved, err := r.prove(other, last)
			if err != nil {
				return err
			}
			beyond, err = other.unproved(proved.Action)
			return err
		})
	})
	if err != nil {
		return end, beyond, err
	}
	end, err = db.Head(ctx)
	return end, beyond, err
}

// become makes an empty registry the other house's, and refuses one of another history.
func (r *reader) become(other *reader, last verify.Link) (verify.Link, error) {
	if last.Action == 0 && last.Change == 0 {
		var house string
		s, err := other.prepare("SELECT value FROM identity WHERE name = 'house'")
		if err == nil {
			err = s.QueryRowContext(r.ctx).Scan(&house)
		}
		if unreadable(err) || err != nil {
			return last, nothingProved()
		}
		if len(house) != 32 {
			return last, nothingProved()
		}
		for _, text := range []string{"DROP TRIGGER link_kept", "DELETE FROM link",
			"CREATE TRIGGER link_kept BEFORE DELETE ON link BEGIN SELECT RAISE (ABORT, 'history is " +
				"append-only'); END"} {
			if _, err := r.conn.ExecContext(r.ctx, text); err != nil {
				return last, err
			}
		}
		// The id comes from a file that anybody may have written, so it is a value and no part of a
		// statement.
		if _, err := r.exec("UPDATE identity SET value = ? WHERE name = 'house'", house); err != nil {
			return last, err
		}
		return verify.Link{}, nil
	}
	var sum string
	s, err := other.prepare("SELECT sum FROM link WHERE id = ?")
	if err == nil {
		err = s.QueryRowContext(r.ctx, last.ID).Scan(&sum)
	}
	switch {
	case unreadable(err), errors.Is(err, sql.ErrNoRows):
		return last, nothingProved()
	case err != nil:
		return last, err
	case sum != last.Sum:
		return last, registry.Errorf(registry.Conflict,
			"the damaged registry has another history than the backup: name a backup of the same house")
	}
	return last, nil
}

func nothingProved() error {
	return registry.Errorf(registry.Conflict, "the damaged registry proves nothing beyond the backup")
}

// unreadable says of an error whether the file is damaged there.
func unreadable(err error) bool {
	var broken sqlite3.Error
	return errors.As(err, &broken) &&
		(broken.Code == sqlite3.ErrCorrupt || broken.Code == sqlite3.ErrNotADB ||
			broken.Code == sqlite3.ErrError || broken.Code == sqlite3.ErrIoErr)
}

// prove walks the other one's chain behind a link, and does each link again whose sum is right.
func (r *reader) prove(other *reader, last verify.Link) (verify.Link, error) {
	links, err := other.query("SELECT id, action, change, note, sum FROM link WHERE id > ? ORDER BY id",
		last.ID)
	if err != nil {
		return last, ended(err)
	}
	defer links.Close()
	rows, err := verify.Follow(source{other}, last)
	if err != nil {
		return last, ended(err)
	}
	defer rows.Close()
	forgotten, err := verify.ReadForgotten(source{other})
	if err != nil {
		return last, ended(err)
	}
	for links.Next() {
		var next verify.Link
		if links.Scan(&next.ID, &next.Action, &next.Change, &next.Note, &next.Sum) != nil {
			return last, nil
		}
		h := chain.New(last.Sum)
		var told verify.Covered
		_, err := rows.AddTo(h, &next, &told)
		if err != nil || next.ID != last.ID+1 || !forgotten.Proves(next, h.Sum(next.ID, next.Note)) {
			return last, ended(err)
		}
		forgot := strings.HasPrefix(next.Note, verify.Forgot)
		if forgot {
			if whole, err := blank.Told(source{other}, next.ID, next.Note); err != nil || !whole {
				return last, ended(err)
			}
		}
		if err := r.doAgain(told); err != nil {
			return last, err
		}
		if err := r.insertLink(next); err != nil {
			return last, err
		}
		if err := r.takeDecision(other, next.Note); err != nil {
			return last, err
		}
		if forgot {
			if err := blank.Again(source{r}, source{other}, next.ID); err != nil {
				return last, err
			}
		}
		last = next
	}
	return last, ended(links.Err())
}

// ForgottenBeyond names whose texts the other registry tells that it forgot, and this one has still.
func (db *DB) ForgottenBeyond(ctx context.Context, from *DB) (subjects []string, err error) {
	var theirs *verify.Forgotten
	err = from.transaction(ctx, turn.Reading, func(r *reader) (err error) {
		theirs, err = verify.ReadForgotten(source{r})
		return err
	})
	if err != nil || theirs == nil {
		return nil, ended(err)
	}
	err = db.transaction(ctx, turn.Reading, func(r *reader) error {
		subjects, err = blank.Missed(source{r}, theirs)
		return err
	})
	return subjects, err
}

// ended takes damage for an end of what can be read.
func ended(err error) error {
	if unreadable(err) {
		return nil
	}
	return err
}

// doAgain stores rows of a history as they stood, and what they did to the records.
func (r *reader) doAgain(told verify.Covered) error {
	for _, a := range told.Actions {
		if _, err := r.exec("INSERT INTO person (initials, since) VALUES (?, ?) ON CONFLICT DO NOTHING", a.By,
			a.At); err != nil {
			return err
		}
		undoes := sql.NullInt64{Int64: a.Undoes, Valid: a.Undoes != 0}
		if _, err := r.exec("INSERT INTO action (id, at, by, verb, why, undoes, origin, mark) VALUES "+
			"(?, ?, ?, ?, ?, ?, ?, ?)",
			a.ID, a.At, a.By, a.Verb, a.Why, undoes, a.Origin, a.Mark); err != nil {
			return err
		}
	}
	for _, c := range told.Changes {
		if _, err := r.exec("INSERT INTO change (id, action, kind, ref, subject, fields, marks) VALUES "+
			"(?, ?, ?, ?, ?, ?, ?)",
			c.ID, c.Action, c.Kind, c.Ref, c.Subject, c.Fields, c.Marks); err != nil {
			return err
		}
		if err := r.setRecord(c.Kind, c.Ref, c.Fields); err != nil {
			return err
		}
	}
	return nil
}

// setRecord does to a record what a change tells.
func (r *reader) setRecord(kind string, ref int64, text string) error {
	rec := kinds.New(kind)
	if rec == nil {
		return registry.Errorf(registry.Conflict,
			"the damaged registry has records of kind %.40q: install the newer version that made it", kind)
	}
	var fields map[string][2]any
	d := json.NewDecoder(bytes.NewReader([]byte(text)))
	d.UseNumber()
	if err := d.Decode(&fields); err != nil {
		return err
	}
	v := reflect.ValueOf(rec).Elem()
	m := mapping.Of(v.Type())
	values, err := m.Values(v) // what a record has that no change mentions
	if err != nil {
		return err
	}
	set, args := "", []any{}
	for i, col := range m.Columns {
		if col.Name == "id" {
			values[i] = ref
		}
		told, ok := fields[col.Name]
		if !ok {
			continue
		}
		if values[i], err = value.Native(col.In(v).Type(), told[1]); err != nil {
			return err
		}
		set += ", " + col.Name + " = ?"
		args = append(args, values[i])
	}
	if set == "" {
		return nil
	}
	result, err := r.exec("UPDATE "+kind+" SET "+set[2:]+" WHERE id = ?", append(args, ref)...)
	if err != nil {
		return err
	}
	if n, err := result.RowsAffected(); err != nil || n > 0 {
		return err
	}
	marks := bytes.Repeat([]byte("?, "), len(m.Columns))
	_, err = r.exec("INSERT INTO "+kind+" ("+m.List+") VALUES ("+string(marks[:len(marks)-2])+")", values...)
	return err
}

// takeDecision takes over what house.toml said, if a link vouches for it.
func (r *reader) takeDecision(other *reader, note string) error {
	if len(note) < len(verify.Decided) || note[:len(verify.Decided)] != verify.Decided {
		return nil
	}
	said, err := verify.ReadDecisions(source{other})
	for _, d := range said { // as far as they could be read
		if d.Note() == note {
			_, err := r.exec("INSERT INTO decisions (at, text, mark) VALUES (?, ?, ?)", d.At, d.Text, d.Mark)
			return err
		}
	}
	return ended(err)
}

// unproved lists the actions behind a number, as far as they can be read.
func (r *reader) unproved(after int64) ([]Unproved, error) {
	out := []Unproved{}
	rows, err := r.query("SELECT id, at, by, verb, coalesce((SELECT subject FROM change WHERE action = "+
		"action.id LIMIT 1), '') FROM action WHERE id > ? ORDER BY id LIMIT ?", after, maxUnproved)
	if err != nil {
		return out, ended(err)
	}
	defer rows.Close()
	for rows.Next() {
		var u Unproved
		if rows.Scan(&u.Action, &u.At, &u.By, &u.Verb, &u.Subject) != nil {
			return out, nil
		}
		out = append(out, u)
	}
	return out, ended(rows.Err())
}

// TakeKeys takes over the house's key and the keys that it trusts, from a registry that may be damaged. No
// chain vouches for them.
func (db *DB) TakeKeys(ctx context.Context, from *DB) error {
	rows, err := from.sql.QueryContext(ctx,
		"SELECT name, value FROM identity WHERE name NOT IN ('house', 'schema')")
	if err != nil {
		return ended(err)
	}
	defer rows.Close()
	for rows.Next() {
		var name, value string
		if rows.Scan(&name, &value) != nil {
			return nil
		}
		if _, err := db.sql.ExecContext(ctx, "INSERT INTO identity VALUES (?, ?) ON CONFLICT DO NOTHING",
			name, value); err != nil {
			return db.explain(err)
		}
	}
	return ended(rows.Err())
}

// CountersAbove makes the counters at least as high as what the records have.
func (db *DB) CountersAbove(ctx context.Context) error {
	return db.within(ctx, turn.Writing, func(r *reader) error {
		for _, raise := range verify.RaiseCounters() {
			if _, err := r.exec(raise); err != nil {
				return err
			}
		}
		return nil
	})
}

// Mended notes in the chain that the registry was put together anew.
func (db *DB) Mended(ctx context.Context, at time.Time) error { return db.branch(ctx, "repaired", at) }
