package bench

import (
	"context"
	"maps"
	"slices"
	"strings"
	"time"

	"pitman/registry"
	"pitman/registry/measure"
	"pitman/registry/promise"
	"pitman/registry/stock"
)

// FunctionTest is one function test of a machine. Every one is kept, the failed ones too.
type FunctionTest struct {
	registry.Row
	Tag    registry.Tag               `json:"tag" db:"tag"`
	At     time.Time                  `json:"at" db:"at"`
	By     registry.Initials          `json:"by" db:"by"`
	Drive  registry.Drive             `json:"drive" db:"drive"`
	Pass   bool                       `json:"pass" db:"pass"`
	Points registry.List[PointResult] `json:"points" db:"points,json"`
}

// Kind names the table.
func (*FunctionTest) Kind() string { return "function_test" }

// Subject is the machine that was tested.
func (t *FunctionTest) Subject() string { return string(t.Tag) }

// PointResult is the answer to one point.
type PointResult struct {
	Point string `json:"point"`
	Pass  bool   `json:"pass"`
	Fault string `json:"fault,omitempty"`
	// a measured point that was passed by eye
	NotMeasured bool `json:"not_measured,omitempty"`
	// why the point does not apply to this machine, which neither passed nor failed it
	NotApplicable string                `json:"na,omitempty"`
	Stitch        *measure.StitchLength `json:"stitch,omitempty"`
	// at other settings, and in reverse
	Seams []measure.StitchLength `json:"seams,omitempty"`
}

// TestForm is a function test as it is typed.
type TestForm struct {
	PassAll bool                  // every point that is not named passes
	Pass    []string              // points that pass
	Fail    map[string]string     // points that fail, with what was seen
	Lacks   map[string]string     // points that do not apply, with the reason
	Stitch  *measure.StitchCheck  // the seam beside the ruler, where it was measured
	Seams   []measure.StitchCheck // more seams: at other settings, or in reverse
	Danger  bool                  // heat, smoke, smell, sparks, a shock or a tripped breaker while it ran
}

// PointsFor lists the points asked of this machine. A test of no points would pass every machine, so there is
// none.
func (w *Bench) PointsFor(m *stock.Machine) ([]TestPoint, error) {
	list, err := w.Lists.Points()
	if err != nil {
		return nil, err
	}
	points := slices.DeleteFunc(slices.Clone(list),
		func(p TestPoint) bool { return !p.AskedOf(m) })
	if len(points) == 0 {
		return nil, registry.Errorf(registry.Conflict,
			"%s has %s drive, and lists/points.csv has no point for it, so it cannot be tested: add the "+
				"points to that list",
			m.Tag, m.Drive)
	}
	return points, nil
}

// Test records a function test: a pass makes the machine ready, a fail sends it back to the bench with its
// faults.
func (w *Bench) Test(ctx context.Context, by registry.Initials, tag registry.Tag,
	form TestForm) (m *stock.Machine, test *FunctionTest, err error) {
	m, err = w.OnMachine(ctx, by, tag, "test", "", func(tx stock.Tx, m *stock.Machine) error {
		if err := w.TestGates(tx, m, by); err != nil {
			return err
		}
		points, err := w.PointsFor(m)
		if err != nil {
			return err
		}
		results, err := w.judgePoints(points, form)
		if err != nil {
			return err
		}
		at := tx.Action().At
		pass := !slices.ContainsFunc(results, func(p PointResult) bool { return !p.Pass })
		test = &FunctionTest{Tag: tag, At: at, By: by, Drive: m.Drive, Pass: pass, Points: results}
		action := registry.DoTestFail
		if pass {
			action = registry.DoTestPass
			if err := w.WholeGate(tx, m); err != nil {
				return err
			}
		}
		if err := m.MoveTo(action, at); err != nil {
			return err
		}
		m.CancelTest()
		if pass {
			m.TestedAt, m.TestedBy = at, by
			if err := tried(tx, m, by, at); err != nil {
				return err
			}
		} else if err := failedUnderPower(m, test, form.Danger, at); err != nil {
			return err
		}
		return tx.Put(test)
	})
	return m, test, err
}

