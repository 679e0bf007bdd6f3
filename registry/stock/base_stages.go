package stock

import (
	"context"
	"strings"
	"time"

	"pitman/registry"
)

// Suits refuses an action that is not for this base as it stands.
func (b *Base) Suits(action string) error {
	if b.HandedTo != "" {
		return WorkedOnThere(b.Tag, b.HandedTo)
	}
	_, err := registry.Step(registry.UnitBase, b.Tag, action, b.Stage, b.HeldFrom)
	return err
}

// MoveTo does one action of the table of moves to a base within a transaction; the caller puts it.
func (b *Base) MoveTo(action string, at time.Time) error {
	to, err := registry.Step(registry.UnitBase, b.Tag, action, b.Stage, b.HeldFrom)
	if err != nil || to == b.Stage {
		return err
	}
	if b.Stage == registry.Held {
		b.HeldFrom, b.HeldWhy = "", ""
	}
	if to == registry.Held {
		b.HeldFrom = b.Stage
	}
	b.Stage, b.Since, b.MovedIn = to, at, ""
	return nil
}

// ReadyBase puts a base into stock, once every needed part is there.
func (w *Stock) ReadyBase(ctx context.Context, by registry.Initials, tag registry.Tag) (*Base, error) {
	known, err := Rows(w.Lists.BaseParts)
	if err != nil {
		return nil, err
	}
	return w.OnBase(ctx, by, tag, "base ready", "", func(tx Tx, b *Base) error {
		if err := b.MoveTo(registry.DoBaseReady, tx.Action().At); err != nil {
			return err
		}
		return b.ReadyGate(known)
	})
}

// Lacks lists the parts without which a base cannot be ready.
func (w *Stock) Lacks(b *Base) ([]string, error) {
	known, err := Rows(w.Lists.BaseParts)
	return b.lacks(known), err
}

// ReadyGate refuses to put a base into stock that lacks a needed part.
func (b *Base) ReadyGate(known []BasePart) error {
	if missing := b.lacks(known); len(missing) > 0 {
		return registry.Errorf(registry.Conflict, "%s lacks %s, by what is recorded: find them, then say so",
			b.Tag, strings.Join(missing, ", ")).On("parts").Then(registry.Next(registry.DoAmendBase,
			b.Tag).With("parts", "all"))
	}
	return nil
}

// StayReady takes a base out of stock when a needed part turns out to be missing. What is promised to an
// order is first given back.
func (b *Base) StayReady(known []BasePart, at time.Time) error {
	missing := b.lacks(known)
	switch {
	case len(missing) == 0:
		return nil
	case b.Stage == registry.Ready:
		return b.MoveTo(registry.DoBaseLack, at)
	case b.Stage == registry.Held && b.HeldFrom == registry.Ready:
		b.HeldFrom = registry.Logged
	case b.Stage == registry.Reserved || b.Stage == registry.Packed:
		return registry.Errorf(registry.Conflict,
			"%s is %s and cannot be without %s: give it back first, or undo what was done",
			b.Tag, b.Stage,
			strings.Join(missing, ", ")).On("parts").Then(registry.Next(registry.DoUnreserve, ""),
			registry.Next(registry.DoUndo, b.Tag))
	}
	return nil
}

// TriageBase decides where a base goes. To refurbish brings one back that had been given up.
func (w *Stock) TriageBase(ctx context.Context, by registry.Initials, tag registry.Tag, way,
	why string) (*Base, error) {
	way, err := parseWay(way, why)
	if err != nil {
		return nil, err
	}
	return w.OnBase(ctx, by, tag, "triage to "+way, why, func(tx Tx, b *Base) error {
		return b.MoveTo(ways[way], tx.Action().At)
	})
}

// HoldBase stops a base for a reason; it goes back to where it was.
func (w *Stock) HoldBase(ctx context.Context, by registry.Initials, tag registry.Tag,
	why string) (*Base, error) {
	if err := checkHoldReason(why); err != nil {
		return nil, err
	}
	return w.OnBase(ctx, by, tag, "hold", why, func(tx Tx, b *Base) error {
		if err := b.MoveTo(registry.DoHold, tx.Action().At); err != nil {
			return err
		}
		b.HeldWhy = tx.Action().Why
		return nil
	})
}

// ReleaseBase lets a held base go back to where it was.
func (w *Stock) ReleaseBase(ctx context.Context, by registry.Initials, tag registry.Tag,
	why string) (*Base, error) {
	return w.OnBase(ctx, by, tag, "release", why,
		func(tx Tx, b *Base) error { return b.MoveTo(registry.DoRelease, tx.Action().At) })
}

// IsBase says whether the tag is a base's.
func (w *Stock) IsBase(ctx context.Context, tag registry.Tag) (is bool, err error) {
	err = w.Store.View(ctx, func(r Reader) error {
		u, err := UnitByTag(r, tag)
		is = u.Kind == registry.UnitBase
		if registry.CodeOf(err) == registry.NotFound {
			return nil // whoever wants it as a machine says so in full
		}
		return err
	})
	return is, err
}
