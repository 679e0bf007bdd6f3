package sqlite

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"time"

	"pitman/registry"
	"pitman/registry/sqlite/turn"
	"pitman/registry/sqlite/verify"
	"pitman/registry/stock"
)

// pause is how long others have between two turns: they look about once a millisecond (turn.Begin).
const pause = 5 * time.Millisecond

// InTurns stores in many transactions what would keep others waiting in one. At the end of each turn all that
// it made is struck, so nobody meets it; the last one lets all of it in. What was begun and cannot go on is
// taken back, at the next start where the program was killed.
func (db *DB) InTurns(ctx context.Context, a *registry.Action,
	fn func(stock.Tx) (ended bool, err error)) error {
	release, err := db.hold()
	if errors.Is(err, turn.ErrHeld) {
		return db.View(ctx, func(r stock.Reader) error {
			if err := stock.NoneComingIn(r); err != nil {
				return err
			}
			return registry.Errorf(registry.Conflict,
				"another import has just begun: do this again when it is through")
		})
	}
	if err != nil {
		return err
	}
	defer release()
	since := time.Now()
	for begun := false; ; {
		ended, err := db.oneTurn(ctx, a, &begun, fn)
		if err != nil && begun { // where that fails, too, whoever opens the house or begins anew takes it back
			at := a.At.Add(time.Since(since)) // by the clock that the action was dated by
			back := db.takeBack(context.WithoutCancel(ctx), at)
			if back == nil && errors.Is(err, context.Canceled) {
				err = errors.Join(err, stock.ErrTakenBack)
			}
		}
		if err != nil || ended {
			return err
		}
		time.Sleep(pause)
	}
}

// hold says to other programs that this one is at it, or holds what broke off.
func (db *DB) hold() (release func(), err error) {
	release, err = turn.Hold(db.path)
	var at *fs.PathError
	if errors.As(err, &at) {
		err = registry.Errorf(registry.Conflict, "%s, which tells others of a long list that comes in, cannot be "+
			"opened (%v): see that none comes in, take it out of the house, and do it again", filepath.Base(at.Path),
			at.Err)
	}
	return release, err
}

func (db *DB) oneTurn(ctx context.Context, a *registry.Action, begun *bool,
	fn func(stock.Tx) (bool, error)) (ended bool, err error) {
	first := !*begun
	written := false
	err = db.within(ctx, turn.Writing, func(r *reader) error {
		if first {
			if err := stock.NoneComingIn(r); err != nil {
				return err
			}
		} else if in, err := verify.InTurns(source{r}); err != nil {
			return err
		} else if in != a.ID {
			return registry.Errorf(registry.Conflict, "%s was taken back by another program: do it again", a.Verb)
		}
		t := &tx{reader: r, action: a, written: !first, made: map[string]int64{}}
		defer t.end()
		if ended, err = fn(t); err != nil {
			return err
		}
		if err := t.settle(); err != nil {
			return err
		}
		written = t.written
		switch {
		case !ended && t.written:
			err = t.hide()
			if first {
				t.note = fmt.Sprint(verify.TurnsBegun, a.ID)
			}
		case ended && !first:
			err = t.letIn(a.ID)
		}
		if err != nil || !t.told && t.note == "" {
			return err
		}
		return t.vouch()
	})
	*begun = *begun || err == nil && written
	return ended, err
}

// hide strikes all that this turn made.
func (t *tx) hide() error {
	for kind, first := range t.made {
		if _, err := t.exec("UPDATE "+kind+" SET struck = 1 WHERE id >= ?", first); err != nil {
			return err
		}
	}
	return nil
}

// letIn ends what came in in turns: all that the action made is there, but for what is withdrawn.
func (t *tx) letIn(action int64) error {
	kinds, err := t.strings("SELECT DISTINCT kind FROM change WHERE action = ?", action)
	if err != nil {
		return err
	}
	for _, kind := range kinds {
		if err := t.known(kind, []string{"struck"}); err != nil {
			return err
		}
		if _, err := t.exec("UPDATE "+kind+" SET struck = 0 WHERE id IN (SELECT ref FROM change WHERE action = ? "+
			"AND kind = ?)", action, kind); err != nil {
			return err
		}
	}
	t.note = fmt.Sprint(verify.TurnsEnded, action)
	for _, subject := range t.withdrawn {
		if err := t.revertOf(action, subject); err != nil {
			return err
		}
	}
	return nil
}

// Withdraw leaves out of what comes in in turns all that it made of a subject.
func (t *tx) Withdraw(subject string) { t.withdrawn = append(t.withdrawn, subject) }

// ComingIn reads the action that has come in in part.
func (r *reader) ComingIn() (*registry.Action, error) {
	in, err := verify.InTurns(source{r})
	if err != nil || in == 0 {
		return nil, err
	}
	return r.action("WHERE action.id = ?", in)
}

// TakeBack takes back what came in in turns and did not come to its end, unless a program is still at it, and
// returns what that was. It does so only where the chain that tells of it is sound.
func (db *DB) TakeBack(ctx context.Context, at time.Time) (*registry.Action, error) {
	broken, release, err := db.brokenOff(ctx)
	if err != nil || broken == nil {
		return nil, err
	}
	defer release()
	faults, err := db.look(ctx, "", nil, func(v *verify.Verification) error {
		return v.QuickSinceTurns(broken.ID)
	})
	if err != nil {
		return nil, err
	}
	if len(faults) > 0 {
		return nil, registry.Errorf(registry.Conflict, "%s of %s by %s broke off and cannot be taken back, since "+
			"something is wrong with the registry: have it checked", broken.Verb, broken.Why, broken.By).
			Then(registry.Next(registry.DoVerify, ""))
	}
	if err := db.takeBack(ctx, at); err != nil {
		return nil, err
	}
	return broken, nil
}

// BrokenOff is what came in in turns, did not come to its end, and waits to be taken back; nil for nothing.
func (db *DB) BrokenOff(ctx context.Context) (*registry.Action, error) {
	broken, release, err := db.brokenOff(ctx)
	if broken != nil {
		release()
	}
	return broken, err
}

// brokenOff also keeps others from taking it back until it is released.
func (db *DB) brokenOff(ctx context.Context) (broken *registry.Action, release func(), err error) {
	look := func(r stock.Reader) (err error) {
		broken, err = r.ComingIn()
		return err
	}
	if err := db.View(ctx, look); err != nil || broken == nil {
		return nil, nil, err
	}
	if db.readOnly { // nobody can be at it
		return broken, func() {}, nil
	}
	switch release, err = db.hold(); {
	case errors.Is(err, turn.ErrHeld):
		return nil, nil, nil
	case err != nil:
		return nil, nil, err
	}
	// Whoever was at it may have come to its end since.
	if err := db.View(ctx, look); err != nil || broken == nil {
		release()
		return nil, nil, err
	}
	return broken, release, nil
}

func (db *DB) takeBack(ctx context.Context, at time.Time) error {
	return db.within(ctx, turn.Writing, func(r *reader) error {
		broken, err := r.ComingIn()
		if err != nil || broken == nil {
			return err
		}
		t := &tx{reader: r, action: &registry.Action{At: at.UTC().Truncate(time.Millisecond), By: registry.Itself,
			Verb: registry.VerbUndo, Why: broken.Verb + ", which broke off", Undoes: broken.ID}}
		defer t.end()
		if err := t.letIn(broken.ID); err != nil {
			return err
		}
		if err := t.begin(); err != nil {
			return err
		}
		if err := t.Revert(broken.ID); err != nil {
			return err
		}
		return t.vouch()
	})
}
