package verify

import (
	"errors"
	"fmt"

	"pitman/registry"
	"pitman/registry/chain"
)

// Link is one link of the chain, as it is stored.
type Link struct {
	ID, Action, Change int64
	Note, Sum          string
}

// Follow reads the actions and changes behind a link. A file of before has no marks.
func Follow(r Source, l Link) (*Followed, error) {
	marks, err := columnOrEmpty(r, "change", "marks")
	if err != nil {
		return nil, err
	}
	mark := marks // actions got theirs with them
	if marks == "marks" {
		mark = "mark"
	}
	actions, err := r.Query("SELECT id, at, by, verb, why, coalesce(undoes, 0), origin, "+mark+
		" FROM action WHERE id > ? ORDER BY id", l.Action)
	if err != nil {
		return nil, err
	}
	changes, err := r.Query("SELECT id, action, kind, ref, subject, fields, "+marks+
		" FROM change WHERE id > ? ORDER BY id", l.Change)
	if err != nil {
		return nil, errors.Join(err, actions.Close())
	}
	return &Followed{actions: actions, changes: changes}, nil
}

// columnOrEmpty is a column for a SELECT, or an empty text in its place where a file of before has none.
func columnOrEmpty(r Source, table, column string) (string, error) {
	there, err := Strings(r, "SELECT name FROM pragma_table_info (?) WHERE name = ?", table, column)
	if len(there) == 0 {
		return "''", err
	}
	return column, err
}

// Followed reads both in step with the links, each one row ahead.
type Followed struct {
	actions, changes Rows
	a, c             bool // a row is read and waits

	action ActionRow
	change ChangeRow

	forgotten int // texts, among those that were added
}

// ActionRow is an action as it is stored.
type ActionRow struct {
	ID, Undoes                int64
	At, By, Verb, Why, Origin string
	Mark                      string
}

// ChangeRow is a change as it is stored.
type ChangeRow struct {
	ID, Action, Ref       int64
	Kind, Subject, Fields string
	Marks                 string
}

// Covered are the actions and changes of one link.
type Covered struct {
	Actions []ActionRow
	Changes []ChangeRow
}

func (f *Followed) Close() {
	f.actions.Close()
	f.changes.Close()
}

// AddTo adds the rows up to the link until, or all there are, to the sum, and returns the numbers of the last
// ones: 0 where there was none. Whoever wants the rows themselves gives covered to put them in.
func (f *Followed) AddTo(h *chain.Hasher, until *Link, covered *Covered) (reached Link, err error) {
	for {
		ok, err := f.nextAction()
		if err != nil {
			return reached, err
		}
		a := &f.action
		if !ok || until != nil && a.ID > until.Action {
			break
		}
		h.Action(a.ID, a.At, a.By, a.Verb, a.Why, a.Undoes, a.Origin, a.Mark)
		if covered != nil {
			covered.Actions = append(covered.Actions, *a)
		}
		if chain.Count(" "+a.Mark) > 0 {
			f.forgotten++
		}
		reached.Action, f.a = a.ID, false
	}
	for {
		ok, err := f.nextChange()
		if err != nil {
			return reached, err
		}
		c := &f.change
		if !ok || until != nil && c.ID > until.Change {
			return reached, nil
		}
		h.Change(c.ID, c.Action, c.Kind, c.Ref, c.Subject, c.Fields, c.Marks)
		if covered != nil {
			covered.Changes = append(covered.Changes, *c)
		}
		f.forgotten += chain.Count(c.Marks)
		reached.Change, f.c = c.ID, false
	}
}

func (f *Followed) nextAction() (bool, error) {
	if f.a {
		return true, nil
	}
	if !f.actions.Next() {
		return false, f.actions.Err()
	}
	a := &f.action
	f.a = true
	return true, f.actions.Scan(&a.ID, &a.At, &a.By, &a.Verb, &a.Why, &a.Undoes, &a.Origin, &a.Mark)
}

func (f *Followed) nextChange() (bool, error) {
	if f.c {
		return true, nil
	}
	if !f.changes.Next() {
		return false, f.changes.Err()
	}
	c := &f.change
	f.c = true
	return true, f.changes.Scan(&c.ID, &c.Action, &c.Kind, &c.Ref, &c.Subject, &c.Fields, &c.Marks)
}

