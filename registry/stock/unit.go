package stock

import (
	"fmt"
	"strings"
	"time"

	"pitman/registry"
	"pitman/registry/measure"
)

// WhyNotHandedOver says why a machine or base cannot be handed over, or nothing.
func (u Unit) WhyNotHandedOver(to string) string {
	switch {
	case u.Stage == registry.Held && u.heldFrom == registry.Reserved:
		return "it is held and promised to an order of this house; take it off the order first"
	case u.Stage == registry.Reserved || u.Stage == registry.Packed:
		return fmt.Sprintf("it is %s for an order of this house; take it off the order first", u.Stage)
	case u.handedTo != "" && u.handedTo != to:
		return fmt.Sprintf("it was handed to %s already", u.handedTo)
	}
	return ""
}

// Unit is a head or a base, as far as both are stored, moved and counted alike.
type Unit struct {
	Kind  string         `json:"unit"` // machine or base
	Tag   registry.Tag   `json:"tag"`
	Name  string         `json:"name"`
	Stage registry.Stage `json:"stage"`
	Place string         `json:"place"` // where it stands by the records
	Mass  measure.Mass   `json:"weight_kg"`
	Gone  string         `json:"gone,omitempty"` // why it is not in the house any more; empty while it is

	heldFrom registry.Stage
	handedTo string // the house that has it now
	// both write the unit, as it stands at a place or is handed to a house
	Shelve func(tx Tx, place string) error `json:"-"`
	Hand   func(tx Tx, to string) error    `json:"-"`
	// what is wrong with one that was not made by the rules of this house
	CheckValues func() error `json:"-"`
}

func (m *Machine) Unit() Unit {
	return Unit{Kind: m.Kind(), Tag: m.Tag, Name: strings.TrimSpace(m.Maker + " " + m.Model), Stage: m.Stage,
		Place: m.Place, Mass: m.Weight,
		Gone: Gone(m.Stage, m.HandedTo), heldFrom: m.HeldFrom, handedTo: m.HandedTo,
		CheckValues: m.checkValues,
		Shelve:      func(tx Tx, place string) error { m.Place = place; return tx.Put(m) },
		Hand:        func(tx Tx, to string) error { m.HandedTo = to; return tx.Put(m) }}
}

func (b *Base) Unit() Unit {
	return Unit{Kind: b.Kind(), Tag: b.Tag, Name: b.Name(), Stage: b.Stage, Place: b.Place, Mass: b.Weight,
		Gone: Gone(b.Stage, b.HandedTo), heldFrom: b.HeldFrom, handedTo: b.HandedTo,
		CheckValues: b.checkValues,
		Shelve:      func(tx Tx, place string) error { b.Place = place; return tx.Put(b) },
		Hand:        func(tx Tx, to string) error { b.HandedTo = to; return tx.Put(b) }}
}

// LiftCaution is what whoever carries it should read first; empty when one person may lift it.
func (u Unit) LiftCaution() string { return measure.LiftCaution(u.Mass, u.Kind == registry.UnitBase) }

// Workable refuses a unit that another house has now.
func (u Unit) Workable() error {
	if u.handedTo != "" {
		return WorkedOnThere(u.Tag, u.handedTo)
	}
	return nil
}

func Gone(s registry.Stage, handedTo string) string {
	if handedTo != "" {
		return "handed to " + handedTo
	}
	if s == registry.Shipped || s == registry.Sold || s == registry.Scrapped {
		return string(s)
	}
	return ""
}

// Here says whether the machine is in the house, for all that is recorded.
func (m *Machine) Here() bool { return Gone(m.Stage, m.HandedTo) == "" }

// Here says whether the base is in the house, for all that is recorded.
func (b *Base) Here() bool { return Gone(b.Stage, b.HandedTo) == "" }

// HeadOrBase reads what has a tag: one of the two is nil.
func HeadOrBase(r Reader, tag registry.Tag) (*Machine, *Base, error) {
	m := &Machine{}
	err := r.Get(m, Fields{"tag": tag})
	if err == nil {
		return m, nil, nil
	}
	if registry.CodeOf(err) == registry.NotFound {
		b := &Base{}
		if err = r.Get(b, Fields{"tag": tag}); err == nil {
			return nil, b, nil
		}
	}
	if registry.CodeOf(err) == registry.NotFound {
		err = registry.Errorf(registry.NotFound,
			"tag %s is not in this house: find it among the heads or the bases", tag).On("tag").
			Then(registry.Next(registry.DoFind, ""), registry.Next(registry.DoListBases, ""))
	}
	return nil, nil, err
}

// Piece is a head or a base that goes on its way.
type Piece interface {
	registry.Record
	MoveTo(action string, at time.Time) error
}

// Advance makes a move of a piece that was read, and keeps it.
func Advance(tx Tx, piece Piece, action string) error {
	if err := piece.MoveTo(action, tx.Action().At); err != nil {
		return err
	}
	return tx.Put(piece)
}

// AdvanceTag makes a move of whatever has the tag.
func AdvanceTag(tx Tx, tag registry.Tag, action string) error {
	m, b, err := HeadOrBase(tx, tag)
	switch {
	case err != nil:
		return err
	case m != nil:
		return Advance(tx, m, action)
	}
	return Advance(tx, b, action)
}

// UnitOf takes what HeadOrBase gives.
func UnitOf(m *Machine, b *Base) Unit {
	if m != nil {
		return m.Unit()
	}
	return b.Unit()
}

// UnitByTag reads a head or a base.
func UnitByTag(r Reader, tag registry.Tag) (Unit, error) {
	m, b, err := HeadOrBase(r, tag)
	if err != nil {
		return Unit{}, err
	}
	return UnitOf(m, b), nil
}
