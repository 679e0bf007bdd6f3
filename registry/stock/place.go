package stock

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"

	"pitman/registry"
	"pitman/registry/measure"
)

// Stays says why a machine or base cannot be handed over, or nothing.
func (u Unit) Stays(to string) string {
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
	put   func(tx Tx, place string) error

	heldFrom registry.Stage
	handedTo string                       // the house that has it now
	Hand     func(tx Tx, to string) error `json:"-"`
	// what is wrong with one that was not made by the rules of this house
	Sound func() error `json:"-"`
}

func (m *Machine) Unit() Unit {
	return Unit{Kind: m.Kind(), Tag: m.Tag, Name: strings.TrimSpace(m.Maker + " " + m.Model), Stage: m.Stage,
		Place: m.Place, Mass: m.Weight,
		Gone: Gone(m.Stage, m.HandedTo), heldFrom: m.HeldFrom, handedTo: m.HandedTo, Sound: m.sound,
		put:  func(tx Tx, place string) error { m.Place = place; return tx.Put(m) },
		Hand: func(tx Tx, to string) error { m.HandedTo = to; return tx.Put(m) }}
}

func (b *Base) unit() Unit {
	return Unit{Kind: b.Kind(), Tag: b.Tag, Name: b.Name(), Stage: b.Stage, Place: b.Place, Mass: b.Weight,
		Gone: Gone(b.Stage, b.HandedTo), heldFrom: b.HeldFrom, handedTo: b.HandedTo, Sound: b.sound,
		put:  func(tx Tx, place string) error { b.Place = place; return tx.Put(b) },
		Hand: func(tx Tx, to string) error { b.HandedTo = to; return tx.Put(b) }}
}

// LiftCaution is what whoever carries it should read first; empty when one person may lift it.
func (u Unit) LiftCaution() string { return measure.LiftCaution(u.Mass, u.Kind == registry.UnitBase) }

