package stock

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"pitman/registry"
	"pitman/registry/mains"
)

// UntestedSale is as what a machine that takes the mains is sold when no pass stands for it.
const UntestedSale = "plug cut off, not tested"

// slipTime is how long the same person may take a slip of their own back without a test.
const slipTime = 10 * time.Minute

// electric says whether its drive is; what else takes the mains is asked of its parts.
func (m *Machine) electric() bool { return m.Drive == registry.Electric }

// MainsParts lists every part that may carry the mains, with what is known of it.
func (m *Machine) MainsParts() mains.Parts { return m.Mains.All(m.electric()) }

// MainsOn lists the parts on it that carry the mains, or may.
func (m *Machine) MainsOn() mains.Parts { return m.Mains.On(m.electric()) }

// TakesMains says whether anything on the machine takes the mains, or may: what it is called does not matter.
func (m *Machine) TakesMains() bool { return m.electric() || len(m.MainsOn()) > 0 }

// MoveMains notes that parts which carry the mains were put on or taken off: no earlier pass speaks for what
// is there now.
func (m *Machine) MoveMains(s mains.State, parts ...string) {
	for _, part := range parts {
		m.Mains = m.Mains.Set(part, s)
		if part == "plug" && s == mains.Off { // the plate tells of the one that was there
			m.Plate.Plug, m.Plate.Earthed = "", false
		}
	}
	if len(parts) > 0 {
		m.CancelSafety()
	}
}

// PartSaid is what a person says of one part.
type PartSaid struct {
	Part  string
	State mains.State
}

// SayMains keeps what a person saw of the parts that carry the mains. Whatever is said anew cancels the pass;
// that nothing takes the mains any more is a competent person's word.
func (w *Stock) SayMains(ctx context.Context, by registry.Initials, tag registry.Tag,
	said []PartSaid) (*Machine, error) {
	if len(said) == 0 {
		return nil, registry.Errorf(registry.Invalid,
			"nothing was said of the mains parts of %s: give a part and fitted, off, never or unknown", tag)
	}
	return w.OnMachine(ctx, by, tag, "mains", "", func(tx Tx, m *Machine) error {
		if !slices.Contains([]registry.Stage{registry.Logged, registry.Queued, registry.Bench, registry.Check,
			registry.Ready, registry.Held,
			registry.Parts}, m.Stage) {
			return registry.Errorf(registry.Conflict,
				"%s is at stage %s: its mains parts are looked at before it is promised, or once it is "+
					"given back",
				tag, m.Stage)
		}
		took := m.TakesMains()
		for _, one := range said {
			if m.MainsParts().Of(one.Part, m.electric()) != one.State {
				m.MoveMains(one.State, one.Part)
			}
		}
		if err := w.NothingLeft(ctx, tx, by, took, m); err != nil {
			return err
		}
		w.Settle(m, tx.Action().At)
		return nil
	})
}

// NothingLeft asks for a competent person's word where something took the mains, or might, and nothing is
// left that does: whoever takes a lamp off does not know what its cord was wired to.
func (w *Stock) NothingLeft(ctx context.Context, tx Tx, who registry.Initials, took bool, m *Machine) error {
	if !took || m.TakesMains() {
		return nil
	}
	if err := w.Competent(who, "confirm that nothing on a machine takes the mains any more"); err != nil {
		return err
	}
	return w.Sign(ctx, tx, who, "that nothing takes the mains any more")
}

// DoubtMains takes every part that is said not to be there for one that nobody has looked at.
func (m *Machine) DoubtMains() {
	for _, one := range m.MainsParts() {
		if one.State == mains.Off || one.State == mains.Never {
			m.MoveMains(mains.Unknown, one.Part)
		}
	}
}

// Settle brings a machine that takes the mains back as far as its standing tests allow: what is ready without
// a pass waits for its tests.
func (w *Stock) Settle(m *Machine, at time.Time) {
	if !w.LacksSafetyPass(m) {
		return
	}
	switch {
	case m.Stage == registry.Ready:
		m.Stage, m.StageSince = registry.Check, at
	case m.Stage == registry.Held && m.HeldFrom == registry.Ready && m.UnsafeWhy == "":
		m.HeldFrom = registry.Check
	}
}

// Promised says whether it stands for an order, where only a standing pass may leave it.
func (m *Machine) Promised() bool {
	at := m.Stage
	if at == registry.Held && m.UnsafeWhy == "" {
		at = m.HeldFrom
	}
	return at == registry.Reserved || at == registry.Packed
}

// LosesMains says whether a part that was on the machine, or might be, is said not to be there.
func (m *Machine) LosesMains(before *Machine) bool {
	if before.TakesMains() && !m.TakesMains() {
		return true
	}
	on := m.MainsOn()
	return slices.ContainsFunc(before.MainsOn(), func(p mains.Part) bool {
		return !slices.ContainsFunc(on, func(o mains.Part) bool { return o.Part == p.Part })
	})
}

// TouchesMains says of a change whether it tells of what carries the mains on a machine.
func TouchesMains(c *registry.Change) bool {
	return c.Kind == registry.UnitMachine &&
		slices.ContainsFunc([]string{"mains", "drive", "class", "plate", "unsafe_why"}, func(field string) bool {
			_, told := c.Fields[field]
			return told
		})
}

