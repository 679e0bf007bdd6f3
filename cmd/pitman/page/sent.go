package page

import (
	"errors"

	"pitman/registry/stock"
)

// sending is the visit as an action of the registry sees it: with the key of the form, and what the person
// had seen.
func (v *visit) sending(key, subject string, seen int64) *visit {
	sent := *v
	sent.Request = v.Request.WithContext(stock.WithSent(v.ctx(),
		stock.Sent{Key: key, Subject: subject, Seen: seen}))
	return &sent
}

func isSentBefore(err error) bool {
	var before *stock.SentBefore
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
