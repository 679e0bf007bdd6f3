package intake

import (
	"context"
	"slices"
	"strings"

	"pitman/registry"
	"pitman/registry/stock"
)

// CheckBase refuses parts that are not on the house's list, and writes out "all".
func (w *Intake) CheckBase(b *stock.Base) error {
	if b.Top == "" {
		b.Top = stock.TopFixed
	}
	if len(b.Parts) == 0 {
		return nil
	}
	known, err := stock.Rows(w.Stock.Lists.BaseParts)
	if err != nil {
		return err
	}
	names := make([]string, len(known))
	for i, p := range known {
		names[i] = p.Part
	}
	switch {
	case slices.Equal(b.Parts, registry.List[string]{"none"}):
		b.Parts = nil
		return nil
	case slices.Equal(b.Parts, registry.List[string]{"all"}):
		b.Parts = slices.DeleteFunc(names,
			func(name string) bool { return name == stock.PartTop && b.Top == stock.TopMissing })
		return nil
	}
	for _, part := range b.Parts {
		if !slices.Contains(names, part) {
			return registry.Errorf(registry.Invalid,
				"parts %q is not on the list of a base's parts: type all, none, or some of %s", part,
				strings.Join(names, ","))
		}
	}
	if b.Top == stock.TopMissing && slices.Contains(b.Parts, stock.PartTop) {
		return registry.Errorf(registry.Invalid,
			"parts has the top, and the top is said to be missing: leave one of them out").On("parts")
	}
	return nil
}

// AddBase takes a base in; it gets its tag, unless a blank one hangs on it.
func (w *Intake) AddBase(ctx context.Context, by registry.Initials, b *stock.Base) error {
	return w.Stock.Act(ctx, by, "base add", "", func(tx stock.Tx) error {
		if err := bindBlank(tx, b.Tag); err != nil {
			return err
		}
		return w.EnterBaseAs(tx, b, func() error { return nil })
	})
}

// EnterBaseAs takes a base in within an action, with the tag that it brings or one of its own; as may put it
// at another stage than the first, if its records prove that.
func (w *Intake) EnterBaseAs(tx stock.Tx, b *stock.Base, as func() error) error {
	if err := w.CheckBase(b); err != nil {
		return err
	}
	if err := checkWhere(tx, whereabouts{}, whereOfBase(b), &b.Place, stock.MachineByTag); err != nil {
		return err
	}
	var err error
	if b.Tag, err = w.tagFor(tx, b.Tag); err != nil {
		return err
	}
	a := tx.Action()
	b.Stage, b.Since = registry.Logged, a.At
	b.LoggedAt, b.LoggedBy = a.At, a.By
	if err := as(); err != nil {
		return err
	}
	if err := tx.Put(b); err != nil {
		return err
	}
	return w.Stock.StageProven(tx, b.Tag)
}

// AmendBase corrects what is known of a base. One that is ready stays so only while no needed part is
// missing.
func (w *Intake) AmendBase(ctx context.Context, by registry.Initials, tag registry.Tag, why string,
	correct func(*stock.Base) error) (*stock.Base, error) {
	known, err := stock.Rows(w.Stock.Lists.BaseParts)
	if err != nil {
		return nil, err
	}
	return w.Stock.OnBase(ctx, by, tag, "base amend", why, func(tx stock.Tx, b *stock.Base) error {
		before := whereOfBase(b)
		if err := correct(b); err != nil {
			return err
		}
		if err := w.CheckBase(b); err != nil {
			return err
		}
		if err := checkWhere(tx, before, whereOfBase(b), &b.Place, stock.MachineByTag); err != nil {
			return err
		}
		return b.StayReady(known, tx.Action().At)
	})
}