// OwnSlip says whether a person takes back what they did themselves a few minutes ago, on a machine that
// nobody tested, worked on or took parts of since, and of whose mains parts nothing was said. What was taken
// back counts here, too: somebody had it in hand.
func (w *Stock) OwnSlip(r Reader, by registry.Initials, tag registry.Tag,
	done *registry.Action) (bool, error) {
	since := w.judged().Sub(done.At)
	if done.By != by || since < 0 || since > slipTime {
		return false, nil
	}
	untouched := true
	err := r.Changes(string(tag), func(a *registry.Action, c *registry.Change) error {
		if a.ID > done.ID && a.Undoes != done.ID &&
			(TouchesMains(c) || slices.Contains([]string{"safety_test", "function_test", "work", "spare"}, c.Kind)) {
			untouched = false
		}
		return nil
	})
	return untouched, err
}

// DriveGate refuses to correct the drive of what is electric, but for a slip of the tongue at logging: what
// was electric is converted, so that each part is accounted for. That something is electric after all may
// always be said.
func (w *Stock) DriveGate(r Reader, by registry.Initials, before, m *Machine) error {
	if before.TakesMains() && !m.electric() && before.electric() {
		logged := &registry.Action{}
		err := r.Changes(string(m.Tag), func(a *registry.Action, c *registry.Change) error {
			if logged.ID == 0 && c.Kind == m.Kind() {
				*logged = *a
			}
			return nil
		})
		if err != nil {
			return err
		}
		if by == "" {
			by = logged.By // only a look, and nobody says who will do it
		}
		slip, err := w.OwnSlip(r, by, m.Tag, logged)
		if err != nil || slip && len(before.Mains) == 0 && before.UnsafeWhy == "" && logged.Origin == "" {
			return err
		}
		return registry.Errorf(registry.Conflict,
			"drive of %s is electric, and only whoever logged it may correct that, within %d minutes and "+
				"untested: convert it, with each mains part accounted for, and a competent person confirms "+
				"it", m.Tag,
			int(slipTime.Minutes())).
			On("drive").Then(registry.Next(registry.DoConvert, m.Tag).With("to", string(m.Drive)))
	}
	if m.Drive == before.Drive ||
		slices.Contains([]registry.Stage{registry.Logged, registry.Queued, registry.Bench, registry.Check},
			m.Stage) {
		return nil
	}
	if m.electric() && m.Stage != registry.Shipped {
		return nil
	}
	if _, err := m.Step(registry.DoConvert); err != nil {
		return registry.OnField("drive",
			registry.Prefixed(fmt.Sprintf("drive of %s cannot be corrected now", m.Tag), err))
	}
	return registry.Errorf(registry.Conflict,
		"drive of %s cannot be corrected while it is %s, since its tests were made for %s drive: convert it",
		m.Tag, m.Stage,
		before.Drive).On("drive").Then(registry.Next(registry.DoConvert, m.Tag).With("to", string(m.Drive)))
}

// Retest starts the tests of a machine again whose drive was corrected, since under the other one its gates
// asked for something else, or that may have been away, or stripped: no earlier test speaks for it.
func (m *Machine) Retest(at time.Time) {
	m.CancelTest()
	m.CancelSafety()
	after := []registry.Stage{registry.Ready, registry.Reserved, registry.Packed}
	switch {
	case slices.Contains(after, m.Stage):
		m.Stage, m.StageSince = registry.Check, at
	case slices.Contains(after, m.HeldFrom):
		m.HeldFrom = registry.Check
	}
}

// SaleGate asks that nothing is sold that takes the mains and has no standing pass.
func (w *Stock) SaleGate(m *Machine) error { return w.SafetyGate(m, "its sale") }

// SellUntested sells a machine that takes the mains with its plug cut off: nobody can plug it in before a
// competent person fits another.
func (w *Stock) SellUntested(ctx context.Context, by registry.Initials, tag registry.Tag, why string,
	seenBy registry.Initials) (*Machine, error) {
	if _, err := parseWay("sale", why); err != nil {
		return nil, err
	}
	return w.OnMachine(ctx, by, tag, "triage to sale", why, func(tx Tx, m *Machine) error {
		if !m.TakesMains() {
			return registry.Errorf(registry.Conflict,
				"%s has nothing on it that takes the mains: it is sold as it is", tag)
		}
		if err := w.Competent(by, "sell an electric machine untested, with its plug cut off"); err != nil {
			return err
		}
		if err := w.Sign(ctx, tx, by, "an untested sale"); err != nil {
			return err
		}
		if err := m.MoveTo(registry.DoSell, tx.Action().At); err != nil {
			return err
		}
		m.MoveMains(mains.Off, "plug")
		m.SoldAs = UntestedSale
		return w.HeritageGate(m, m.Stage, by, seenBy)
	})
}

// judged is the time by which a pass is judged: a clock that was set back makes no pass younger than what was
// done here last.
func (w *Stock) judged() time.Time {
	now := w.Now()
	if last := w.lastDone(); last.After(now) {
		return last
	}
	return now
}

// lastDone is when anything was done in this house last, whatever the clock says now.
func (w *Stock) lastDone() time.Time {
	w.last.Lock()
	defer w.last.Unlock()
	if !w.last.read {
		// A store that cannot be read refuses all else, too.
		_ = w.Store.View(context.Background(), func(r Reader) (err error) {
			w.last.at, err = r.Latest()
			w.last.read = err == nil
			return err
		})
	}
	return w.last.at
}

// doneAt takes note of an action of this process.
func (w *Stock) doneAt(at time.Time) {
	w.last.Lock()
	defer w.last.Unlock()
	if at.After(w.last.at) {
		w.last.at = at
	}
}

// mainsSaid names what is on it, for a sentence.
func mainsSaid(p mains.Parts) string { return strings.TrimSpace(p.String()) }
