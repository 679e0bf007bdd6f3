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

// appendLink makes the link over all that came since the last one. It is the last step of each transaction
// that writes history.
func (r *reader) appendLink(note string) error {
	last, err := r.lastLink()
	if err != nil {
		return err
	}
	rows, err := verify.Follow(source{r}, last)
	if err != nil {
		return err
	}
	defer rows.Close()
	h := chain.New(last.Sum)
	reached, err := rows.AddTo(h, nil, nil)
	if err != nil {
		return err
	}
	next := last.ID + 1
	return r.insertLink(verify.Link{ID: next, Note: note, Action: max(last.Action, reached.Action),
		Change: max(last.Change, reached.Change), Sum: h.Sum(next, note)})
}

func (r *reader) insertLink(l verify.Link) error {
	_, err := r.exec("INSERT INTO link (id, action, change, note, sum) VALUES (?, ?, ?, ?, ?)", l.ID,
		l.Action,
		l.Change, l.Note, l.Sum)
	return err
}