// Workable refuses a unit that another house has now.
func (u Unit) Workable() error {
	if u.handedTo != "" {
		return workedOnThere(u.Tag, u.handedTo)
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

// unitOf takes what HeadOrBase gives.
func unitOf(m *Machine, b *Base) Unit {
	if m != nil {
		return m.Unit()
	}
	return b.unit()
}

// UnitByTag reads a head or a base.
func UnitByTag(r Reader, tag registry.Tag) (Unit, error) {
	m, b, err := HeadOrBase(r, tag)
	if err != nil {
		return Unit{}, err
	}
	return unitOf(m, b), nil
}

// unitsAt lists what stands at a place by the records, in the order of coming in.
func unitsAt(r Reader, place string) ([]Unit, error) {
	units := []Unit{}
	err := r.Machines(MachineFilter{Place: place}, func(m *Machine) error {
		kept := *m
		units = append(units, kept.Unit())
		return nil
	})
	if err != nil {
		return nil, err
	}
	var b Base
	err = r.Each(&b, func() error {
		if strings.EqualFold(b.Place, place) {
			kept := b
			units = append(units, kept.unit())
		}
		return nil
	})
	return slices.DeleteFunc(units, func(u Unit) bool { return u.Gone != "" }), err
}

// PlacesInUse names, in order, the places where heads and bases of the house stand. A place is named once,
// however it is written.
func (w *Stock) PlacesInUse(ctx context.Context) (places []string, err error) {
	named := map[string]string{}
	see := func(u Unit) {
		if key := strings.ToLower(u.Place); u.Gone == "" && named[key] == "" {
			named[key] = u.Place
		}
	}
	err = w.Store.View(ctx, func(r Reader) error {
		if err := r.Machines(MachineFilter{},
			func(m *Machine) error { see(m.Unit()); return nil }); err != nil {
			return err
		}
		var b Base
		return r.Each(&b, func() error { see(b.unit()); return nil })
	})
	delete(named, "")
	for _, key := range slices.Sorted(maps.Keys(named)) {
		places = append(places, named[key])
	}
	return places, err
}

// ParsePlace reads the name of a place as people type it.
func ParsePlace(place string) (string, error) {
	place, err := registry.CleanText("place", place, registry.MaxName)
	if err != nil {
		return "", err
	}
	if place == "" {
		return "", registry.Errorf(registry.Invalid,
			"place is empty: type where it stands, such as \"bay 2\"")
	}
	if _, err := registry.ParseTag(place); err == nil {
		return "", registry.Errorf(registry.Invalid,
			"place %q is a tag: type the name of a place, such as \"bay 2\"; it stands behind the tags",
			place).On("place")
	}
	return place, nil
}

// Move puts heads and bases in a place, all of them or none. The units are returned as they stood before.
func (w *Stock) Move(ctx context.Context, by registry.Initials, tags []registry.Tag,
	place string) (moved []Unit, err error) {
	if place, err = ParsePlace(place); err != nil {
		return nil, err
	}
	if len(tags) == 0 {
		return nil, registry.Errorf(registry.Invalid,
			"nothing was scanned: give the tags before the place, or scan them one a line")
	}
	err = w.Act(ctx, by, "move", "", func(tx Tx) error {
		moved = []Unit{}
		for _, tag := range Unique(tags) {
			u, err := UnitByTag(tx, tag)
			if err != nil {
				return err
			}
			if u.Gone != "" {
				return registry.Errorf(registry.Conflict,
					"%s is %s and has no place here: look at the tag again; nothing was moved", tag, u.Gone)
			}
			if err := u.put(tx, place); err != nil {
				return err
			}
			moved = append(moved, u)
		}
		return nil
	})
	return moved, err
}

// PlaceCount is what a count of one place found, held against the records.
type PlaceCount struct {
	Place     string `json:"place"`
	Found     []Unit `json:"found"`      // there, and there by the records
	Missing   []Unit `json:"missing"`    // there by the records, and not found
	ByMistake []Unit `json:"by_mistake"` // found, and elsewhere by the records
	Gone      []Unit `json:"gone"`       // found, and not in the house by the records: a person has to look
	Corrected bool   `json:"corrected"`
}

// Count holds what was scanned at a place against the records. It changes nothing.
func (w *Stock) Count(ctx context.Context, place string, scanned []registry.Tag) (c PlaceCount, err error) {
	if place, err = ParsePlace(place); err != nil {
		return c, err
	}
	err = w.Store.View(ctx, func(r Reader) error {
		c, err = count(r, place, scanned)
		return err
	})
	return c, err
}

// CorrectCount makes the records say what was found: what is there by mistake belongs there now, and what is
// missing has no place until it is found. What is gone by the records is left alone.
func (w *Stock) CorrectCount(ctx context.Context, by registry.Initials, place string,
	scanned []registry.Tag) (c PlaceCount, err error) {
	if place, err = ParsePlace(place); err != nil {
		return c, err
	}
	if len(scanned) == 0 {
		return c, registry.Errorf(registry.Invalid,
			"nothing was scanned: scan what is at %s, then correct; if it is empty, move each piece",
			place).Then(registry.Next(registry.DoMove, ""))
	}
	err = w.Act(ctx, by, "count", "count of "+place, func(tx Tx) error {
		if c, err = count(tx, place, scanned); err != nil {
			return err
		}
		for _, u := range c.ByMistake {
			if err := u.put(tx, place); err != nil {
				return err
			}
		}
		for _, u := range c.Missing {
			if err := u.put(tx, ""); err != nil {
				return err
			}
		}
		c.Corrected = true
		return nil
	})
	return c, err
}

func count(r Reader, place string, scanned []registry.Tag) (PlaceCount, error) {
	c := PlaceCount{Place: place, Found: []Unit{}, Missing: []Unit{}, ByMistake: []Unit{}, Gone: []Unit{}}
	there := Unique(scanned)
	for _, tag := range there {
		u, err := UnitByTag(r, tag)
		switch {
		case err != nil:
			return c, err
		case u.Gone != "":
			c.Gone = append(c.Gone, u)
		case strings.EqualFold(u.Place, place):
			c.Found = append(c.Found, u)
		default:
			c.ByMistake = append(c.ByMistake, u)
		}
	}
	expected, err := unitsAt(r, place)
	if err != nil {
		return c, err
	}
	for _, u := range expected {
		if !slices.Contains(there, u.Tag) {
			c.Missing = append(c.Missing, u)
		}
	}
	return c, nil
}

// Unique keeps the first of each tag: people scan twice to be sure.
func Unique(tags []registry.Tag) []registry.Tag {
	var out []registry.Tag
	seen := map[registry.Tag]bool{}
	for _, tag := range tags {
		if !seen[tag] {
			seen[tag] = true
			out = append(out, tag)
		}
	}
	return out
}
