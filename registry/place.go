package registry

import (
	"context"
	"maps"
	"slices"
	"strings"
)

// Unit is a head or a base, as far as both are stored, moved and counted alike.
type Unit struct {
	Kind  string `json:"unit"` // machine or base
	Tag   Tag    `json:"tag"`
	Name  string `json:"name"`
	Stage Stage  `json:"stage"`
	Place string `json:"place"` // where it stands by the records
	Mass  Mass   `json:"weight_kg"`
	Gone  string `json:"gone,omitempty"` // why it is not in the house any more; empty while it is
	put   func(tx Tx, place string) error

	heldFrom Stage
	handedTo string // the house that has it now
	hand     func(tx Tx, to string) error
	sound    func() error // what is wrong with one that was not made by the rules of this house
}

func (m *Machine) unit() Unit {
	return Unit{Kind: m.Kind(), Tag: m.Tag, Name: strings.TrimSpace(m.Maker + " " + m.Model), Stage: m.Stage, Place: m.Place, Mass: m.Weight,
		Gone: gone(m.Stage, m.HandedTo), heldFrom: m.HeldFrom, handedTo: m.HandedTo, sound: m.sound,
		put:  func(tx Tx, place string) error { m.Place = place; return tx.Put(m) },
		hand: func(tx Tx, to string) error { m.HandedTo = to; return tx.Put(m) }}
}

func (b *Base) unit() Unit {
	return Unit{Kind: b.Kind(), Tag: b.Tag, Name: b.Name(), Stage: b.Stage, Place: b.Place, Mass: b.Weight,
		Gone: gone(b.Stage, b.HandedTo), heldFrom: b.HeldFrom, handedTo: b.HandedTo, sound: b.sound,
		put:  func(tx Tx, place string) error { b.Place = place; return tx.Put(b) },
		hand: func(tx Tx, to string) error { b.HandedTo = to; return tx.Put(b) }}
}

// LiftCaution is what whoever carries it should read first; empty when one person may lift it.
func (u Unit) LiftCaution() string { return LiftCaution(u.Mass, u.Kind == unitBase) }

func gone(s Stage, handedTo string) string {
	if handedTo != "" {
		return "handed to " + handedTo
	}
	if s == Shipped || s == Sold || s == Scrapped {
		return string(s)
	}
	return ""
}

// Here says whether the machine is in the house, for all that is recorded.
func (m *Machine) Here() bool { return gone(m.Stage, m.HandedTo) == "" }

// Here says whether the base is in the house, for all that is recorded.
func (b *Base) Here() bool { return gone(b.Stage, b.HandedTo) == "" }

// HeadOrBase reads what has a tag: one of the two is nil.
func HeadOrBase(r Reader, tag Tag) (*Machine, *Base, error) {
	m := &Machine{}
	err := r.Get(m, Fields{"tag": tag})
	if err == nil {
		return m, nil, nil
	}
	if CodeOf(err) == NotFound {
		b := &Base{}
		if err = r.Get(b, Fields{"tag": tag}); err == nil {
			return nil, b, nil
		}
	}
	if CodeOf(err) == NotFound {
		err = Errorf(NotFound, "tag %s is not in this house: find heads with pitman list --text, bases with pitman base list", tag)
	}
	return nil, nil, err
}

// unitOf takes what HeadOrBase gives.
func unitOf(m *Machine, b *Base) Unit {
	if m != nil {
		return m.unit()
	}
	return b.unit()
}

// unitByTag reads a head or a base.
func unitByTag(r Reader, tag Tag) (Unit, error) {
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
		units = append(units, kept.unit())
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

// PlacesInUse names, in order, the places where heads and bases of the house stand. A place is named once, however it is written.
func (w *Workshop) PlacesInUse(ctx context.Context) (places []string, err error) {
	named := map[string]string{}
	see := func(u Unit) {
		if key := strings.ToLower(u.Place); u.Gone == "" && named[key] == "" {
			named[key] = u.Place
		}
	}
	err = w.Store.View(ctx, func(r Reader) error {
		if err := r.Machines(MachineFilter{}, func(m *Machine) error { see(m.unit()); return nil }); err != nil {
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
	place, err := cleanText("place", place, maxName)
	if err != nil {
		return "", err
	}
	if place == "" {
		return "", Errorf(Invalid, "place is empty: type where it stands, such as \"bay 2\"")
	}
	if _, err := ParseTag(place); err == nil {
		return "", Errorf(Invalid, "place %q is a tag: type the name of a place, such as \"bay 2\"; pitman move takes it last", place)
	}
	return place, nil
}

// Move puts heads and bases in a place, all of them or none. The units are returned as they stood before.
func (w *Workshop) Move(ctx context.Context, by Initials, tags []Tag, place string) (moved []Unit, err error) {
	if place, err = ParsePlace(place); err != nil {
		return nil, err
	}
	if len(tags) == 0 {
		return nil, Errorf(Invalid, "nothing was scanned: give the tags before the place, or scan them one a line")
	}
	err = w.act(ctx, by, "move", "", func(tx Tx) error {
		moved = []Unit{}
		for _, tag := range unique(tags) {
			u, err := unitByTag(tx, tag)
			if err != nil {
				return err
			}
			if u.Gone != "" {
				return Errorf(Conflict, "%s is %s and has no place here: look at the tag again; nothing was moved", tag, u.Gone)
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
func (w *Workshop) Count(ctx context.Context, place string, scanned []Tag) (c PlaceCount, err error) {
	if place, err = ParsePlace(place); err != nil {
		return c, err
	}
	err = w.Store.View(ctx, func(r Reader) error {
		c, err = count(r, place, scanned)
		return err
	})
	return c, err
}

// CorrectCount makes the records say what was found: what is there by mistake belongs there now, and what is missing has no place until
// it is found. What is gone by the records is left alone.
func (w *Workshop) CorrectCount(ctx context.Context, by Initials, place string, scanned []Tag) (c PlaceCount, err error) {
	if place, err = ParsePlace(place); err != nil {
		return c, err
	}
	if len(scanned) == 0 {
		return c, Errorf(Invalid, "nothing was scanned: scan what is at %s, then correct; if it is empty, move each piece with pitman move", place)
	}
	err = w.act(ctx, by, "count", "count of "+place, func(tx Tx) error {
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

func count(r Reader, place string, scanned []Tag) (PlaceCount, error) {
	c := PlaceCount{Place: place, Found: []Unit{}, Missing: []Unit{}, ByMistake: []Unit{}, Gone: []Unit{}}
	there := unique(scanned)
	for _, tag := range there {
		u, err := unitByTag(r, tag)
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

// unique keeps the first of each tag: people scan twice to be sure.
func unique(tags []Tag) []Tag {
	var out []Tag
	seen := map[Tag]bool{}
	for _, tag := range tags {
		if !seen[tag] {
			seen[tag] = true
			out = append(out, tag)
		}
	}
	return out
}
