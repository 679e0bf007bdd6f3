package intake

import (
	"context"
	"slices"

	"pitman/registry"
	"pitman/registry/stock"
)

// Log takes a machine in: it gets its tag and its estimate. With again, the house's having that maker and
// serial already is no reason to refuse.
func (w *Intake) Log(ctx context.Context, by registry.Initials, m *stock.Machine, again bool) error {
	if m.Stitch == "" {
		m.Stitch = "lockstitch"
	}
	if err := m.Validate(); err != nil {
		return err
	}
	if err := w.Fill(&stock.Machine{}, m); err != nil {
		return err
	}
	if err := w.Estimate(m); err != nil {
		return err
	}
	return w.Stock.Act(ctx, by, "log", "", func(tx stock.Tx) error {
		if err := bindBlank(tx, m.Tag); err != nil {
			return err
		}
		if !again {
			found, err := Twins(tx, m)
			if err != nil {
				return err
			}
			if len(found) > 0 {
				return registry.Errorf(registry.Conflict,
					"serial %q of %s is in the house already, as %s: if this is another machine, log it "+
						"again", m.Serial, m.Maker,
					found[0].Tag).On("serial").Then(registry.Next(registry.DoLogAgain, ""))
			}
		}
		if err := CheckArrival(tx, m); err != nil {
			return err
		}
		return w.Enter(tx, m)
	})
}

// Twins finds machines of the same maker and serial number.
func Twins(r stock.Reader, m *stock.Machine) ([]stock.Machine, error) {
	if m.SerialKey == "" {
		return nil, nil
	}
	var found []stock.Machine
	err := r.All(&found, stock.Fields{"maker_key": m.MakerKey, "serial_key": m.SerialKey})
	return slices.DeleteFunc(found, func(t stock.Machine) bool { return t.Tag == m.Tag }), err
}

// Amend corrects what is known of a machine; the estimate follows. The history keeps the old values.
func (w *Intake) Amend(ctx context.Context, by registry.Initials, tag registry.Tag, why string,
	correct func(*stock.Machine) error) (m *stock.Machine, err error) {
	err = w.Stock.Act(ctx, by, "amend", why, func(tx stock.Tx) error {
		if m, err = stock.MachineByTag(tx, tag); err != nil {
			return err
		}
		was := *m
		if err := w.Correct(tx, by, m, correct); err != nil {
			return err
		}
		return w.Keep(tx, &was, m)
	})
	return m, err
}

// Twins finds the machines in the house that have this one's maker and serial number.
func (w *Intake) Twins(ctx context.Context, m *stock.Machine) (found []stock.Machine, err error) {
	fresh := *m
	if err := w.Estimate(&fresh); err != nil {
		return nil, err
	}
	err = w.Stock.Store.View(ctx, func(r stock.Reader) error {
		found, err = Twins(r, &fresh)
		return err
	})
	return found, err
}
