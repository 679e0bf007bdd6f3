// Package plates has serials read a second time, off the picture of a machine's number plate. Whoever reads
// it is not shown what stands in the registry, so that two people who agree have each read it; a slip between
// 3 and 8 at the door gives a machine another year for good.
package plates

import (
	"context"
	"slices"
	"time"

	"pitman/registry"
	"pitman/registry/pictures"
	"pitman/registry/stock"
)

// Plates is the room where serials are read again.
type Plates struct{ *stock.Stock }

// Reading says that somebody read a machine's serial off the picture of its plate, as the registry had it
// then.
type Reading struct {
	registry.Row
	Tag    registry.Tag      `json:"tag" db:"tag"`
	Serial string            `json:"serial" db:"serial"`
	Photo  string            `json:"photo" db:"photo"` // the picture that it was read off
	At     time.Time         `json:"at" db:"read_at"`
	By     registry.Initials `json:"by" db:"read_by"`
}

// Kind names the table.
func (*Reading) Kind() string { return "reading" }

// Subject is the machine whose plate it is.
func (r *Reading) Subject() string { return string(r.Tag) }

// Plate is a machine whose serial waits to be read again. It does not say what stands in the registry.
type Plate struct {
	Tag    registry.Tag `json:"tag"`
	Maker  string       `json:"maker"`
	Photos []string     `json:"photos"` // of its plate, the latest first
	Since  time.Time    `json:"since"`  // when the first of them came
}

// PlatesToRead lists the machines in the house with a picture of their plate, whose serial nobody has read
// off it as it stands now; those that wait longest first.
func (w *Plates) PlatesToRead(ctx context.Context) (waits []Plate, err error) {
	err = w.Store.View(ctx, func(r stock.Reader) error { waits, err = ToRead(r); return err })
	return waits, err
}

// ToRead is the list, read along with whatever else is asked.
func ToRead(r stock.Reader) ([]Plate, error) {
	var shown []pictures.Photo
	if err := r.All(&shown, stock.Fields{"shows": pictures.Plate, "gone": ""}); err != nil {
		return nil, err
	}
	at := map[registry.Tag]int{}
	waits := []Plate{}
	for _, p := range shown {
		i, known := at[p.Tag]
		if !known {
			i = len(waits)
			at[p.Tag] = i
			waits = append(waits, Plate{Tag: p.Tag, Since: p.At})
		}
		waits[i].Photos = append([]string{p.Name}, waits[i].Photos...)
	}
	var read []Reading
	if err := r.All(&read, nil); err != nil {
		return nil, err
	}
	of := map[registry.Tag][]Reading{}
	for _, one := range read {
		of[one.Tag] = append(of[one.Tag], one)
	}
	kept := waits[:0]
	for _, p := range waits {
		m := &stock.Machine{}
		err := r.Get(m, stock.Fields{"tag": p.Tag})
		if registry.CodeOf(err) == registry.NotFound {
			continue // it is a base
		}
		if err != nil {
			return nil, err
		}
		if m.Here() && m.SerialKey != "" && lastOf(of[p.Tag], m) == nil {
			p.Maker = m.Maker
			kept = append(kept, p)
		}
	}
	slices.SortStableFunc(kept, func(a, b Plate) int { return a.Since.Compare(b.Since) })
	return kept, nil
}

// ReadAgain is who read a machine's serial off its plate as it stands now; nil when nobody did.
func (w *Plates) ReadAgain(ctx context.Context, m *stock.Machine) (read *Reading, err error) {
	err = w.Store.View(ctx, func(r stock.Reader) error { read, err = lastReading(r, m); return err })
	return read, err
}

// lastReading is the last one of the serial as it stands now: one of another serial says nothing of this.
func lastReading(r stock.Reader, m *stock.Machine) (*Reading, error) {
	var all []Reading
	err := r.All(&all, stock.Fields{"tag": m.Tag})
	return lastOf(all, m), err
}

func lastOf(all []Reading, m *stock.Machine) *Reading {
	for _, one := range slices.Backward(all) {
		if keyOf(m, one.Serial) == m.SerialKey {
			return &one
		}
	}
	return nil
}

// keyOf is by which a serial is compared with others.
func keyOf(m *stock.Machine, serial string) string {
	read := stock.Machine{Maker: m.Maker, Serial: serial}
	read.Key()
	return read.SerialKey
}

// ReadPlate keeps that somebody read this serial off a machine's plate, if it is the one that stands in the
// registry. Another is refused, and which of the two holds is for people to see: nothing is written.
func (w *Plates) ReadPlate(ctx context.Context, by registry.Initials, tag registry.Tag,
	serial string) (*stock.Machine, error) {
	return w.OnMachine(ctx, by, tag, "plate read", "", func(tx stock.Tx, m *stock.Machine) error {
		shown, err := platesOf(tx, m)
		if err != nil {
			return err
		}
		typist, err := typedBy(tx, m)
		if err != nil {
			return err
		}
		if typist == by {
			return registry.Errorf(registry.Conflict,
				"%s typed this serial, and somebody else reads it again: let another person do it", by)
		}
		field, _ := stock.FieldNamed("serial")
		typed := stock.Machine{}
		if err := field.Set(&typed, []string{serial}); err != nil {
			return err
		}
		if typed.Serial == "" {
			return registry.Errorf(registry.Invalid,
				"the serial is missing: type what stands on the plate").On("serial")
		}
		if m.SerialKey == "" || keyOf(m, typed.Serial) != m.SerialKey {
			return registry.Errorf(registry.Conflict,
				"serial %q was read off the plate, and the registry has %q for %s: look at the picture once "+
					"more; type what the registry has if you misread, else correct the machine", typed.Serial,
				m.Serial, tag).On("serial").Then(registry.Next(registry.DoAmend, tag).With("serial",
				typed.Serial))
		}
		return tx.Put(&Reading{Tag: tag, Serial: typed.Serial, Photo: shown[len(shown)-1].Name, At: tx.Action().At,
			By: by})
	})
}

// typedBy is who typed the serial as it stands.
func typedBy(r stock.Reader, m *stock.Machine) (who registry.Initials, err error) {
	who = m.LoggedBy
	err = r.Changes(string(m.Tag), func(a *registry.Action, c *registry.Change) error {
		if _, typed := c.Fields["serial"]; typed && c.Kind == m.Kind() {
			who = a.By
		}
		return nil
	})
	return who, err
}

// PlatePictures are those off which a machine's serial can be read, the latest last.
func (w *Plates) PlatePictures(ctx context.Context, m *stock.Machine) (shown []pictures.Photo, err error) {
	err = w.Store.View(ctx, func(r stock.Reader) error { shown, err = platesOf(r, m); return err })
	return shown, err
}

func platesOf(r stock.Reader, m *stock.Machine) (shown []pictures.Photo, err error) {
	err = r.All(&shown, stock.Fields{"tag": m.Tag, "shows": pictures.Plate, "gone": ""})
	if err == nil && len(shown) == 0 {
		err = registry.Errorf(registry.NotFound,
			"%s has no picture of its plate to read: add one that shows the plate", m.Tag)
	}
	return shown, err
}