// SumOf is the sum of a link by what it covers as it stands now.
func SumOf(r Source, last, l Link) (string, error) {
	rows, err := Follow(r, last)
	if err != nil {
		return "", err
	}
	defer rows.Close()
	h := chain.New(last.Sum)
	_, err = rows.AddTo(h, &l, nil)
	return h.Sum(l.ID, l.Note), err
}

// chain walks the chain. Each link is held against the stored one before it, so a break is told where it is,
// and once.
func (v *Verification) chain() error {
	if err := v.walk(Link{}, true); err != nil {
		return err
	}
	if err := v.whose(); err != nil {
		return err
	}
	return v.decisions()
}

// whose holds the id of the house against the link that its history began with.
func (v *Verification) whose() error {
	other, err := Strings(v, `SELECT value FROM identity WHERE name = 'house' AND 'house ' || value IS NOT
		(SELECT note FROM link ORDER BY id LIMIT 1) AND EXISTS (SELECT 1 FROM link)`)
	for _, id := range other {
		v.Fault("house "+id, MendRestore, "is not the house that this history began in")
	}
	return err
}

// maxChanges is how many changes a look at the end of the chain goes back over.
const maxChanges = 5000

// chainEnd walks the last links.
func (v *Verification) chainEnd() error {
	last, err := v.link("SELECT id, action, change, note, sum FROM link ORDER BY id DESC LIMIT 1")
	if err != nil {
		return err
	}
	from, err := v.link("SELECT id, action, change, note, sum FROM link WHERE id < ?1 AND change <= ?2 - ?3 "+
		"ORDER BY id DESC LIMIT 1", last.ID, last.Change, int64(maxChanges))
	if err != nil {
		return err
	}
	return v.walk(from, false)
}

// link reads one link; where there is none, one of number 0.
func (v *Verification) link(text string, args ...any) (l Link, err error) {
	return l, Row(v, text, args, &l.ID, &l.Action, &l.Change, &l.Note, &l.Sum)
}

// walk holds each link behind this one against what it covers, and, of a whole chain, how many texts were
// forgotten against what it tells of them.
func (v *Verification) walk(last Link, all bool) error {
	told, err := v.Forgotten()
	if err != nil {
		return err
	}
	links, err := v.Query("SELECT id, action, change, note, sum FROM link WHERE id > ? ORDER BY id", last.ID)
	if err != nil {
		return err
	}
	defer links.Close()
	rows, err := Follow(v, last)
	if err != nil {
		return err
	}
	defer rows.Close()
	for links.Next() {
		var l Link
		if err := links.Scan(&l.ID, &l.Action, &l.Change, &l.Note, &l.Sum); err != nil {
			return err
		}
		h := chain.New(last.Sum)
		if _, err := rows.AddTo(h, &l, nil); err != nil {
			return err
		}
		if l.ID != last.ID+1 || !told.Proves(l, h.Sum(l.ID, l.Note)) {
			v.Fault(spanOf(last, l), MendRestore,
				"is not what was recorded: something in it, or before it, was changed, taken out or put in")
		}
		last = l
	}
	if err := links.Err(); err != nil {
		return err
	}
	if last.ID == 0 {
		v.Fault("history", MendRestore, "has no chain that vouches for it")
	}
	if all && told != nil && rows.forgotten != told.Texts {
		v.Fault("history", MendRestore, "%s %s put out of it, and it tells of %d that %s forgotten",
			registry.Counted(rows.forgotten, "text"), registry.Agree(rows.forgotten, "was", "were"),
			told.Texts, registry.Agree(told.Texts, "was", "were"))
	}
	beyond, err := rows.AddTo(chain.New(""), nil, nil)
	if err != nil {
		return err
	}
	if beyond.Action != 0 || beyond.Change != 0 {
		v.Fault("history", MendRestore,
			"goes on behind the end of its chain, at action %d: another program wrote there",
			max(beyond.Action, last.Action))
	}
	return nil
}

func spanOf(last, l Link) string {
	switch {
	case l.Action > last.Action+1:
		return fmt.Sprintf("actions %d to %d", last.Action+1, l.Action)
	case l.Action == last.Action+1:
		return fmt.Sprintf("action %d", l.Action)
	}
	return fmt.Sprintf("link %d of the history", l.ID)
}
