package bench

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"pitman/registry"
	"pitman/registry/electrical"
	"pitman/registry/mains"
	"pitman/registry/stock"
)

// MayLookAlone says whether this person's look alone may revive the pass of this machine now, and tells of
// the work since, which whoever looks reads first.
func (w *Bench) MayLookAlone(ctx context.Context, by registry.Initials, tag registry.Tag) (m *stock.Machine,
	work []string, err error) {
	err = w.Store.View(ctx, func(r stock.Reader) error {
		if m, err = stock.Workable(r, tag); err != nil {
			return err
		}
		work, err = w.lookGate(r, m, by)
		return err
	})
	return m, work, err
}

// AskLookAlone is asked where a look alone is enough.
const AskLookAlone = "Only look, and take the pass of before as it was?"

// LookMeans says what a look alone gives back, and what was done since, which it has to be enough for.
func LookMeans(day string, work []string) string {
	return fmt.Sprintf("A look alone gives back the pass of %s, if what was done since touched nothing of "+
		"the "+
		"mains: %s.", day, strings.Join(work, "; "))
}

// lookGate refuses a look alone where the house or the records ask for a whole test.
func (w *Bench) lookGate(r stock.Reader, m *stock.Machine, by registry.Initials) (work []string, err error) {
	if err := w.SafetyGates(m, by); err != nil {
		return nil, err
	}
	rules := w.Stock.Config.Safety
	refuse := func(why string, args ...any) error {
		return registry.Errorf(registry.Conflict,
			"a look alone gives %s no pass back: %s; make the whole test",
			m.Tag, fmt.Sprintf(why, args...)).On("look-alone").
			Then(registry.Next(registry.DoSafePass, m.Tag))
	}
	switch {
	case !rules.VisualRevives:
		return nil, refuse("this house asks for a whole test (visual_revives under [safety] in house.toml " +
			"is off)")
	case m.PausedAt.IsZero():
		return nil, refuse("no pass of this house was ended by work that touched no mains part")
	case m.Stage == registry.Bench || m.HeldFrom == registry.Bench:
		return nil, refuse("it is on the bench still")
	case m.UnsafeWhy != "":
		return nil, refuse("it failed: %s", m.UnsafeWhy)
	}
	was := *m
	was.SafetyAt, was.SafetyBy = m.PausedAt, m.PausedBy
	test, err := PassOf(r, &was)
	switch {
	case err != nil:
		return nil, err
	case test == nil:
		return nil, refuse("its pass of %s was withdrawn, or is in no record", w.LocalDay(m.PausedAt))
	case !w.SafetyStands(&was):
		return nil, refuse("its pass of %s is too old", w.LocalDay(m.PausedAt))
	case test.Class != m.Class:
		return nil, refuse("its pass of %s was of class %s", w.LocalDay(m.PausedAt), test.Class)
	}
	if why := rules.Outdated(test.Form, m.Plate); why != "" {
		return nil, refuse("its pass of %s is none by today's limits (%s)", w.LocalDay(m.PausedAt), why)
	}
	since, err := sincePass(r, &was, w.LocalDay)
	if err == nil && since.bar != "" {
		err = refuse("%s", since.bar)
	}
	return since.work, err
}

// LookAlone records a competent person's look at a machine that was worked on, but not on what carries the
// mains. Where every point is right, the pass of before stands again, as old as it is; a fault holds it.
func (w *Bench) LookAlone(ctx context.Context, by registry.Initials, tag registry.Tag,
	form electrical.SafetyForm) (m *stock.Machine, test *SafetyTest, err error) {
	m, err = w.OnMachine(ctx, by, tag, "safety look", "", func(tx stock.Tx, m *stock.Machine) error {
		if _, err := w.lookGate(tx, m, by); err != nil {
			return err
		}
		if form, err = form.Look(m.Class); err != nil {
			return err
		}
		at := tx.Action().At
		test = &SafetyTest{Tag: tag, At: at, By: by, Class: m.Class, Form: form}
		if form.Visual == "fail" {
			result, err := w.Stock.Config.Safety.Judge(form, m.Plate, at.In(w.Location()))
			if err != nil {
				return err
			}
			test.Hold = result.Hold
			if err := m.SettleSafety(result, by, at); err != nil {
				return err
			}
			return tx.Put(test)
		}
		if err := w.Sign(ctx, tx, by, "a safety pass"); err != nil {
			return err
		}
		test.Pass, test.Revives = true, m.PausedAt
		m.SafetyAt, m.SafetyBy = m.PausedAt, m.PausedBy
		m.ForgetPaused()
		return tx.Put(test)
	})
	return m, test, err
}

