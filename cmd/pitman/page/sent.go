package page

import (
	"errors"

	"pitman/registry/sent"
)

// sending is the visit as an action of the registry sees it: with the key of the form, and what the person
// had seen.
func (v *visit) sending(key, subject string, seen int64) *visit {
	with := *v
	with.Request = v.Request.WithContext(sent.With(v.ctx(),
		sent.Form{Key: key, Subject: subject, Seen: seen}))
	return &with
}

func isSentBefore(err error) bool {
	var before *sent.Before
	return errors.As(err, &before)
}

const sentTwice = "That had been sent before: it is kept once."

// once takes a form that was sent twice for done.
func once(err error, p *shelfPage) error {
	if isSentBefore(err) {
		p.Said = sentTwice
		return nil
	}
	return err
}
