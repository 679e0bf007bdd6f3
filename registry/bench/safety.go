package bench

import (
	"cmp"
	"context"
	"slices"
	"strings"
	"time"

	"pitman/registry"
	"pitman/registry/electrical"
	"pitman/registry/stock"
)

// SafetyTest is one electrical safety test as a competent person recorded it: what was typed, and the limits
// beside it.
type SafetyTest struct {
	registry.Row
	Tag   registry.Tag      `json:"tag" db:"tag"`
	At    time.Time         `json:"at" db:"at"`
	By    registry.Initials `json:"by" db:"by"`
	Class string            `json:"class" db:"class"`
	Pass  bool              `json:"pass" db:"pass"`
	Hold  string            `json:"hold,omitempty" db:"hold"`
	// why a pass was withdrawn afterwards
	Withdrawn  string `json:"withdrawn,omitempty" db:"withdrawn"`
	Instrument string `json:"instrument,omitempty" db:"instrument"`
	// the instrument's calibration date on that day
	Calibrated string                          `json:"calibrated,omitempty" db:"calibrated"`
	Form       electrical.SafetyForm           `json:"form" db:"form,json"`
	Limits     registry.List[electrical.Limit] `json:"limits" db:"limits,json"`
	Notes      registry.List[string]           `json:"notes" db:"notes,json"`
	// of a look alone: when the pass was recorded that it revives
	Revives time.Time `json:"revives,omitzero" db:"revives"`
}

// Kind names the table.
func (*SafetyTest) Kind() string { return "safety_test" }

// Subject is the machine that was tested.
func (t *SafetyTest) Subject() string { return string(t.Tag) }

// MayTestSafety says whether this person may record a safety test of this machine now.
func (w *Bench) MayTestSafety(ctx context.Context, by registry.Initials, tag registry.Tag) (m *stock.Machine,
	err error) {
	err = w.Store.View(ctx, func(r stock.Reader) error {
		if m, err = stock.Workable(r, tag); err != nil {
			return err
		}
		return w.SafetyGates(m, by)
	})
	return m, err
}

func (w *Bench) SafetyGates(m *stock.Machine, by registry.Initials) error {
	return w.safetyGates(m, by, registry.DoSafePass)
}

// safetyGates are the same for a pass and a fail; a refusal names the one that was meant.
func (w *Bench) safetyGates(m *stock.Machine, by registry.Initials, action string) error {
	if err := m.SafetyForDrive(); err != nil {
		return err
	}
	if err := w.Competent(by, "record a safety test"); err != nil {
		return err
	}
	_, err := m.Step(action)
	return err
}

// meantBy says whether a form is that of a pass or of a fail, as far as it could be judged.
func meantBy(form electrical.SafetyForm, result electrical.SafetyResult, err error) string {
	if err == nil && !result.Pass || form.Visual == "fail" || len(form.VisualFaults) > 0 {
		return registry.DoSafeFail
	}
	return registry.DoSafePass
}