// AskDanger is asked once after a machine that takes the mains failed its function test.
const AskDanger = "Was there heat, smoke, a smell, sparks, a shock or a tripped breaker?"

// failedUnderPower cancels the safety pass of a machine that takes the mains and did not run as it should;
// what was dangerous holds it.
func failedUnderPower(m *stock.Machine, test *FunctionTest, danger bool, at time.Time) error {
	if !m.TakesMains() {
		return nil
	}
	m.CancelSafety()
	if !danger {
		return nil
	}
	if err := m.MoveTo(registry.DoSafeFail, at); err != nil {
		return err
	}
	var said []string
	for _, p := range test.Faults() {
		said = append(said, p.Point+" "+p.Fault)
	}
	m.UnsafeUnderPower(strings.Join(said, "; "))
	return nil
}

// WholeGate refuses to pass a head that lacks a part which its drive needs.
func (w *Bench) WholeGate(r stock.Reader, m *stock.Machine) error {
	if w.Lacking == nil {
		return nil
	}
	parts, err := w.Lacking(r, m)
	if err != nil || len(parts) == 0 {
		return err
	}
	return registry.Errorf(registry.Conflict,
		"%s lacks %s, taken off it as spares: fit one at the bench before it passes its function test",
		m.Tag, strings.Join(parts, ", "))
}

// tried notes on the place of a promised head that it was tried as it goes.
func tried(tx stock.Tx, m *stock.Machine, by registry.Initials, at time.Time) error {
	if m.Stage != registry.Reserved {
		return nil
	}
	s, err := promise.SetOf(tx, m.Tag)
	if registry.CodeOf(err) == registry.NotFound {
		return nil
	}
	if err != nil {
		return err
	}
	s.TriedAt, s.TriedBy = at, by
	return tx.Put(s)
}

// MayTest says whether this person may test this machine now, before anybody is asked a point.
func (w *Bench) MayTest(ctx context.Context, by registry.Initials, tag registry.Tag) (m *stock.Machine,
	err error) {
	err = w.Store.View(ctx, func(r stock.Reader) error {
		if m, err = stock.Workable(r, tag); err != nil {
			return err
		}
		return w.TestGates(r, m, by)
	})
	return m, err
}

// TestGates asks in the order in which they can be mended: the right stage, then safety, then the second
// person.
func (w *Bench) TestGates(r stock.Reader, m *stock.Machine, by registry.Initials) error {
	if _, err := m.Step(registry.DoTestPass); err != nil {
		return err
	}
	if err := w.SafetyGate(m, "the function test"); err != nil {
		return err
	}
	if !slices.Contains(w.Config.SecondPerson, m.Drive) {
		return nil
	}
	people, err := Refurbishers(r, m.Tag)
	if err != nil {
		return err
	}
	if slices.Contains(people, by) {
		return registry.Errorf(registry.Conflict,
			"%s worked on %s, and here another person tests %s machines: hand it to someone else, who "+
				"gives their own initials",
			by, m.Tag, m.Drive).On("by")
	}
	return nil
}

