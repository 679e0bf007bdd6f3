package stock

import (
	"context"
	"maps"
	"slices"

	"pitman/registry"
)

// ways maps the words of triage to the table of moves.
var ways = map[string]string{"refurbish": registry.DoRefurbish, "parts": registry.DoStrip,
	"sale": registry.DoSell, "scrap": registry.DoScrap}

// Outcome is the stage that a way of triage leads a machine to.
func Outcome(way string) registry.Stage {
	i := slices.IndexFunc(registry.Moves,
		func(m registry.Move) bool { return m.Unit == registry.UnitMachine && m.Action == ways[way] })
	return registry.Moves[i].To
}

// parseWay reads where a triage leads, and asks for its reason.
func parseWay(way, why string) (string, error) {
	way, err := registry.OneOf("to", way, slices.Sorted(maps.Keys(ways)))
	if err == nil && registry.Blank(why) {
		err = registry.Errorf(registry.Invalid,
			"why is missing: give the reason, from the house's list or your own words").On("why")
	}
	return way, err
}

// checkHoldReason asks for the reason of a hold.
func checkHoldReason(why string) error {
	if registry.Blank(why) {
		return registry.Errorf(registry.Invalid, "why is missing: give what it waits for").On("why")
	}
	return nil
}

// Triage decides where a machine goes: to be refurbished, stripped for parts, sold or scrapped. seenBy is who
// took a second look at an old machine, or "".
func (w *Stock) Triage(ctx context.Context, by registry.Initials, tag registry.Tag, way, why string,
	seenBy registry.Initials) (*Machine, error) {
	way, err := parseWay(way, why)
	if err != nil {
		return nil, err
	}
	return w.OnMachine(ctx, by, tag, "triage to "+way, why, func(tx Tx, m *Machine) error {
		if err := m.MoveTo(ways[way], tx.Action().At); err != nil {
			return err
		}
		if way == "sale" {
			if err := w.SaleGate(m); err != nil {
				return err
			}
		}
		if way == "refurbish" {
			m.Retest(tx.Action().At)
			m.SoldAs = ""
		}
		return w.HeritageGate(m, m.Stage, by, seenBy)
	})
}

// Hold stops a machine for a reason; it goes back to where it was.
func (w *Stock) Hold(ctx context.Context, by registry.Initials, tag registry.Tag,
	why string) (*Machine, error) {
	if err := checkHoldReason(why); err != nil {
		return nil, err
	}
	return w.OnMachine(ctx, by, tag, "hold", why, func(tx Tx, m *Machine) error {
		if err := m.MoveTo(registry.DoHold, tx.Action().At); err != nil {
			return err
		}
		m.HeldWhy = tx.Action().Why
		return nil
	})
}

// Release lets a held machine go back to where it was, or to its tests if a pass that it needs stands no
// longer. A failed safety test cannot be released away.
func (w *Stock) Release(ctx context.Context, by registry.Initials, tag registry.Tag,
	why string) (*Machine, error) {
	return w.OnMachine(ctx, by, tag, "release", why, func(tx Tx, m *Machine) error {
		if err := w.ReleaseGate(m); err != nil {
			return err
		}
		if err := m.MoveTo(registry.DoRelease, tx.Action().At); err != nil {
			return err
		}
		w.Settle(m, tx.Action().At)
		return nil
	})
}

// ReleaseGate asks what a held machine needs before it goes back to where it was.
func (w *Stock) ReleaseGate(m *Machine) error {
	if m.Stage == registry.Held && m.UnsafeWhy != "" {
		return m.failedSafetyHold()
	}
	return nil
}
