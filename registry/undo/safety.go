package undo

import (
	"slices"

	"pitman/registry"
	"pitman/registry/stock"
)

// guardSafety lets no undoing bring a machine further than its tests stand. A hold by a failed safety test is
// ended by competent people alone; a failed test is never undone into ready; and a pass that the undoing
// would bring back counts no more, but when somebody takes back a bench visit of theirs within minutes in
// which nothing was noted.
func (w *Reversal) guardSafety(tx stock.Tx, by registry.Initials, last *registry.Action,
	before []*stock.Machine) error {
	for _, was := range before {
		m, err := stock.MachineByTag(tx, was.Tag)
		if registry.CodeOf(err) == registry.NotFound {
			if err := w.guardForgotten(tx, by, was.Tag); err != nil {
				return err
			}
			continue
		}
		if err != nil {
			return err
		}
		if err := w.guard(tx, by, last, was, m); err != nil {
			return err
		}
		if err := tx.Put(m); err != nil {
			return err
		}
	}
	return nil
}

// guardForgotten lets competent people alone take out of the house what had a safety test, or was held as
// unsafe, also when that was taken back since: logged anew, maybe as hand, it would know nothing
// of it.
func (w *Reversal) guardForgotten(r stock.Reader, by registry.Initials, tag registry.Tag) error {
	judged := false
	err := r.Changes(string(tag), func(_ *registry.Action, c *registry.Change) error {
		_, unsafe := c.Fields["unsafe_why"]
		judged = judged || c.Kind == "safety_test" || unsafe && c.Kind == registry.UnitMachine
		return nil
	})
	if err != nil || !judged {
		return err
	}
	return w.Competent(by, "undo the logging of a machine that had a safety test")
}

func (w *Reversal) guard(tx stock.Tx, by registry.Initials, last *registry.Action, was,
	m *stock.Machine) error {
	if was.UnsafeWhy != "" && m.UnsafeWhy == "" {
		if err := w.Competent(by, "undo a failed safety test"); err != nil {
			return err
		}
	}
	slip, err := w.OwnSlip(tx, by, m.Tag, last)
	if err != nil {
		return err
	}
	if m.LosesMains(was) && !slip {
		return registry.Errorf(registry.Conflict,
			"%s of %s cannot be undone any more: it put on, or told of, what takes the mains; say part by "+
				"part what was taken off, and convert it", last.Verb,
			m.Tag).Then(registry.Next(registry.DoConvert, m.Tag))
	}
	back := !slip && (was.HandedTo != "" && m.HandedTo == "" || gone(was.Stage) && !gone(m.Stage))
	switch {
	case back && gone(was.Stage):
		m.Retest(tx.Action().At)
	case back:
		m.CancelSafety() // nobody here knows what was done to it meanwhile
	}
	if !m.TestedAt.IsZero() && !m.TestedAt.Equal(was.TestedAt) {
		away, err := goneSince(tx, m.Tag, last.ID)
		if err != nil {
			return err
		}
		if away && m.Promised() {
			return registry.Errorf(registry.Conflict,
				"%s of %s cannot be undone: it would be %s again, and may have been away, or stripped, since "+
					"its test", last.Verb, m.Tag, m.Stage).Then(registry.Next(registry.DoShow, m.Tag))
		}
		if away {
			m.Retest(tx.Action().At)
		}
	}
	revived := !m.SafetyAt.IsZero() && !m.SafetyAt.Equal(was.SafetyAt)
	if revived {
		kept := slip && last.Verb == "bench start"
		if kept {
			kept, err = emptyVisit(tx, m.Tag, last.ID)
		}
		if err != nil {
			return err
		}
		if !kept {
			m.CancelSafety()
		}
	}
	// One that waits for a look comes back by no undoing, but when the look itself is taken back.
	if !m.PausedAt.IsZero() && !m.PausedAt.Equal(was.PausedAt) && !m.PausedAt.Equal(was.SafetyAt) {
		m.PausedAt, m.PausedBy = was.PausedAt, was.PausedBy
	}
	failed := slices.Contains([]string{"test", "safety"}, last.Verb) &&
		(was.Stage == registry.Bench || was.Stage == registry.Held)
	if failed && m.Stage == registry.Ready {
		m.CancelTest()
		m.Stage, m.StageSince = registry.Check, tx.Action().At
	}
	if !revived && !back && m.Stage == was.Stage && m.HeldFrom == was.HeldFrom && !m.LosesMains(was) &&
		!was.LosesMains(m) {
		return nil
	}
	if m.Promised() && w.LacksSafetyPass(m) {
		return registry.Errorf(registry.Conflict,
			"%s of %s cannot be undone: it would be %s again without a safety pass that stands",
			last.Verb, m.Tag, m.Stage).Then(registry.Next(registry.DoShow, m.Tag))
	}
	w.Settle(m, tx.Action().At)
	return nil
}

// gone says whether a machine at this stage may be away, or stripped. One that was shipped is not meant: what
// is taken back there is the word that its crate has left, and the crate's gates are asked again when it
// does.
func gone(at registry.Stage) bool {
	return slices.Contains([]registry.Stage{registry.Parts, registry.Sold, registry.Scrapped}, at)
}

// goneSince says whether a machine came to a stage after an action at which it may be away, or stripped.
func goneSince(r stock.Reader, tag registry.Tag, action int64) (bool, error) {
	found := false
	err := r.Changes(string(tag), func(a *registry.Action, c *registry.Change) error {
		to, _ := c.Fields["stage"][1].(string)
		found = found || a.ID > action && a.Undoes != action && c.Kind == registry.UnitMachine &&
			gone(registry.Stage(to))
		return nil
	})
	return found, err
}

// emptyVisit says whether nothing was noted when the machine was taken to the bench, and nothing whatever was
// done to it since: what was taken back was done all the same.
func emptyVisit(r stock.Reader, tag registry.Tag, action int64) (bool, error) {
	empty := true
	err := r.Changes(string(tag), func(a *registry.Action, c *registry.Change) error {
		if a.ID > action && a.Undoes != action {
			empty = false
		}
		if a.ID == action && c.Kind == "work" {
			for _, said := range []string{"jobs", "note", "minutes"} {
				if _, noted := c.Fields[said]; noted {
					empty = false
				}
			}
		}
		return nil
	})
	return empty, err
}
