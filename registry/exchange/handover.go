package exchange

import (
	"context"
	"strings"

	"pitman/registry"
	"pitman/registry/stock"
)

// HandOverOptions says which machines are handed over, and to whom. Without tags and place it is all of them.
type HandOverOptions struct {
	Tags  []registry.Tag
	Place string
	To    string
}

// LeftBehind is a machine or base that was not handed over.
type LeftBehind struct {
	Tag registry.Tag `json:"tag"`
	Why string       `json:"why"`
}

// HandOver notes that machines and bases go to another house, and gives each with its history to carry. They
// stay in this house's registry.
func (w *Exchange) HandOver(ctx context.Context, by registry.Initials, h HandOverOptions,
	carry func(*UnitHistory) error) (left []LeftBehind, err error) {
	if h.To, err = registry.CleanText("to", h.To, registry.MaxName); err != nil {
		return nil, err
	}
	if h.To == "" {
		return nil, registry.Errorf(registry.Invalid,
			"to is empty: give the name of the house that gets the machines")
	}
	err = w.Act(ctx, by, "bundle out", "to "+h.To, func(tx stock.Tx) error {
		tags := registry.Unique(h.Tags)
		if len(tags) == 0 {
			var err error
			if tags, err = unitsToHand(tx, h.Place); err != nil {
				return err
			}
		}
		for _, tag := range tags {
			u, err := stock.UnitByTag(tx, tag)
			if err != nil {
				return err
			}
			if why := u.WhyNotHandedOver(h.To); why != "" {
				if len(h.Tags) > 0 {
					return registry.Errorf(registry.Conflict, "%s cannot be handed over: %s", tag, why)
				}
				left = append(left, LeftBehind{tag, why})
				continue
			}
			if err := w.settled(tx, tag); err != nil {
				return err
			}
			if u, err = stock.UnitByTag(tx, tag); err != nil {
				return err
			}
			if err := u.Hand(tx, h.To); err != nil {
				return err
			}
			c, err := history(tx, string(tag))
			if err != nil {
				return err
			}
			if err := carry(c); err != nil {
				return err
			}
		}
		return h.nothing(len(tags), left)
	})
	return left, err
}

// nothing refuses a bundle without a machine, which could only take the place of one that has some.
func (h *HandOverOptions) nothing(found int, left []LeftBehind) error {
	switch {
	case found > len(left):
		return nil
	case found > 0:
		return registry.Errorf(registry.Conflict,
			"nothing can be handed over: %s of %d %s: %s", left[0].Tag, found,
			registry.Agree(found, "machine or base", "machines and bases"), left[0].Why)
	case h.Place != "":
		return registry.Errorf(registry.NotFound,
			"nothing is at place %q: give the place as it is written on the pieces there",
			h.Place).On("place")
	}
	return registry.Errorf(registry.NotFound, "there is no machine or base to hand over: log one first")
}

// unitsToHand lists the heads and bases at a place, or all; also those that went to a house before, since a
// bundle can be written again. What was sold, scrapped or shipped stands at no place any more.
func unitsToHand(r stock.Reader, place string) (tags []registry.Tag, err error) {
	there := func(s registry.Stage) bool { return place == "" || stock.Gone(s, "") == "" }
	err = r.Machines(stock.MachineFilter{Place: place}, func(m *stock.Machine) error {
		if there(m.Stage) {
			tags = append(tags, m.Tag)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	var b stock.Base
	err = r.Each(&b, func() error {
		if there(b.Stage) && (place == "" || strings.EqualFold(b.Place, place)) {
			tags = append(tags, b.Tag)
		}
		return nil
	})
	return tags, err
}

// settled hands nothing over as ready whose pass stands no longer. What was handed before stays as it went: a
// bundle can be written again.
func (w *Exchange) settled(tx stock.Tx, tag registry.Tag) error {
	m, err := stock.MachineByTag(tx, tag)
	if registry.CodeOf(err) == registry.NotFound || err == nil && m.HandedTo != "" {
		return nil
	}
	if err != nil {
		return err
	}
	w.Settle(m, tx.Action().At)
	return tx.Put(m)
}
