package registry

import (
	"context"
	"errors"
	"slices"
)

// Offer is one action of the table of moves for one head or base as it stands now: allowed, or refused with the reason. Who shows what
// may be done shows offers, and asks nothing of the unit itself.
type Offer struct {
	Move
	Allowed bool
	// Waits says of what is not allowed that the action is for such a unit at this stage, and only what the refusal names is missing yet.
	Waits   bool
	Refusal *Error // nil when allowed
}

// AllowedMoves lists every action of the table for a machine. by is who would do it, or empty where that is not known: then nothing is
// asked of the person.
func (w *Workshop) AllowedMoves(ctx context.Context, by Initials, m *Machine) (offers []Offer, err error) {
	err = w.Store.View(ctx, func(r Reader) error {
		offers, err = w.machineOffers(r, by, m)
		return err
	})
	return offers, err
}

func (w *Workshop) machineOffers(r Reader, by Initials, m *Machine) ([]Offer, error) {
	return offersOf(unitMachine, m.Stage, m.suits, func(action string) error { return w.machineGate(r, m, action, by) })
}

// AllowedBaseMoves is AllowedMoves for a base.
func (w *Workshop) AllowedBaseMoves(b *Base) ([]Offer, error) {
	return offersOf(unitBase, b.Stage, b.suits, func(action string) error { return w.baseGate(b, action) })
}

// AllowedAt lists the offers of whatever has a tag.
func (w *Workshop) AllowedAt(r Reader, by Initials, tag Tag) ([]Offer, error) {
	m, b, err := HeadOrBase(r, tag)
	switch {
	case err != nil:
		return nil, err
	case m != nil:
		return w.machineOffers(r, by, m)
	}
	return w.AllowedBaseMoves(b)
}

// offersOf asks for each action of a unit first whether it is for such a unit at all, then what else stands against it.
func offersOf(unit string, at Stage, suits, gate func(action string) error) ([]Offer, error) {
	var offers []Offer
	for _, m := range Moves {
		if m.Unit != unit || slices.ContainsFunc(offers, func(o Offer) bool { return o.Action == m.Action }) {
			continue
		}
		if here, ok := moveOf(unit, m.Action, at); ok {
			m = here // an action can have a line for each place that it leads to
		}
		o := Offer{Move: m}
		err := suits(m.Action)
		if err == nil {
			err = gate(m.Action)
			o.Waits = err != nil
		}
		if o.Allowed = err == nil; !o.Allowed && !errors.As(err, &o.Refusal) {
			return nil, err
		}
		offers = append(offers, o)
	}
	return offers, nil
}

// suits refuses an action that is not for this machine as it stands, whatever else were there.
func (m *Machine) suits(action string) error {
	if m.HandedTo != "" {
		return workedOnThere(m.Tag, m.HandedTo)
	}
	switch action {
	case doSafePass, doSafeClear, doSafeFail:
		if err := m.safetyForDrive(); err != nil {
			return err
		}
	}
	switch {
	case action == doRelease && m.UnsafeWhy != "":
		return m.errUnsafe()
	case (action == doSafeClear || action == doBenchMend) && m.UnsafeWhy == "":
		return refuseMove(unitMachine, m.Tag, doBenchStart, m.Stage, m.HeldFrom)
	}
	_, err := m.step(action)
	return err
}

// machineGate asks the gates of an action, those that the action itself asks when it is done.
func (w *Workshop) machineGate(r Reader, m *Machine, action string, by Initials) error {
	switch action {
	case doTestPass, doTestFail:
		return w.testGates(r, m, by)
	case doSafePass, doSafeClear, doSafeFail:
		if by == "" {
			return nil
		}
		return w.safetyGates(m, by)
	case doRelease:
		return w.releaseGate(m)
	case doReserve:
		return w.usableGate(m)
	case doPack:
		return w.packGatesOf(r, m, by)
	case doStrip, doSell, doScrap:
		to, err := m.step(action)
		if err != nil {
			return err
		}
		return w.heritageGate(m, to, by, "")
	}
	return nil
}

// packGatesOf asks the gates of packing for the place that the machine has on an order.
func (w *Workshop) packGatesOf(r Reader, m *Machine, by Initials) error {
	s, err := SetOf(r, m.Tag)
	if err != nil {
		return err
	}
	o, err := OrderByNumber(r, s.Order)
	if err != nil {
		return err
	}
	return w.packGates(r, o, s, m, by, "")
}

// suits refuses an action that is not for this base as it stands.
func (b *Base) suits(action string) error {
	if b.HandedTo != "" {
		return workedOnThere(b.Tag, b.HandedTo)
	}
	_, err := step(unitBase, b.Tag, action, b.Stage, b.HeldFrom)
	return err
}

func (w *Workshop) baseGate(b *Base, action string) error {
	if action != doBaseReady {
		return nil
	}
	known, err := rows(w.Lists.BaseParts)
	if err != nil {
		return err
	}
	return b.readyGate(known)
}
