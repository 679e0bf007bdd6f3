package registry

import (
	"context"
	"slices"
	"strings"
	"time"
)

// SafetyTest is one electrical safety test as a competent person recorded it: what was typed, and the limits beside it.
type SafetyTest struct {
	Row
	Tag        Tag          `json:"tag" db:"tag"`
	At         time.Time    `json:"at" db:"at"`
	By         Initials     `json:"by" db:"by"`
	Class      string       `json:"class" db:"class"`
	Pass       bool         `json:"pass" db:"pass"`
	Hold       string       `json:"hold,omitempty" db:"hold"`
	Instrument string       `json:"instrument,omitempty" db:"instrument"`
	Calibrated string       `json:"calibrated,omitempty" db:"calibrated"` // the instrument's calibration date on that day
	Form       SafetyForm   `json:"form" db:"form,json"`
	Limits     List[Limit]  `json:"limits" db:"limits,json"`
	Notes      List[string] `json:"notes" db:"notes,json"`
}

// Kind names the table.
func (*SafetyTest) Kind() string { return "safety_test" }

// Subject is the machine that was tested.
func (t *SafetyTest) Subject() string { return string(t.Tag) }

// MayTestSafety says whether this person may record a safety test of this machine now.
func (w *Workshop) MayTestSafety(ctx context.Context, by Initials, tag Tag) (m *Machine, err error) {
	err = w.Store.View(ctx, func(r Reader) error {
		if m, err = workable(r, tag); err != nil {
			return err
		}
		return w.safetyGates(m, by)
	})
	return m, err
}

func (w *Workshop) safetyGates(m *Machine, by Initials) error {
	if err := m.safetyForDrive(); err != nil {
		return err
	}
	if err := w.competent(by, "record a safety test"); err != nil {
		return err
	}
	_, err := m.step(doSafePass)
	return err
}

// safetyForDrive refuses a safety test of what has no motor.
func (m *Machine) safetyForDrive() error {
	if m.Drive != Electric {
		return Errorf(Conflict, "%s has %s drive: a safety test is for electric machines; if it has a motor, correct it with pitman amend %s --drive "+
			"electric", m.Tag, m.Drive, m.Tag)
	}
	return nil
}

// competent refuses what only the people on the house's list may do.
func (w *Workshop) competent(by Initials, what string) error {
	if slices.Contains(w.Config.Safety.Competent, string(by)) {
		return nil
	}
	listed, ask := "nobody is on it yet", ""
	if people := w.Config.Safety.Competent; len(people) > 0 {
		listed, ask = "on it: "+strings.Join(people, ", "), "ask one of them; "
	}
	return Errorf(Conflict, "%s is not on the house's list of competent people, who alone may %s (%s): %sthe house puts them in house.toml under "+
		"[safety] competent, as local codes ask",
		by, what, listed, ask)
}

// Safety records an electrical safety test. A pass stands until it is too old or the wiring is worked on; a fail holds the machine.
func (w *Workshop) Safety(ctx context.Context, by Initials, tag Tag, form SafetyForm) (m *Machine, test *SafetyTest, err error) {
	m, err = w.onMachine(ctx, by, tag, "safety", "", func(tx Tx, m *Machine) error {
		if err := w.safetyGates(m, by); err != nil {
			return err
		}
		at := tx.Action().At
		result, err := w.Config.Safety.Judge(form, m.Plate, at.In(w.Config.Location()))
		if err != nil {
			return err
		}
		test = &SafetyTest{Tag: tag, At: at, By: by, Class: result.Form.Class, Pass: result.Pass, Hold: result.Hold,
			Form: result.Form, Limits: result.Limits, Notes: result.Notes}
		if in, ok := w.Config.Safety.instrument(form.Instrument); ok {
			test.Instrument, test.Calibrated = in.ID, in.Calibrated
		} else {
			test.Instrument = form.Instrument
		}
		m.Class, m.Plate = result.Form.Class, result.Nameplate
		if err := m.settleSafety(result, by, at); err != nil {
			return err
		}
		return tx.Put(test)
	})
	return m, test, err
}

// settleSafety moves the machine as the result asks.
func (m *Machine) settleSafety(result SafetyResult, by Initials, at time.Time) error {
	if !result.Pass {
		m.unsafe()
		if err := m.moveTo(doSafeFail, at); err != nil {
			return err
		}
		m.UnsafeWhy = result.Hold
		return nil
	}
	m.SafetyAt, m.SafetyBy = at, by
	action := doSafePass
	if m.UnsafeWhy != "" && m.HeldWhy == "" {
		action = doSafeClear
	}
	m.UnsafeWhy = ""
	return m.moveTo(action, at)
}

// SafetyTests lists the safety tests of the house, oldest first; those with one instrument when it is named, so that the passes
// of a suspect one can be found.
func (w *Workshop) SafetyTests(ctx context.Context, instrument string) ([]SafetyTest, error) {
	tests := []SafetyTest{}
	err := w.Store.View(ctx, func(r Reader) error { return r.All(&tests, Fields{}) })
	if instrument != "" {
		tests = slices.DeleteFunc(tests, func(t SafetyTest) bool { return !strings.EqualFold(t.Instrument, instrument) })
	}
	return tests, err
}
