package offers

import (
	"cmp"
	"context"
	"errors"
	"slices"

	"pitman/registry"
	"pitman/registry/stock"
)

// Offer is one action of the table of moves for one head or base as it stands now: allowed, or refused with
// the reason. Who shows what may be done shows offers, and asks nothing of the unit itself.
type Offer struct {
	registry.Move
	Allowed bool
	// Waits says of what is not allowed that the action is for such a unit at this stage, and only what the
	// refusal names is missing yet.
	Waits   bool
	Refusal *registry.Error // nil when allowed
}

// AllowedMoves lists every action of the table for a machine. by is who would do it, or empty where that is
// not known: then nothing is asked of the person.
func (w *Offers) AllowedMoves(ctx context.Context, by registry.Initials, m *stock.Machine) (found []Offer,
	err error) {
	err = w.Store.View(ctx, func(r stock.Reader) error {
		found, err = w.machineOffers(r, by, m)
		return err
	})
	return found, err
}

func (w *Offers) machineOffers(r stock.Reader, by registry.Initials, m *stock.Machine) ([]Offer, error) {
	return w.offersOf(r, m.Unit(), m.Suits,
		func(action string) error { return w.machineGate(r, m, action, by) })
}

// AllowedBaseMoves is AllowedMoves for a base.
func (w *Offers) AllowedBaseMoves(ctx context.Context, b *stock.Base) (found []Offer, err error) {
	err = w.Store.View(ctx, func(r stock.Reader) error {
		found, err = w.baseOffers(r, b)
		return err
	})
	return found, err
}

func (w *Offers) baseOffers(r stock.Reader, b *stock.Base) ([]Offer, error) {
	return w.offersOf(r, b.Unit(), b.Suits, func(action string) error { return w.baseGate(r, b, action) })
}

// AllowedAt lists the offers of whatever has a tag.
func (w *Offers) AllowedAt(r stock.Reader, by registry.Initials, tag registry.Tag) ([]Offer, error) {
	m, b, err := stock.HeadOrBase(r, tag)
	switch {
	case err != nil:
		return nil, err
	case m != nil:
		return w.machineOffers(r, by, m)
	}
	return w.baseOffers(r, b)
}

// offersOf asks for each action of a unit first whether it is for such a unit at all, then what else stands
// against it. What is refused is told as the action tells it.
func (w *Offers) offersOf(r stock.Reader, u stock.Unit, suits, gate func(action string) error) ([]Offer,
	error) {
	var found []Offer
	for _, m := range registry.Moves {
		if m.Unit != u.Kind || slices.ContainsFunc(found, func(o Offer) bool { return o.Action == m.Action }) {
			continue
		}
		if here, ok := registry.MoveOf(u.Kind, m.Action, u.Stage); ok {
			m = here // an action can have a line for each place that it leads to
		}
		o := Offer{Move: m}
		err := suits(m.Action)
		switch {
		case err == nil:
			err = gate(m.Action)
			o.Waits = err != nil
		case m.Action == registry.DoUnreserve && u.Stage == registry.Packed:
			err = cmp.Or(gate(m.Action), err) // the order tells of the whole place: what else is in a crate
		}
		if o.Allowed = err == nil; !o.Allowed {
			if err = w.ToldOf(r, u.Tag, m.Action, u.Stage, err); !errors.As(err, &o.Refusal) {
				return nil, err
			}
		}
		found = append(found, o)
	}
	return found, nil
}

// machineGate asks the gates of an action, those that the action itself asks when it is done.
func (w *Offers) machineGate(r stock.Reader, m *stock.Machine, action string, by registry.Initials) error {
	switch action {
	case registry.DoTestPass:
		if err := w.Bench.TestGates(r, m, by); err != nil {
			return err
		}
		return w.Bench.WholeGate(r, m)
	case registry.DoTestFail:
		return w.Bench.TestGates(r, m, by)
	case registry.DoSafePass, registry.DoSafeClear, registry.DoSafeFail:
		if by == "" {
			return nil
		}
		return w.Bench.SafetyGates(m, by)
	case registry.DoRelease:
		return w.ReleaseGate(m)
	case registry.DoReserve:
		return w.Packing.Orders.UsableGate(m)
	case registry.DoUnreserve, registry.DoPack, registry.DoUnpack, registry.DoShip:
		return w.Packing.PlaceGate(r, m.Tag, action, by)
	case registry.DoStrip, registry.DoSell, registry.DoScrap:
		to, err := m.Step(action)
		if err != nil {
			return err
		}
		if action == registry.DoSell {
			if err := w.SaleGate(m); err != nil {
				return err
			}
		}
		return w.HeritageGate(m, to, by, "")
	}
	return nil
}

func (w *Offers) baseGate(r stock.Reader, b *stock.Base, action string) error {
	switch action {
	case registry.DoUnreserve, registry.DoPack, registry.DoUnpack, registry.DoShip:
		return w.Packing.PlaceGate(r, b.Tag, action, "")
	case registry.DoBaseReady:
		known, err := stock.Rows(w.Lists.BaseParts)
		if err != nil {
			return err
		}
		return b.ReadyGate(known)
	}
	return nil
}
