package stock

import (
	"context"
	"time"

	"pitman/registry"
)

// Rows reads a list; a workshop that was given none has an empty one.
func Rows[T any](read func() ([]T, error)) ([]T, error) {
	if read == nil {
		return nil, nil
	}
	return read()
}

// Act runs fn as one action.
func (w *Stock) Act(ctx context.Context, by registry.Initials, verb, why string, fn func(Tx) error) error {
	if w.Halted != nil {
		return w.Halted
	}
	why, err := registry.CleanText("why", why, registry.MaxNote)
	if err != nil {
		return err
	}
	sent := sentBy(ctx)
	a := &registry.Action{At: w.Now().UTC().Truncate(time.Millisecond), By: by, Verb: verb, Why: why,
		Sent: sent.Key}
	err = w.Store.Update(ctx, a, func(tx Tx) error {
		if err := sent.check(tx); err != nil {
			return err
		}
		return fn(tx)
	})
	if err != nil {
		return err
	}
	w.doneAt(a.At)
	if a.NewPerson && w.Welcome != nil {
		w.Welcome(by)
	}
	return nil
}

// LocalDay is the day of a time in the house's zone; empty when there is none.
func (w *Stock) LocalDay(at time.Time) string {
	if at.IsZero() {
		return ""
	}
	return at.In(w.Location()).Format(time.DateOnly)
}
