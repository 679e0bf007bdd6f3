package registry

import (
	"context"
	"fmt"
	"slices"
	"time"
)

// Gates is what the workshop's gates know of a machine, beside its stage. The tests themselves are kept apart, every one of them;
// here stands what of them still counts.
type Gates struct {
	HeldFrom  Stage     `json:"held_from,omitempty" db:"held_from"`   // where it goes back to
	HeldWhy   string    `json:"held_why,omitempty" db:"held_why"`     // why a person holds it
	UnsafeWhy string    `json:"unsafe_why,omitempty" db:"unsafe_why"` // a failed safety test holds it, whatever else does
	TestedAt  time.Time `json:"tested_at,omitzero" db:"tested_at"`    // the function test that stands
	TestedBy  Initials  `json:"tested_by,omitempty" db:"tested_by"`
	SafetyAt  time.Time `json:"safety_at,omitzero" db:"safety_at"` // the safety pass that stands; electrical work cancels it
	SafetyBy  Initials  `json:"safety_by,omitempty" db:"safety_by"`
	Class     string    `json:"class,omitempty" db:"class"` // I, II, none, unknown; empty = nobody looked yet
	Plate     Nameplate `json:"nameplate" db:"plate,json"`

	// Who took a second look before an old machine went a way that has no return.
	HeritageSeenBy Initials `json:"heritage_seen_by,omitempty" db:"heritage_seen_by"`
}

// step says where an action of the table of moves leads this machine, or refuses it.
func (m *Machine) step(action string) (Stage, error) {
	to, err := step(unitMachine, m.Tag, action, m.Stage, m.HeldFrom)
	if err != nil && m.UnsafeWhy != "" {
		err = m.errUnsafe()
	}
	return to, err
}

// errUnsafe says what ends a hold that a failed safety test put on the machine.
func (m *Machine) errUnsafe() error {
	return Errorf(Conflict, "%s is held by a failed safety test (%s): mend it with pitman bench start %s, or record a new pass with pitman safety %s",
		m.Tag, m.UnsafeWhy, m.Tag, m.Tag)
}

// moveTo does one action of the table of moves to a machine within a transaction; the caller puts it.
func (m *Machine) moveTo(action string, at time.Time) error {
	to, err := m.step(action)
	if err != nil {
		return err
	}
	if to == m.Stage {
		return nil
	}
	if m.Stage == Held {
		m.HeldFrom, m.HeldWhy, m.UnsafeWhy = "", "", ""
	}
	if to == Held {
		m.HeldFrom = m.Stage
	}
	m.Stage, m.StageSince = to, at
	return nil
}

// untest cancels the function test: the machine was worked on, or is no longer what was tested.
func (m *Machine) untest() { m.TestedAt, m.TestedBy = time.Time{}, "" }

// unsafe cancels the safety pass: its wiring was worked on.
func (m *Machine) unsafe() { m.SafetyAt, m.SafetyBy = time.Time{}, "" }

// SafetyStands says whether a safety pass counts at this time. Electrical work cancels a pass at once, so a pass that is
// still there is newer than the last of it; only its age is left to ask. One that lies ahead of the clock would never grow old: either
// clock was wrong, so it counts for nothing.
func (w *Workshop) SafetyStands(m *Machine) bool {
	if m.SafetyAt.IsZero() || w.aheadOfClock(m) {
		return false
	}
	days := w.Config.Safety.ValidDays
	return days == 0 || w.Now().Before(m.SafetyAt.AddDate(0, 0, days))
}

// aheadOfClock leaves a day for the clocks of two houses to differ.
func (w *Workshop) aheadOfClock(m *Machine) bool { return m.SafetyAt.After(w.Now().AddDate(0, 0, 1)) }

// Warnings are the sentences that stand on every screen of this machine.
func (w *Workshop) Warnings(m *Machine) []string {
	if m.Drive == Electric && !w.SafetyStands(m) {
		return []string{DoNotPlugIn}
	}
	return nil
}

// safetyGate refuses what needs a standing pass, and names what supplies it.
func (w *Workshop) safetyGate(m *Machine, action string) error {
	if m.Drive != Electric || w.SafetyStands(m) {
		return nil
	}
	why := "has no safety pass"
	if !m.SafetyAt.IsZero() {
		fault := "is too old"
		if w.aheadOfClock(m) {
			fault = "lies ahead of this computer's clock"
		}
		why = fmt.Sprintf("has a safety pass of %s that %s", m.SafetyAt.In(w.Config.Location()).Format(time.DateOnly), fault)
	}
	return Errorf(Conflict, "%s is electric and %s, so %s has to wait (%s): a competent person records one with pitman safety %s --class CLASS "+
		"--visual pass ...",
		m.Tag, why, action, DoNotPlugIn, m.Tag)
}

// heritageGate asks for a second look before an old machine goes a way that the house names. It counts from the latest year in
// which the machine can have been made, so it never asks about one that may be younger.
func (w *Workshop) heritageGate(m *Machine, to Stage, by, seenBy Initials) error {
	if seenBy != "" {
		m.HeritageSeenBy = seenBy
	}
	limit := w.Config.Heritage
	if !w.SecondLook(m, to) {
		return nil
	}
	age := w.age(m)
	if seenBy == "" {
		return Errorf(Conflict, "%s is at least %d years old, and the house looks twice at %d before a machine is %s: let someone who knows old "+
			"machines see it and add --heritage-seen-by INITIALS",
			m.Tag, age, limit.Years, map[Stage]string{Parts: "stripped for parts", Scrapped: "scrapped", Sold: "sold", Shipped: "shipped"}[to])
	}
	if seenBy == by {
		return Errorf(Conflict, "heritage-seen-by %s is the same person as --by: a second look is someone else's, type that person's initials", seenBy)
	}
	return nil
}

// SecondLook says whether the house asks for a second look before this machine goes that way.
func (w *Workshop) SecondLook(m *Machine, to Stage) bool {
	limit := w.Config.Heritage
	return limit.Years > 0 && slices.Contains(limit.Asked, to) && m.To != nil && w.age(m) >= limit.Years
}

// age is how old a machine is at least, in years.
func (w *Workshop) age(m *Machine) int { return w.Now().In(w.Config.Location()).Year() - *m.To }

// workable reads a machine that is worked on in this house; another is returned beside the refusal.
func workable(r Reader, tag Tag) (*Machine, error) {
	m, err := MachineByTag(r, tag)
	if err == nil && m.HandedTo != "" {
		err = workedOnThere(tag, m.HandedTo)
	}
	return m, err
}

// onMachine runs one action on one machine: read it, let the rule change it, save it.
func (w *Workshop) onMachine(ctx context.Context, by Initials, tag Tag, verb, why string, rule func(Tx, *Machine) error) (m *Machine, err error) {
	err = w.act(ctx, by, verb, why, func(tx Tx) error {
		if m, err = workable(tx, tag); err != nil {
			return err
		}
		promised := m.HeldFrom == Reserved
		if err := rule(tx, m); err != nil {
			return err
		}
		if promised && m.Stage != Held && m.Stage != Reserved {
			if err := offOrders(tx, tag); err != nil {
				return err
			}
		}
		return tx.Put(m)
	})
	return m, err
}

// offOrders refuses to take a machine away from under an order: its place is given back first, so that nobody counts on it.
func offOrders(r Reader, tag Tag) error {
	s, err := SetOf(r, tag)
	if CodeOf(err) == NotFound {
		return nil
	}
	if err != nil {
		return err
	}
	return Errorf(Conflict, "%s is promised to order %s: give it back first, with pitman order release %s %s", tag, s.Order, s.Order, tag)
}
