package pin

import (
	"context"
	"math"
	"time"

	"pitman/registry"
	"pitman/registry/pin/hash"
	"pitman/registry/sent"
	"pitman/registry/stock"
)

// slowest is the longest that anybody waits after wrong PINs.
const slowest = 30 * time.Second

// delay is how long to wait after so many wrong ones.
func delay(wrong int) time.Duration {
	if wrong < 1 {
		return 0
	}
	return min(time.Second<<min(wrong-1, 5), slowest)
}

// Give tries a person's PIN. After a wrong one, which stands in history, the next is taken later each time.
func (w *Pins) Give(ctx context.Context, who registry.Initials, typed string) (*Proof, error) {
	read, err := Read(typed)
	if err != nil {
		return nil, err
	}
	ctx = sent.With(ctx, sent.Form{}) // the form's key is that of what it signs
	right, wait, err := w.turn(ctx, who)
	switch {
	case err != nil:
		return nil, err
	case right == "":
		return nil, nobodys(who, "what a PIN is asked for")
	case wait > 0:
		return nil, registry.Errorf(registry.Conflict,
			"the PIN of %s was wrong before, or is being tried elsewhere: try again in %v s", who,
			math.Ceil(wait.Seconds())).On("pin")
	case !hash.Matches(right, read):
		if err := w.wrong(ctx, who); err != nil {
			return nil, err
		}
		return nil, registry.Errorf(registry.Conflict,
			"that is not the PIN of %s: try again, after a pause that grows; who forgot it asks a "+
				"coordinator of the house for another", who).On("pin")
	}
	return &Proof{who, right, w.Now()}, w.plainly(ctx, who, func(k *kept) {
		if k.Hash == right {
			k.Row, k.Next = 0, time.Time{}
		}
	})
}

// Wait says how long it is until a person's PIN is taken; zero when it is now.
func (w *Pins) Wait(ctx context.Context, who registry.Initials) (wait time.Duration, err error) {
	err = w.Store.View(ctx, func(r stock.Reader) error {
		k, _, err := of(r, who)
		wait = k.wait(w.Now())
		return err
	})
	return wait, err
}

// turn takes the turn to try a PIN, unless it is too early. It counts as a wrong one until it proves right,
// so that nothing is won by trying many at once or by breaking off.
func (w *Pins) turn(ctx context.Context, who registry.Initials) (hash string, wait time.Duration, err error) {
	err = w.plainly(ctx, who, func(k *kept) {
		now := w.Now()
		hash, wait = k.Hash, k.wait(now)
		switch {
		case hash == "":
		case wait > 0:
			k.Next = now.Add(wait) // the same, but where the clock was set back
		default:
			k.Row++
			k.Next = now.Add(delay(k.Row))
		}
	})
	return hash, wait, err
}

// wait is never longer than what so many wrong ones cost: the clock may have been set back by years.
func (k *kept) wait(now time.Time) time.Duration {
	return max(0, min(k.Next.Sub(now), delay(k.Row)))
}

// plainly changes a person's secret, which is no action of history.
func (w *Pins) plainly(ctx context.Context, who registry.Initials, change func(*kept)) error {
	if w.Halted != nil {
		return w.Halted
	}
	a := &registry.Action{At: w.Now().UTC().Truncate(time.Millisecond), By: who, Verb: "PIN"}
	return w.Store.Update(ctx, a, func(tx stock.Tx) error {
		k, _, err := of(tx, who)
		if err != nil {
			return err
		}
		before := k
		if change(&k); k == before {
			return nil
		}
		return keep(tx, who, k)
	})
}

// record reads what history knows of a person's PIN; an empty one when it knows nothing.
func record(r stock.Reader, who registry.Initials) (*Record, error) {
	rec := &Record{}
	err := r.Get(rec, stock.Fields{"who": string(who)})
	if registry.CodeOf(err) == registry.NotFound {
		return &Record{Who: who}, nil
	}
	return rec, err
}

func (w *Pins) wrong(ctx context.Context, who registry.Initials) error {
	return w.Act(ctx, who, registry.VerbPINWrong, "", func(tx stock.Tx) error {
		rec, err := record(tx, who)
		if err != nil {
			return err
		}
		rec.Wrong++
		return tx.Put(rec)
	})
}
