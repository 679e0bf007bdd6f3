package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"pitman/registry/chain"
)

// link is one link of the chain, as it is stored.
type link struct {
	id, action, change int64
	note, sum          string
}

// lastLink is the end of the chain; of an empty one, a link of number 0.
func (r *reader) lastLink() (l link, err error) {
	s, err := r.prepare("SELECT id, action, change, note, sum FROM link ORDER BY id DESC LIMIT 1")
	if err != nil {
		return l, err
	}
	err = s.QueryRowContext(context.WithoutCancel(r.ctx)).Scan(&l.id, &l.action, &l.change, &l.note, &l.sum)
	if errors.Is(err, sql.ErrNoRows) {
		err = nil
	}
	return l, err
}

// appendLink makes the link over all that came since the last one. It is the last step of each transaction
// that writes history.
func (r *reader) appendLink(note string) error {
	last, err := r.lastLink()
	if err != nil {
		return err
	}
	rows, err := r.follow(last)
	if err != nil {
		return err
	}
	defer rows.close()
	next := link{id: last.id + 1, action: last.action, change: last.change, note: note}
	h := chain.New(last.sum)
	if err := rows.addTo(h, nil, &next); err != nil {
		return err
	}
	_, err = r.exec("INSERT INTO link (id, action, change, note, sum) VALUES (?, ?, ?, ?, ?)", next.id,
		next.action, next.change, note,
		h.Sum(next.id, note))
	return err
}

// follow reads the actions and changes behind a link.
func (r *reader) follow(l link) (*followed, error) {
	actions, err := r.query("SELECT id, at, by, verb, why, coalesce(undoes, 0), origin FROM action WHERE "+
		"id > ? ORDER BY id", l.action)
	if err != nil {
		return nil, err
	}
	changes, err := r.query("SELECT id, action, kind, ref, subject, fields FROM change WHERE id > ? ORDER "+
		"BY id", l.change)
	if err != nil {
		return nil, errors.Join(err, actions.Close())
	}
	return &followed{actions: actions, changes: changes}, nil
}

// followed reads both in step with the links, each one row ahead.
type followed struct {
	actions, changes *rows
	a, c             bool // a row is read and waits

	action actionRow
	change changeRow
}

// actionRow is an action as it is stored.
type actionRow struct {
	id, undoes                int64
	at, by, verb, why, origin string
}

// changeRow is a change as it is stored.
type changeRow struct {
	id, action, ref       int64
	kind, subject, fields string
}

func (f *followed) close() {
	f.actions.Close()
	f.changes.Close()
}

// addTo adds the rows up to the link until, or all there are, and keeps the numbers of the last ones in
// reached.
func (f *followed) addTo(h *chain.Hasher, until, reached *link) error {
	for {
		ok, err := f.nextAction()
		if err != nil {
			return err
		}
		a := &f.action
		if !ok || until != nil && a.id > until.action {
			break
		}
		h.Action(a.id, a.at, a.by, a.verb, a.why, a.undoes, a.origin)
		reached.action, f.a = a.id, false
	}
	for {
		ok, err := f.nextChange()
		if err != nil {
			return err
		}
		c := &f.change
		if !ok || until != nil && c.id > until.change {
			return nil
		}
		h.Change(c.id, c.action, c.kind, c.ref, c.subject, c.fields)
		reached.change, f.c = c.id, false
	}
}

func (f *followed) nextAction() (bool, error) {
	if f.a {
		return true, nil
	}
	if !f.actions.Next() {
		return false, f.actions.Err()
	}
	a := &f.action
	f.a = true
	return true, f.actions.Scan(&a.id, &a.at, &a.by, &a.verb, &a.why, &a.undoes, &a.origin)
}

func (f *followed) nextChange() (bool, error) {
	if f.c {
		return true, nil
	}
	if !f.changes.Next() {
		return false, f.changes.Err()
	}
	c := &f.change
	f.c = true
	return true, f.changes.Scan(&c.id, &c.action, &c.kind, &c.ref, &c.subject, &c.fields)
}

// chain walks the chain. Each link is held against the stored one before it, so a break is told where it is,
// and once.
func (v *verification) chain() error {
	if err := v.walk(link{}); err != nil {
		return err
	}
	return v.decisions()
}

// maxChanges is how many changes a look at the end of the chain goes back over.
const maxChanges = 5000

// chainEnd walks the last links.
func (v *verification) chainEnd() error {
	last, err := v.lastLink()
	if err != nil {
		return err
	}
	s, err := v.prepare("SELECT id, action, change, note, sum FROM link WHERE id < ?1 AND change <= ?2 - " +
		"?3 ORDER BY id " +
		"DESC LIMIT 1")
	if err != nil {
		return err
	}
	var from link
	err = s.QueryRowContext(v.ctx, last.id, last.change, int64(maxChanges)).Scan(&from.id, &from.action,
		&from.change,
		&from.note, &from.sum)
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return err
	}
	return v.walk(from)
}

// walk holds each link behind this one against what it covers.
func (v *verification) walk(last link) error {
	links, err := v.query("SELECT id, action, change, note, sum FROM link WHERE id > ? ORDER BY id", last.id)
	if err != nil {
		return err
	}
	defer links.Close()
	rows, err := v.follow(last)
	if err != nil {
		return err
	}
	defer rows.close()
	for links.Next() {
		var l link
		if err := links.Scan(&l.id, &l.action, &l.change, &l.note, &l.sum); err != nil {
			return err
		}
		h := chain.New(last.sum)
		var reached link
		if err := rows.addTo(h, &l, &reached); err != nil {
			return err
		}
		if l.id != last.id+1 || h.Sum(l.id, l.note) != l.sum {
			v.fault(spanOf(last, l), mendRestore,
				"is not what was recorded: something in it, or before it, was changed, taken out or put in")
		}
		last = l
	}
	if err := links.Err(); err != nil {
		return err
	}
	if last.id == 0 {
		v.fault("history", mendRestore, "has no chain that vouches for it")
	}
	var beyond link
	if err := rows.addTo(chain.New(""), nil, &beyond); err != nil {
		return err
	}
	if beyond.action != 0 || beyond.change != 0 {
		v.fault("history", mendRestore,
			"goes on behind the end of its chain, at action %d: another program wrote there",
			max(beyond.action, last.action))
	}
	return nil
}

func spanOf(last, l link) string {
	switch {
	case l.action > last.action+1:
		return fmt.Sprintf("actions %d to %d", last.action+1, l.action)
	case l.action == last.action+1:
		return fmt.Sprintf("action %d", l.action)
	}
	return fmt.Sprintf("link %d of the history", l.id)
}

// decisions holds what house.toml said against the links that vouch for it.
func (v *verification) decisions() error {
	texts, err := v.strings("SELECT text FROM decisions ORDER BY id")
	if err != nil {
		return err
	}
	notes, err := v.strings("SELECT note FROM link WHERE note LIKE ? ORDER BY id", decided+"%")
	if err != nil {
		return err
	}
	for i := range max(len(texts), len(notes)) {
		if i >= len(texts) || i >= len(notes) || noteOf(texts[i]) != notes[i] {
			v.fault("house.toml", mendRestore, "what the registry remembers of it is not what was recorded")
			break
		}
	}
	return nil
}
