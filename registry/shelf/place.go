package shelf

import (
	"context"
	"maps"
	"slices"
	"strings"

	"pitman/registry"
	"pitman/registry/place"
	"pitman/registry/stock"
)

// unitsAt lists what stands at a place by the records, in the order of coming in.
func unitsAt(r stock.Reader, place string) ([]stock.Unit, error) {
	units := []stock.Unit{}
	err := r.Machines(stock.MachineFilter{Place: place}, func(m *stock.Machine) error {
		kept := *m
		units = append(units, kept.Unit())
		return nil
	})
	if err != nil {
		return nil, err
	}
	var b stock.Base
	err = r.Each(&b, func() error {
		if strings.EqualFold(b.Place, place) {
			kept := b
			units = append(units, kept.Unit())
		}
		return nil
	})
	return slices.DeleteFunc(units, func(u stock.Unit) bool { return u.Gone != "" }), err
}

// PlacesInUse names, in order, the places where heads and bases of the house stand. A place is named once,
// however it is written.
func (w *Shelf) PlacesInUse(ctx context.Context) (places []string, err error) {
	named := map[string]string{}
	see := func(u stock.Unit) {
		if key := strings.ToLower(u.Place); u.Gone == "" && named[key] == "" {
			named[key] = u.Place
		}
	}
	err = w.Stock.Store.View(ctx, func(r stock.Reader) error {
		if err := r.Machines(stock.MachineFilter{},
			func(m *stock.Machine) error { see(m.Unit()); return nil }); err != nil {
			return err
		}
		var b stock.Base
		return r.Each(&b, func() error { see(b.Unit()); return nil })
	})
	delete(named, "")
	for _, key := range slices.Sorted(maps.Keys(named)) {
		places = append(places, named[key])
	}
	return places, err
}

// ParsePlace reads the name of a place as people type it. Which place it is, the room of places says.
func ParsePlace(place string) (string, error) {
	place, err := registry.CleanText("place", place, registry.MaxName)
	if err != nil {
		return "", err
	}
	if place == "" {
		return "", registry.Errorf(registry.Invalid,
			"place is empty: type where it stands, such as \"bay 2\"")
	}
	return place, nil
}

// PlaceNamed reads the name or code of a place that is to be used in this house.
func (w *Shelf) PlaceNamed(ctx context.Context, typed string) (name string, err error) {
	if name, err = ParsePlace(typed); err != nil {
		return "", err
	}
	err = w.Stock.Store.View(ctx, func(r stock.Reader) error {
		name, err = place.Read(r, name)
		return err
	})
	return name, err
}

// PlaceCode is the code of a place for its label.
func (w *Shelf) PlaceCode(ctx context.Context, name string) (code string, err error) {
	err = w.Stock.Store.View(ctx, func(r stock.Reader) error {
		code, err = place.Coded(r, name)
		return err
	})
	return code, err
}

// Move puts heads and bases in a place, all of them or none. The units are returned as they stood before.
func (w *Shelf) Move(ctx context.Context, by registry.Initials, tags []registry.Tag,
	at string) (moved []stock.Unit, err error) {
	if at, err = ParsePlace(at); err != nil {
		return nil, err
	}
	if len(tags) == 0 {
		return nil, registry.Errorf(registry.Invalid,
			"nothing was scanned: give the tags before the place, or scan them one a line")
	}
	err = w.Stock.Act(ctx, by, "move", "", func(tx stock.Tx) error {
		moved = []stock.Unit{}
		if at, err = place.Read(tx, at); err != nil {
			return err
		}
		for _, tag := range registry.Unique(tags) {
			u, err := stock.UnitByTag(tx, tag)
			if err != nil {
				return err
			}
			if u.Gone != "" {
				return registry.Errorf(registry.Conflict,
					"%s is %s and has no place here: look at the tag again; nothing was moved", tag, u.Gone)
			}
			if err := u.Shelve(tx, at); err != nil {
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
	Place     string       `json:"place"`
	Found     []stock.Unit `json:"found"`      // there, and there by the records
	Missing   []stock.Unit `json:"missing"`    // there by the records, and not found
	ByMistake []stock.Unit `json:"by_mistake"` // found, and elsewhere by the records
	// found, and not in the house by the records: a person has to look
	Gone      []stock.Unit `json:"gone"`
	Corrected bool         `json:"corrected"`
}

// Count holds what was scanned at a place against the records. It changes nothing.
func (w *Shelf) Count(ctx context.Context, at string, scanned []registry.Tag) (c PlaceCount, err error) {
	if at, err = ParsePlace(at); err != nil {
		return c, err
	}
	err = w.Stock.Store.View(ctx, func(r stock.Reader) error {
		c, err = count(r, at, scanned)
		return err
	})
	return c, err
}

// CorrectCount makes the records say what was found: what is there by mistake belongs there now, and what is
// missing has no place until it is found. What is gone by the records is left alone.
func (w *Shelf) CorrectCount(ctx context.Context, by registry.Initials, at string,
	scanned []registry.Tag) (c PlaceCount, err error) {
	if at, err = ParsePlace(at); err != nil {
		return c, err
	}
	if len(scanned) == 0 {
		return c, registry.Errorf(registry.Invalid,
			"nothing was scanned: scan what is at %s, then correct; if it is empty, move each piece",
			at).Then(registry.Next(registry.DoMove, ""))
	}
	err = w.Stock.Act(ctx, by, "count", "count of "+at, func(tx stock.Tx) error {
		if c, err = count(tx, at, scanned); err != nil {
			return err
		}
		for _, u := range c.ByMistake {
			if err := u.Shelve(tx, c.Place); err != nil {
				return err
			}
		}
		for _, u := range c.Missing {
			if err := u.Shelve(tx, ""); err != nil {
				return err
			}
		}
		c.Corrected = true
		return nil
	})
	return c, err
}

func count(r stock.Reader, at string, scanned []registry.Tag) (PlaceCount, error) {
	at, err := place.Read(r, at)
	if err != nil {
		return PlaceCount{}, err
	}
	c := PlaceCount{Place: at, Found: []stock.Unit{}, Missing: []stock.Unit{}, ByMistake: []stock.Unit{},
		Gone: []stock.Unit{}}
	there := registry.Unique(scanned)
	for _, tag := range there {
		u, err := stock.UnitByTag(r, tag)
		switch {
		case err != nil:
			return c, err
		case u.Gone != "":
			c.Gone = append(c.Gone, u)
		case strings.EqualFold(u.Place, at):
			c.Found = append(c.Found, u)
		default:
			c.ByMistake = append(c.ByMistake, u)
		}
	}
	expected, err := unitsAt(r, at)
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

// PlaceScanned is the place whose label a camera read: by its code, or by its name as labels had it once. One
// that nobody knows here is refused, since nothing was typed: whoever means a new place types it.
func (w *Shelf) PlaceScanned(ctx context.Context, read string) (name string, err error) {
	if read, err = ParsePlace(read); err != nil {
		return "", err
	}
	err = w.Stock.Store.View(ctx, func(r stock.Reader) error {
		if name, err = place.Read(r, read); err != nil || name != read {
			return err // the place of a code is known by being read
		}
		known, err := place.Known(r)
		if err != nil {
			return err
		}
		if name = known[place.Code(read)]; name == "" {
			return registry.Errorf(registry.NotFound,
				"place %q was read off a label, and no place of this house is called so: if it is one, type it",
				read).On("place")
		}
		return nil
	})
	return name, err
}