// Safety records an electrical safety test. A pass stands until it is too old or the wiring is worked on; a
// fail holds the machine.
func (w *Bench) Safety(ctx context.Context, by registry.Initials, tag registry.Tag,
	form electrical.SafetyForm) (m *stock.Machine, test *SafetyTest, err error) {
	m, err = w.OnMachine(ctx, by, tag, "safety", "", func(tx stock.Tx, m *stock.Machine) error {
		at := tx.Action().At
		result, err := w.Stock.Config.Safety.Judge(form, m.Plate, at.In(w.Location()))
		if err := w.safetyGates(m, by, meantBy(form, result, err)); err != nil {
			return err
		}
		if err != nil {
			return err
		}
		if result.Pass { // a fail is signed by nobody: it must never wait
			if err := m.PlugTold(result.Form); err != nil {
				return err
			}
			if err := w.Sign(ctx, tx, by, "a safety pass"); err != nil {
				return err
			}
		}
		test = &SafetyTest{Tag: tag, At: at, By: by, Class: result.Form.Class, Pass: result.Pass,
			Hold: result.Hold,
			Form: result.Form, Limits: result.Limits, Notes: result.Notes}
		if why := electrical.Mounted(result.Form, m.Weight); why != "" {
			test.Notes = append(test.Notes, why)
		}
		if in, ok := w.Stock.Config.Safety.Instrument(form.Instrument); ok {
			test.Instrument, test.Calibrated = in.ID, in.Calibrated
		} else {
			test.Instrument = form.Instrument
		}
		m.Class, m.Plate = result.Form.Class, result.Nameplate
		if err := m.SettleSafety(result, by, at); err != nil {
			return err
		}
		if result.Pass && w.Retested != nil {
			if err := w.Retested(tx, m); err != nil {
				return err
			}
		}
		return tx.Put(test)
	})
	return m, test, err
}

// SafetyTests lists the safety tests of the house, oldest first; those with one instrument when it is named,
// so that the passes of a suspect one can be found.
func (w *Bench) SafetyTests(ctx context.Context, instrument string) ([]SafetyTest, error) {
	tests := []SafetyTest{}
	err := w.Store.View(ctx, func(r stock.Reader) error { return r.All(&tests, stock.Fields{}) })
	if instrument != "" {
		tests = slices.DeleteFunc(tests,
			func(t SafetyTest) bool { return !strings.EqualFold(t.Instrument, instrument) })
	}
	return tests, err
}

// LastForm is what the safety tests of a machine last said of its class, cord and fuse, whatever came of
// them; empty where none told of it.
func (w *Bench) LastForm(ctx context.Context, tag registry.Tag) (form electrical.SafetyForm, err error) {
	tests := []SafetyTest{}
	err = w.Store.View(ctx, func(r stock.Reader) error { return r.All(&tests, stock.Fields{"tag": tag}) })
	for _, t := range tests {
		form.Class = cmp.Or(t.Class, form.Class)
		form.CordLength = cmp.Or(t.Form.CordLength, form.CordLength)
		form.CordArea = cmp.Or(t.Form.CordArea, form.CordArea)
		form.Fuse = cmp.Or(t.Form.Fuse, form.Fuse)
	}
	return form, err
}

// PassOf is the test by which the machine has its standing pass; nil when no record tells of it.
func PassOf(r stock.Reader, m *stock.Machine) (*SafetyTest, error) {
	tests := []SafetyTest{}
	if err := r.All(&tests, stock.Fields{"tag": m.Tag}); err != nil {
		return nil, err
	}
	for i := range slices.Backward(tests) { // of two in one moment the later counts
		if t := &tests[i]; t.Pass && t.Withdrawn == "" && t.Revives.IsZero() && t.At.Equal(m.SafetyAt) {
			return t, nil
		}
	}
	return nil, nil
}

// PassHouse is the letters of the house in which the standing pass was recorded; "" for this one, and where
// there is none.
func PassHouse(r stock.Reader, m *stock.Machine) (letters string, err error) {
	if m.SafetyAt.IsZero() {
		return "", nil
	}
	test, err := PassOf(r, m)
	if err != nil || test == nil {
		return "", err
	}
	err = r.Changes(string(m.Tag), func(a *registry.Action, c *registry.Change) error {
		if _, made := c.Fields["class"]; made && c.Kind == test.Kind() && c.Ref == test.ID {
			letters, _, _ = strings.Cut(a.Origin, "/")
		}
		return nil
	})
	return letters, err
}

// HouseOfPass is PassHouse for whoever shows one machine.
func (w *Bench) HouseOfPass(ctx context.Context, m *stock.Machine) (letters string, err error) {
	err = w.Store.View(ctx, func(r stock.Reader) error {
		letters, err = PassHouse(r, m)
		return err
	})
	return letters, err
}
