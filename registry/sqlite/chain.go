package sqlite

import (
	"context"
	"database/sql"
	"errors"

	"pitman/registry/chain"
	"pitman/registry/sqlite/verify"
)

// lastLink is the end of the chain; of an empty one, a link of number 0.
func (r *reader) lastLink() (l verify.Link, err error) {
	s, err := r.prepare("SELECT id, action, change, note, sum FROM link ORDER BY id DESC LIMIT 1")
	if err != nil {
		return l, err
	}
	err = s.QueryRowContext(context.WithoutCancel(r.ctx)).Scan(&l.ID, &l.Action, &l.Change, &l.Note, &l.Sum)
	if errors.Is(err, sql.ErrNoRows) {
		err = nil
	}
	return l, err
}

// linking is a link that is being made.
type linking struct {
	sum     *chain.Hasher
	last    verify.Link
	reached verify.Link // of the actions and changes that are summed up, the last
}

// beginLink begins the link over all that came since the last one.
func (r *reader) beginLink() (*linking, error) {
	last, err := r.lastLink()
	if err != nil {
		return nil, err
	}
	rows, err := verify.Follow(source{r}, last)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	l := &linking{sum: chain.New(last.Sum), last: last}
	l.reached, err = rows.AddTo(l.sum, nil, nil)
	return l, err
}

// add sums up one more change, as it is stored.
func (l *linking) add(c verify.ChangeRow) {
	l.sum.Change(c.ID, c.Action, c.Kind, c.Ref, c.Subject, c.Fields, c.Marks)
	l.reached.Change = c.ID
}

// endLink stores the link.
func (r *reader) endLink(l *linking, note string) error {
	next := l.last.ID + 1
	return r.insertLink(verify.Link{ID: next, Note: note, Action: max(l.last.Action, l.reached.Action),
		Change: max(l.last.Change, l.reached.Change), Sum: l.sum.Sum(next, note)})
}

// appendLink makes the link over all that came since the last one. It is the last step of each transaction
// that writes history.
func (r *reader) appendLink(note string) error {
	l, err := r.beginLink()
	if err != nil {
		return err
	}
	return r.endLink(l, note)
}

func (r *reader) insertLink(l verify.Link) error {
	_, err := r.exec("INSERT INTO link (id, action, change, note, sum) VALUES (?, ?, ?, ?, ?)", l.ID,
		l.Action,
		l.Change, l.Note, l.Sum)
	return err
}
