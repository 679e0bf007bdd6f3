package registry

import (
	"context"
	"fmt"
	"strings"
)

// Handing says which machines are handed over, and to whom. Without tags and place it is all of them.
type Handing struct {
	Tags  []Tag
	Place string
	To    string
}

// LeftBehind is a machine or base that was not handed over.
type LeftBehind struct {
	Tag Tag    `json:"tag"`
	Why string `json:"why"`
}

// HandOver notes that machines and bases go to another house, and gives each with its history to carry. They stay in this house's registry.
func (w *Workshop) HandOver(ctx context.Context, by Initials, h Handing, carry func(*Carried) error) (left []LeftBehind, err error) {
	if h.To, err = cleanText("to", h.To, maxName); err != nil {
		return nil, err
	}
	if h.To == "" {
		return nil, Errorf(Invalid, "to is empty: give the name of the house that gets the machines")
	}
	err = w.act(ctx, by, "bundle out", "to "+h.To, func(tx Tx) error {
		tags := unique(h.Tags)
		if len(tags) == 0 {
			var err error
			if tags, err = unitsToHand(tx, h.Place); err != nil {
				return err
			}
		}
		for _, tag := range tags {
			u, err := unitByTag(tx, tag)
			if err != nil {
				return err
			}
			if why := u.stays(h.To); why != "" {
				if len(h.Tags) > 0 {
					return Errorf(Conflict, "%s cannot be handed over: %s", tag, why)
				}
				left = append(left, LeftBehind{tag, why})
				continue
			}
			if err := u.hand(tx, h.To); err != nil {
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
func (h *Handing) nothing(found int, left []LeftBehind) error {
	switch {
	case found > len(left):
		return nil
	case found > 0:
		return Errorf(Conflict, "nothing can be handed over: %s of %d machines and bases: %s", left[0].Tag, found, left[0].Why)
	case h.Place != "":
		return Errorf(NotFound, "nothing is at place %q: give the place as pitman show prints it", h.Place)
	}
	return Errorf(NotFound, "there is no machine or base to hand over: log one first")
}

// unitsToHand lists the heads and bases at a place, or all; also those that went to a house before, since a bundle can be written again.
// What was sold, scrapped or shipped stands at no place any more.
func unitsToHand(r Reader, place string) (tags []Tag, err error) {
	there := func(s Stage) bool { return place == "" || gone(s, "") == "" }
	err = r.Machines(MachineFilter{Place: place}, func(m *Machine) error {
		if there(m.Stage) {
			tags = append(tags, m.Tag)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	var b Base
	err = r.Each(&b, func() error {
		if there(b.Stage) && (place == "" || strings.EqualFold(b.Place, place)) {
			tags = append(tags, b.Tag)
		}
		return nil
	})
	return tags, err
}

// stays says why a machine or base cannot be handed over, or nothing.
func (u Unit) stays(to string) string {
	switch {
	case u.Stage == Held && u.heldFrom == Reserved:
		return "it is held and promised to an order of this house; take it off the order first"
	case u.Stage == Reserved || u.Stage == Packed:
		return fmt.Sprintf("it is %s for an order of this house; take it off the order first", u.Stage)
	case u.handedTo != "" && u.handedTo != to:
		return fmt.Sprintf("it was handed to %s already", u.handedTo)
	}
	return ""
}

// workedOnThere refuses work on what another house has.
func workedOnThere(tag Tag, house string) error {
	return Errorf(Conflict, "%s was handed to %s and is worked on there: what they do comes back with pitman bundle in", tag, house)
}
