package stock

import (
	"context"
	"fmt"
	"pitman/serials/names"
	"slices"

	"pitman/registry"
)

// Log takes a machine in: it gets its tag and its estimate. With again, the house's having that maker and
// serial already is no reason to refuse.
func (w *Stock) Log(ctx context.Context, by registry.Initials, m *Machine, again bool) error {
	if m.Stitch == "" {
		m.Stitch = "lockstitch"
	}
	if err := m.Validate(); err != nil {
		return err
	}
	if err := w.Fill(&Machine{}, m); err != nil {
		return err
	}
	if err := w.Estimate(m); err != nil {
		return err
	}
	return w.Act(ctx, by, "log", "", func(tx Tx) error {
		if !again {
			found, err := Twins(tx, m)
			if err != nil {
				return err
			}
			if len(found) > 0 {
				return registry.Errorf(registry.Conflict,
					"serial %q of %s is in the house already, as %s: if this is another "+
						"machine, log it again", m.Serial, m.Maker,
					found[0].Tag).On("serial").Then(registry.Next(registry.DoLogAgain, ""))
			}
		}
		if err := checkArrival(tx, m.ArrivedWith, BaseByTag); err != nil {
			return err
		}
		return w.Enter(tx, m)
	})
}

// checkArrival refuses a tag to have arrived with that find does not know in this house; empty is one that
// came alone.
func checkArrival[T any](r Reader, tag registry.Tag, find func(Reader, registry.Tag) (*T, error)) error {
	if tag == "" {
		return nil
	}
	_, err := find(r, tag)
	return registry.OnField("arrived-with", registry.Prefixed("arrived-with", err))
}

// Twins finds machines of the same maker and serial number.
func Twins(r Reader, m *Machine) ([]Machine, error) {
	if m.SerialKey == "" {
		return nil, nil
	}
	var found []Machine
	err := r.All(&found, Fields{"maker_key": m.MakerKey, "serial_key": m.SerialKey})
	return slices.DeleteFunc(found, func(t Machine) bool { return t.Tag == m.Tag }), err
}

// Amend corrects what is known of a machine; the estimate follows. The history keeps the old values.
func (w *Stock) Amend(ctx context.Context, by registry.Initials, tag registry.Tag, why string,
	correct func(*Machine) error) (m *Machine, err error) {
	err = w.Act(ctx, by, "amend", why, func(tx Tx) error {
		if m, err = MachineByTag(tx, tag); err != nil {
			return err
		}
		before, known := m.ArrivedWith, m.Known
		if err := w.Correct(tx, by, m, correct); err != nil {
			return err
		}
		m.SaidBy(by, known)
		if m.ArrivedWith != before {
			if err := checkArrival(tx, m.ArrivedWith, BaseByTag); err != nil {
				return err
			}
		}
		return tx.Put(m)
	})
	return m, err
}

// Redating is a machine whose estimate is no longer what the tables say.
type Redating struct {
	Tag    registry.Tag `json:"tag"`
	Maker  string       `json:"maker"`
	Serial string       `json:"serial"`
	Was    string       `json:"was"`
	Now    string       `json:"now"`
	Before Estimate     `json:"before"`
	After  Estimate     `json:"after"`
	Kept   bool         `json:"kept"` // no table here has the row that dated it, so it keeps its year
}

// Estimate is when a machine was made.
type Estimate struct {
	From  *int   `json:"from"`
	To    *int   `json:"to"`
	Best  *int   `json:"best"`
	Basis string `json:"basis"`
	About bool   `json:"about"`
}

// Stale lists the machines that the present tables would date otherwise. What another house has is dated
// there: a change here would part the two histories, and the machine could not come back.
func (w *Stock) Stale(ctx context.Context) (stale []Redating, err error) {
	err = w.Store.View(ctx, func(r Reader) error {
		stale, err = w.stale(r)
		return err
	})
	return stale, err
}

// Redate gives the machines that Stale lists their new estimate, in one action. While a table is unread it is
// refused: the machines that the table dates would lose their years.
func (w *Stock) Redate(ctx context.Context, by registry.Initials) (stale []Redating, err error) {
	tables, err := w.Tables()
	if err != nil {
		return nil, err
	}
	for _, u := range tables.Unread() {
		if u.Whole {
			return nil, registry.Errorf(registry.Conflict,
				"%s; until it is, nothing is dated anew: machines that it dates would lose their years", u)
		}
	}
	err = w.Act(ctx, by, "redate", "", func(tx Tx) error {
		if stale, err = w.stale(tx); err != nil {
			return err
		}
		for _, s := range stale {
			if s.Kept {
				continue
			}
			m, err := MachineByTag(tx, s.Tag)
			if err != nil {
				return err
			}
			fresh, _, err := w.redated(m)
			if err != nil {
				return err
			}
			if err := tx.Put(&fresh); err != nil {
				return err
			}
		}
		return nil
	})
	return stale, err
}

func (w *Stock) stale(r Reader) (stale []Redating, err error) {
	stale = []Redating{}
	n := int64(0)
	err = r.Machines(MachineFilter{Here: true}, func(m *Machine) error {
		if n++; w.Tick != nil {
			w.Tick(n)
		}
		fresh, kept, err := w.redated(m)
		if err != nil {
			return fmt.Errorf("%s: %w", m.Tag, err)
		}
		before, after := m.Estimate(), fresh.Estimate()
		if kept || !before.same(after) {
			stale = append(stale,
				Redating{m.Tag, m.Maker, m.Serial, m.Year(), fresh.Year(), before, after, kept})
		}
		return nil
	})
	return stale, err
}

// Estimate is the machine's own.
func (m *Machine) Estimate() Estimate { return Estimate{m.From, m.To, m.Best, m.Basis, m.About} }

func (e Estimate) same(o Estimate) bool {
	return e.Basis == o.Basis && e.About == o.About && sameYear(e.From, o.From) && sameYear(e.To, o.To) &&
		sameYear(e.Best, o.Best)
}

func sameYear(a, b *int) bool { return a == b || a != nil && b != nil && *a == *b }

// sameEvidence says whether both would be dated alike.
func (m *Machine) sameEvidence(o *Machine) bool {
	return m.Maker == o.Maker && m.Serial == o.Serial && m.Model == o.Model &&
		slices.Equal(m.Patents, o.Patents) &&
		slices.Equal(m.PatentYears, o.PatentYears) && slices.Equal(m.Seen, o.Seen) &&
		slices.Equal(m.Clues, o.Clues) &&
		sameYear(m.Known, o.Known) && m.Because == o.Because
}

// MakerKey is the same for every way in which people write one maker's name.
func MakerKey(maker string) string { return names.MakerKey(maker) }

// Twins finds the machines in the house that have this one's maker and serial number.
func (w *Stock) Twins(ctx context.Context, m *Machine) (found []Machine, err error) {
	fresh := *m
	if err := w.Estimate(&fresh); err != nil {
		return nil, err
	}
	err = w.Store.View(ctx, func(r Reader) error {
		found, err = Twins(r, &fresh)
		return err
	})
	return found, err
}