// LookedAlone is the look alone on which the standing pass rests; nil where it rests on its test.
func LookedAlone(r stock.Reader, m *stock.Machine) (*SafetyTest, error) {
	if m.SafetyAt.IsZero() {
		return nil, nil
	}
	tests := []SafetyTest{}
	err := r.All(&tests, stock.Fields{"tag": m.Tag})
	for i := range slices.Backward(tests) {
		if tests[i].Revives.Equal(m.SafetyAt) {
			return &tests[i], err
		}
	}
	return nil, err
}

// LookOf says when somebody looked, and the standing pass came back by that; "" where it never went.
func (w *Bench) LookOf(ctx context.Context, m *stock.Machine) (said string, err error) {
	err = w.Store.View(ctx, func(r stock.Reader) error {
		look, err := LookedAlone(r, m)
		if look != nil {
			said = fmt.Sprintf("%s by %s, after bench work", w.LocalDay(look.At), look.By)
		}
		return err
	})
	return said, err
}

// Lapsed says what happened since the standing pass that should have ended it; "" where it stands rightly.
// day tells the days of the house.
func Lapsed(r stock.Reader, m *stock.Machine, day func(time.Time) string) (string, error) {
	since, err := sincePass(r, m, day)
	if err != nil || since.bar != "" || since.ended == "" {
		return since.bar, err
	}
	return since.ended + ", and nobody looked at it since", nil
}

// since is what the history tells of a machine after its pass.
type since struct {
	bar   string   // why only a whole test gives it a pass
	ended string   // the visit to the bench that no look followed
	work  []string // what was done there, in words
}

// sincePass walks the history from the record of a pass on, in the order in which things were kept: clocks
// may be set back. What was taken back was done all the same, but for a visit in which nothing was.
func sincePass(r stock.Reader, m *stock.Machine, dayOf func(time.Time) string) (s since, err error) {
	test, err := PassOf(r, m)
	if err != nil || test == nil {
		return s, err
	}
	var passed, visit int64
	err = r.Changes(string(m.Tag), func(a *registry.Action, c *registry.Change) error {
		if c.Kind == test.Kind() && c.Ref == test.ID && passed == 0 {
			passed = a.ID
		}
		if passed == 0 || a.ID == passed {
			return nil
		}
		if a.Undoes != 0 && a.Undoes == visit {
			s.ended, visit = "", 0
			return nil
		}
		day := dayOf(a.At)
		switch made := newIn(c, "tag"); {
		case c.Kind == test.Kind() && made && newIn(c, "revives"):
			s.ended, visit = "", 0
		case c.Kind == test.Kind():
			s.bar = "its last safety test is of " + day
		case c.Kind == "function_test" && made && !newIn(c, "pass"):
			s.bar = "it failed its function test on " + day
		case c.Kind == "work" && made && newIn(c, "electrical"):
			s.bar = "an electrical job was done on " + day
		case c.Kind == "work" && made:
			s.worked(a, c, day, &visit)
		case stock.TouchesMains(c):
			s.bar = "something was said on " + day + " of its parts or its plate"
		}
		return nil
	})
	return s, err
}

// worked takes down a visit to the bench, or work there. A note that names what carries the mains is taken
// at its word, whatever list the job stands on.
func (s *since) worked(a *registry.Action, c *registry.Change, day string, visit *int64) {
	said := text(c, "note")
	if mains.Named(said) {
		s.bar = fmt.Sprintf("the note %q of %s names what carries the mains", said, day)
	}
	jobs := strings.Trim(strings.ReplaceAll(text(c, "jobs"), `"`, ""), "[]")
	if mains.Named(jobs) {
		s.bar = fmt.Sprintf("the work of %s (%s) names what carries the mains", day, jobs)
	}
	did := text(c, "did")
	if did != "start" && said == "" && !newIn(c, "jobs") && !newIn(c, "minutes") {
		return
	}
	s.ended, *visit = "it was on the bench on "+day, a.ID
	s.work = append(s.work, strings.Join(strings.Fields(fmt.Sprintf("%s %s: %s %s %s", day, a.By, did, jobs,
		said)), " "))
}

// newIn says whether a change gave a field a value that is not empty.
func newIn(c *registry.Change, field string) bool {
	v, told := c.Fields[field]
	return told && v[1] != nil && v[1] != "" && v[1] != "[]" && v[1] != 0.0 && v[1] != int64(0) &&
		v[1] != false
}

// text is the text that a change gave a field.
func text(c *registry.Change, field string) string {
	said, _ := c.Fields[field][1].(string)
	return said
}
