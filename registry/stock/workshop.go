package stock

import (
	"context"
	"errors"
	"time"

	"pitman/registry"
	"pitman/registry/sent"
)

// Rows reads a list; a workshop that was given none has an empty one.
func Rows[T any](read func() ([]T, error)) ([]T, error) {
	if read == nil {
		return nil, nil
	}
	return read()
}

type proofKey struct{}

// WithProof lets what is done in this context be signed by this proof.
func WithProof(ctx context.Context, proof any) context.Context {
	return context.WithValue(ctx, proofKey{}, proof)
}

// Act runs fn as one action.
func (w *Stock) Act(ctx context.Context, by registry.Initials, verb, why string, fn func(Tx) error) error {
	form := sent.By(ctx)
	return w.act(ctx, by, verb, why, func(a *registry.Action) error {
		a.Sent = form.Key
		return w.Store.Update(ctx, a, func(tx Tx) error {
			if err := form.Check(tx); err != nil {
				return err
			}
			if err := fn(tx); err != nil || w.Beside == nil {
				return err
			}
			return w.Beside(ctx, tx)
		})
	})
}

// ActInTurns runs fn until it says that it has ended, as one action that others need not wait for.
func (w *Stock) ActInTurns(ctx context.Context, by registry.Initials, verb, why string,
	fn func(Tx) (ended bool, err error)) error {
	return w.act(ctx, by, verb, why, func(a *registry.Action) error { return w.Store.InTurns(ctx, a, fn) })
}

// ErrTakenBack says of what was broken off that a part of it had come in, and is taken back.
var ErrTakenBack = errors.New("what had come in is taken back")

// NoneComingIn refuses what cannot be done while something comes in in turns, in records that nobody sees
// yet.
func NoneComingIn(r Reader) error {
	a, err := r.ComingIn()
	if err != nil || a == nil {
		return err
	}
	return registry.Errorf(registry.Conflict,
		"%s of %s by %s is still coming in: wait until it is through, then do this again", a.Verb, a.Why, a.By)
}

func (w *Stock) act(ctx context.Context, by registry.Initials, verb, why string,
	store func(*registry.Action) error) error {
	if w.Halted != nil {
		return w.Halted
	}
	if by == registry.Itself {
		return registry.Errorf(registry.Invalid,
			"initials %s stand for what the program does by itself: add a digit to yours", by)
	}
	why, err := registry.CleanText("why", why, registry.MaxNote)
	if err != nil {
		return err
	}
	var a *registry.Action
	once := func(proof any) error {
		a = &registry.Action{At: w.Now().UTC().Truncate(time.Millisecond), By: by, Verb: verb, Why: why,
			Proof: proof}
		return store(a)
	}
	// Nobody is waited for with the registry locked: what is signed is tried, and done again with the
	// signature.
	err = once(ctx.Value(proofKey{}))
	if err != nil && w.Prove != nil {
		var proof any
		if proof, err = w.Prove(ctx, err); err == nil {
			err = once(proof)
		}
	}
	if err != nil {
		return err
	}
	w.doneAt(a.At)
	if a.NewPerson && w.Welcome != nil {
		w.Welcome(by)
	}
	if a.Unsigned != "" && w.Unsigned != nil {
		w.Unsigned(a.Unsigned)
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
