// Package salvage takes out of a damaged registry what can be proved: link by link its chain is walked, from
// where a good one stands, and each link whose sum is right is done again there, with the same rows under the
// same numbers. The first one that is not ends it: nobody can say what was built on it.
package salvage

import (
	"bytes"
	"database/sql"
	"encoding/json"
	"errors"
	"reflect"
	"strings"

	"github.com/mattn/go-sqlite3"

	"pitman/registry"
	"pitman/registry/chain"
	"pitman/registry/kinds"
	"pitman/registry/sqlite/blank"
	"pitman/registry/sqlite/mapping"
	"pitman/registry/sqlite/value"
	"pitman/registry/sqlite/verify"
)

// Taker is the registry that takes what is proved.
type Taker interface {
	blank.Writer
	LastLink() (verify.Link, error)
	InsertLink(verify.Link) error
}

// Take does again what the other registry proves behind the end of this one's chain, and returns what it
// tells of beyond that. An empty registry becomes the other one's.
func Take(into Taker, from verify.Source) ([]Unproved, error) {
	last, err := into.LastLink()
	if err != nil {
		return nil, err
	}
	if last, err = become(into, from, last); err != nil {
		return nil, err
	}
	if last, err = prove(into, from, last); err != nil {
		return nil, err
	}
	return unproved(from, last.Action)
}

// Unproved is an action that a damaged registry tells of and that could not be proved.
type Unproved struct {
	Action  int64             `json:"action"`
	At      string            `json:"at"`
	By      registry.Initials `json:"by"`
	Verb    string            `json:"verb"`
	Subject string            `json:"subject,omitempty"` // of its first change
}

// maxUnproved is how many actions that are not proved are told.
const maxUnproved = 1000

// become makes an empty registry the other house's, and refuses one of another history.
func become(into Taker, from verify.Source, last verify.Link) (verify.Link, error) {
	if last.Action == 0 && last.Change == 0 {
		var house string
		err := verify.Row(from, "SELECT value FROM identity WHERE name = 'house'", nil, &house)
		if err != nil || len(house) != 32 {
			return last, nothingProved()
		}
		for _, text := range []string{"DROP TRIGGER link_kept", "DELETE FROM link",
			"CREATE TRIGGER link_kept BEFORE DELETE ON link BEGIN SELECT RAISE (ABORT, 'history is " +
				"append-only'); END"} {
			if err := into.Exec(text); err != nil {
				return last, err
			}
		}
		// The id comes from a file that anybody may have written, so it is a value and no part of a
		// statement.
		return verify.Link{}, into.Exec("UPDATE identity SET value = ? WHERE name = 'house'", house)
	}
	var sum string
	err := verify.Row(from, "SELECT sum FROM link WHERE id = ?", []any{last.ID}, &sum)
	switch {
	case unreadable(err), err == nil && sum == "":
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
func prove(into Taker, from verify.Source, last verify.Link) (verify.Link, error) {
	links, err := from.Query("SELECT id, action, change, note, sum FROM link WHERE id > ? ORDER BY id",
		last.ID)
	if err != nil {
		return last, Ended(err)
	}
	defer links.Close()
	rows, err := verify.Follow(from, last)
	if err != nil {
		return last, Ended(err)
	}
	defer rows.Close()
	forgotten, err := verify.ReadForgotten(from)
	if err != nil {
		return last, Ended(err)
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
			return last, Ended(err)
		}
		forgot := strings.HasPrefix(next.Note, verify.Forgot)
		if forgot {
			if whole, err := blank.Told(from, next.ID, next.Note); err != nil || !whole {
				return last, Ended(err)
			}
		}
		if err := doAgain(into, told); err != nil {
			return last, err
		}
		if err := into.InsertLink(next); err != nil {
			return last, err
		}
		if err := takeDecision(into, from, next.Note); err != nil {
			return last, err
		}
		if forgot {
			if err := blank.Again(into, from, next.ID); err != nil {
				return last, err
			}
		}
		last = next
	}
	return last, Ended(links.Err())
}

// Ended takes damage for an end of what can be read.
func Ended(err error) error {
	if unreadable(err) {
		return nil
	}
	return err
}

// doAgain stores rows of a history as they stood, and what they did to the records.
func doAgain(into Taker, told verify.Covered) error {
	for _, a := range told.Actions {
		if err := into.Exec("INSERT INTO person (initials, since) VALUES (?, ?) ON CONFLICT DO NOTHING", a.By,
			a.At); err != nil {
			return err
		}
		undoes := sql.NullInt64{Int64: a.Undoes, Valid: a.Undoes != 0}
		if err := into.Exec("INSERT INTO action (id, at, by, verb, why, undoes, origin, mark) VALUES "+
			"(?, ?, ?, ?, ?, ?, ?, ?)",
			a.ID, a.At, a.By, a.Verb, a.Why, undoes, a.Origin, a.Mark); err != nil {
			return err
		}
	}
	for _, c := range told.Changes {
		if err := into.Exec("INSERT INTO change (id, action, kind, ref, subject, fields, marks) VALUES "+
			"(?, ?, ?, ?, ?, ?, ?)",
			c.ID, c.Action, c.Kind, c.Ref, c.Subject, c.Fields, c.Marks); err != nil {
			return err
		}
		if err := setRecord(into, c.Kind, c.Ref, c.Fields); err != nil {
			return err
		}
	}
	return nil
}

// setRecord does to a record what a change tells.
func setRecord(into Taker, kind string, ref int64, text string) error {
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
	there, err := verify.Strings(into, "SELECT id FROM "+kind+" WHERE id = ?", ref)
	if err != nil {
		return err
	}
	if len(there) > 0 {
		return into.Exec("UPDATE "+kind+" SET "+set[2:]+" WHERE id = ?", append(args, ref)...)
	}
	marks := bytes.Repeat([]byte("?, "), len(m.Columns))
	return into.Exec("INSERT INTO "+kind+" ("+m.List+") VALUES ("+string(marks[:len(marks)-2])+")", values...)
}

// takeDecision takes over what house.toml said, if a link vouches for it.
func takeDecision(into Taker, from verify.Source, note string) error {
	if !strings.HasPrefix(note, verify.Decided) {
		return nil
	}
	said, err := verify.ReadDecisions(from)
	for _, d := range said { // as far as they could be read
		if d.Note() == note {
			return into.Exec("INSERT INTO decisions (at, text, mark) VALUES (?, ?, ?)", d.At, d.Text, d.Mark)
		}
	}
	return Ended(err)
}

// unproved lists the actions behind a number, as far as they can be read.
func unproved(from verify.Source, after int64) ([]Unproved, error) {
	out := []Unproved{}
	rows, err := from.Query("SELECT id, at, by, verb, coalesce((SELECT subject FROM change WHERE action = "+
		"action.id LIMIT 1), '') FROM action WHERE id > ? ORDER BY id LIMIT ?", after, maxUnproved)
	if err != nil {
		return out, Ended(err)
	}
	defer rows.Close()
	for rows.Next() {
		var u Unproved
		if rows.Scan(&u.Action, &u.At, &u.By, &u.Verb, &u.Subject) != nil {
			return out, nil
		}
		out = append(out, u)
	}
	return out, Ended(rows.Err())
}
