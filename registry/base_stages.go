package registry

import (
	"context"
	"strings"
	"time"
)

// moveTo does one action of the table of moves to a base within a transaction; the caller puts it.
func (b *Base) moveTo(action string, at time.Time) error {
	to, err := step(unitBase, b.Tag, action, b.Stage, b.HeldFrom)
	if err != nil || to == b.Stage {
		return err
	}
	if b.Stage == Held {
		b.HeldFrom, b.HeldWhy = "", ""
	}
	if to == Held {
		b.HeldFrom = b.Stage
	}
	b.Stage, b.Since = to, at
	return nil
}

// ReadyBase puts a base into stock, once every needed part is there.
func (w *Workshop) ReadyBase(ctx context.Context, by Initials, tag Tag) (*Base, error) {
	known, err := rows(w.Lists.BaseParts)
	if err != nil {
		return nil, err
	}
	return w.onBase(ctx, by, tag, "base ready", "", func(tx Tx, b *Base) error {
		if err := b.moveTo(doBaseReady, tx.Action().At); err != nil {
			return err
		}
		return b.readyGate(known)
	})
}

// readyGate refuses to put a base into stock that lacks a needed part.
func (b *Base) readyGate(known []BasePart) error {
	if missing := b.lacks(known); len(missing) > 0 {
		return Errorf(Conflict, "%s lacks %s, by what is recorded: find them, then say so with pitman base amend %s --parts all",
			b.Tag, strings.Join(missing, ", "), b.Tag)
	}
	return nil
}

// stayReady takes a base out of stock when a needed part turns out to be missing. What is promised to an order is first given back.
func (b *Base) stayReady(known []BasePart, at time.Time) error {
	missing := b.lacks(known)
	switch {
	case len(missing) == 0:
		return nil
	case b.Stage == Ready:
		return b.moveTo(doBaseLack, at)
	case b.Stage == Held && b.HeldFrom == Ready:
		b.HeldFrom = Logged
	case b.Stage == Reserved || b.Stage == Packed:
		return Errorf(Conflict, "%s is %s and cannot be without %s: give it back first, with pitman order release, or pitman undo %s",
			b.Tag, b.Stage, strings.Join(missing, ", "), b.Tag)
	}
	return nil
}

// TriageBase decides where a base goes. To refurbish brings one back that had been given up.
func (w *Workshop) TriageBase(ctx context.Context, by Initials, tag Tag, way, why string) (*Base, error) {
	way, err := parseWay(way, why)
	if err != nil {
		return nil, err
	}
	return w.onBase(ctx, by, tag, "triage to "+way, why, func(tx Tx, b *Base) error {
		return b.moveTo(ways[way], tx.Action().At)
	})
}

// HoldBase stops a base for a reason; it goes back to where it was.
func (w *Workshop) HoldBase(ctx context.Context, by Initials, tag Tag, why string) (*Base, error) {
	if err := checkHoldReason(why); err != nil {
		return nil, err
	}
	return w.onBase(ctx, by, tag, "hold", why, func(tx Tx, b *Base) error {
		if err := b.moveTo(doHold, tx.Action().At); err != nil {
			return err
		}
		b.HeldWhy = tx.Action().Why
		return nil
	})
}

// ReleaseBase lets a held base go back to where it was.
func (w *Workshop) ReleaseBase(ctx context.Context, by Initials, tag Tag, why string) (*Base, error) {
	return w.onBase(ctx, by, tag, "release", why, func(tx Tx, b *Base) error { return b.moveTo(doRelease, tx.Action().At) })
}

// IsBase says whether the tag is a base's.
func (w *Workshop) IsBase(ctx context.Context, tag Tag) (is bool, err error) {
	err = w.Store.View(ctx, func(r Reader) error {
		u, err := unitByTag(r, tag)
		is = u.Kind == unitBase
		if CodeOf(err) == NotFound {
			return nil // whoever wants it as a machine says so in full
		}
		return err
	})
	return is, err
}
