// Package recall ends safety passes that count no longer: those that fail the limits of today, and those that
// somebody withdraws because of an instrument, a person or a time. What is in the house cannot go on without
// a new test; what left is told, and judged by the rules of its day.
package recall

import (
	"context"
	"fmt"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/stock"
)

// Recall ends passes.
type Recall struct {
	*stock.Stock
}

// Lapsed is a pass that counts no longer, and why.
type Lapsed struct {
	Tag registry.Tag `json:"tag"`
	Why string       `json:"why"`
}

// Outdated lists the machines in the house whose pass would be none by the limits of today. What comes with a
// pass and no record of a test is none of its business: a check of the house tells of it.
func (w *Recall) Outdated(r stock.Reader) (found []Lapsed, err error) {
	rules := w.Config.Safety
	// Read first, and asked for their tests then: two readings at a time would be two statements under way.
	var passed []*stock.Machine
	err = r.Machines(stock.MachineFilter{Here: true}, func(m *stock.Machine) error {
		if !m.SafetyAt.IsZero() && m.TakesMains() && m.Here() {
			one := *m
			passed = append(passed, &one)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	for _, m := range passed {
		test, err := bench.PassOf(r, m)
		if err != nil {
			return nil, err
		}
		if test == nil {
			continue
		}
		if m.SafetyKey == "" { // kept before passes named the key of their house
			letters, err := bench.PassHouse(r, m)
			if err != nil {
				return nil, err
			}
			if letters != "" {
				found = append(found, Lapsed{m.Tag, fmt.Sprintf("the pass of %s by %s counts no longer: "+
					"it was recorded in the house %s, and no signature came with it", w.LocalDay(test.At),
					test.By,
					letters)})
				continue
			}
		}
		if w.Disowned(m) {
			found = append(found, Lapsed{m.Tag, fmt.Sprintf("the pass of %s by %s counts no longer: "+
				"house.toml does not name the key of its house any more", w.LocalDay(test.At), test.By)})
			continue
		}
		ended, err := bench.Lapsed(r, m, w.LocalDay)
		if err != nil {
			return nil, err
		}
		if ended != "" {
			found = append(found, Lapsed{m.Tag, fmt.Sprintf("the pass of %s by %s counts no longer: %s",
				w.LocalDay(test.At), test.By, ended)})
			continue
		}
		if why := rules.Outdated(test.Form, m.Plate); why != "" {
			found = append(found,
				Lapsed{m.Tag, fmt.Sprintf("the pass of %s by %s counts no longer by today's limits: "+
					"%s", w.LocalDay(test.At), test.By, why)})
		}
	}
	return found, nil
}

// Rejudge ends every pass in the house that fails the limits of today, each with a line in the history of its
// machine, and returns them. It is done when the house is opened under other limits than last time.
func (w *Recall) Rejudge(ctx context.Context) (found []Lapsed, err error) {
	err = w.Store.View(ctx, func(r stock.Reader) error {
		found, err = w.Outdated(r)
		return err
	})
	if err != nil {
		return nil, err
	}
	for _, l := range found {
		if err := w.actItself(ctx, l.Why, func(tx stock.Tx) error {
			m, err := stock.MachineByTag(tx, l.Tag)
			if err != nil || m.SafetyAt.IsZero() {
				return err
			}
			if err := w.lapse(tx, m, l.Why); err != nil {
				return err
			}
			return tx.Put(m)
		}); err != nil {
			return nil, err
		}
	}
	return found, nil
}