// judgePoints answers every point or refuses the form.
func (w *Bench) judgePoints(points []TestPoint, form TestForm) (registry.List[PointResult], error) {
	known := make([]string, len(points))
	for i, p := range points {
		known[i] = p.Point
	}
	named := append(slices.Sorted(maps.Keys(form.Fail)), slices.Sorted(maps.Keys(form.Lacks))...)
	for _, name := range append(named, form.Pass...) {
		if !slices.Contains(known, name) {
			return nil, registry.Errorf(registry.Invalid,
				"point %q is not tested on this machine: type one of %s", name, strings.Join(known, ", "))
		}
	}
	var results registry.List[PointResult]
	var missing []string
	var err error
	measured := false
	for _, p := range points {
		fault, fails := form.Fail[p.Point]
		passes := slices.Contains(form.Pass, p.Point)
		if fails && passes {
			return nil, registry.Errorf(registry.Invalid, "point %q is both passed and failed: give it once",
				p.Point)
		}
		result := PointResult{Point: p.Point, Pass: !fails}
		why, lacks := form.Lacks[p.Point]
		if lacks {
			if passes || fails {
				return nil, registry.Errorf(registry.Invalid,
					"point %q is both n/a and answered: give it once", p.Point)
			}
			if result.NotApplicable, err = w.lacking(p, why); err != nil {
				return nil, err
			}
			results = append(results, result)
			continue
		}
		if fails {
			text, err := registry.CleanText("fault of "+p.Point, fault, registry.MaxText)
			if err != nil {
				return nil, err
			}
			if result.Fault = text; text == "" {
				return nil, registry.Errorf(registry.Invalid,
					"fault of %s is missing: say what you saw, such as \"loops below\"", p.Point).On("fail")
			}
		}
		switch {
		case p.Measured == MeasuredStitch && form.measures():
			measured = true
			if err := w.judgeStitches(&result, form); err != nil {
				return nil, err
			}
		case !fails && !passes && !form.PassAll:
			missing = append(missing, p.Point)
		case p.Measured != "" && !fails:
			result.NotMeasured = true
		}
		results = append(results, result)
	}
	if form.measures() && !measured {
		return nil, registry.Errorf(registry.Invalid,
			"stitch length is not tested on this machine: leave it out").On("ruler")
	}
	if len(missing) == 0 && !slices.ContainsFunc(results,
		func(p PointResult) bool { return p.NotApplicable == "" }) {
		return nil, registry.Errorf(registry.Invalid,
			"every point is n/a, so nothing was tested: answer at least one").On("pass")
	}
	if len(missing) > 0 {
		return nil, registry.Errorf(registry.Invalid,
			"%s not answered: say of each whether it passed or failed, or that all the rest passed",
			strings.Join(missing, ", ")).
			On("pass")
	}
	return results, nil
}

// lacking is the reason why a point does not apply, if it may be so.
func (w *Bench) lacking(p TestPoint, why string) (string, error) {
	if !p.MayLack {
		return "", registry.Errorf(registry.Invalid,
			"point %q is never n/a: every such machine has it; say whether it passed or failed", p.Point)
	}
	text, err := registry.CleanText("reason of "+p.Point, why, registry.MaxText)
	if err == nil && text == "" {
		err = registry.Errorf(registry.Invalid,
			"reason of %s is missing: say why it does not apply, such as \"made without one\"", p.Point).
			On("na")
	}
	return text, err
}

// Faults lists what the test found.
func (t *FunctionTest) Faults() []PointResult {
	return slices.DeleteFunc(slices.Clone(t.Points), func(p PointResult) bool { return p.Pass })
}

// FaultSlip is what goes back to the bench with the machine: its last failed test, if nothing passed since.
// It names the fault and no person.
func (w *Bench) FaultSlip(ctx context.Context, tag registry.Tag) (m *stock.Machine, test *FunctionTest,
	err error) {
	err = w.Store.View(ctx, func(r stock.Reader) error {
		if m, err = stock.MachineByTag(r, tag); err != nil {
			return err
		}
		test, err = OpenFaults(r, tag)
		return err
	})
	if err == nil && test == nil {
		err = registry.Errorf(registry.NotFound,
			"%s has no open faults: its last function test passed, or it had none", tag)
	}
	return m, test, err
}

// OpenFaults is the machine's last function test if it failed, else nil.
func OpenFaults(r stock.Reader, tag registry.Tag) (*FunctionTest, error) {
	var tests []FunctionTest
	if err := r.All(&tests, stock.Fields{"tag": tag}); err != nil || len(tests) == 0 {
		return nil, err
	}
	if last := &tests[len(tests)-1]; !last.Pass {
		return last, nil
	}
	return nil, nil
}
