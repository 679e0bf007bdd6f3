package registry

import (
	"context"
	"maps"
	"slices"
)

// ways maps the words of triage to the table of moves.
var ways = map[string]string{"refurbish": doRefurbish, "parts": doStrip, "sale": doSell, "scrap": doScrap}

// parseWay reads where a triage leads, and asks for its reason.
func parseWay(way, why string) (string, error) {
	way, err := oneOf("to", way, slices.Sorted(maps.Keys(ways)))
	if err == nil && blank(why) {
		err = Errorf(Invalid, "why is missing: give --why with the reason, from the house's list or your own words")
	}
	return way, err
}

// checkHoldReason asks for the reason of a hold.
func checkHoldReason(why string) error {
	if blank(why) {
		return Errorf(Invalid, "why is missing: give --why with what it waits for")
	}
	return nil
}

// Triage decides where a machine goes: to be refurbished, stripped for parts, sold or scrapped. seenBy is who took a second look
// at an old machine, or "".
func (w *Workshop) Triage(ctx context.Context, by Initials, tag Tag, way, why string, seenBy Initials) (*Machine, error) {
	way, err := parseWay(way, why)
	if err != nil {
		return nil, err
	}
	return w.onMachine(ctx, by, tag, "triage to "+way, why, func(tx Tx, m *Machine) error {
		if err := m.moveTo(ways[way], tx.Action().At); err != nil {
			return err
		}
		if way == "refurbish" {
			// It may have been away, or stripped: no earlier test speaks for it.
			m.untest()
			m.unsafe()
		}
		return w.heritageGate(m, m.Stage, by, seenBy)
	})
}

// Hold stops a machine for a reason; it goes back to where it was.
func (w *Workshop) Hold(ctx context.Context, by Initials, tag Tag, why string) (*Machine, error) {
	if err := checkHoldReason(why); err != nil {
		return nil, err
	}
	return w.onMachine(ctx, by, tag, "hold", why, func(tx Tx, m *Machine) error {
		if err := m.moveTo(doHold, tx.Action().At); err != nil {
			return err
		}
		m.HeldWhy = tx.Action().Why
		return nil
	})
}

// Release lets a held machine go back to where it was. A failed safety test cannot be released away, and a pass that grew too old
// meanwhile is made again first.
func (w *Workshop) Release(ctx context.Context, by Initials, tag Tag, why string) (*Machine, error) {
	return w.onMachine(ctx, by, tag, "release", why, func(tx Tx, m *Machine) error {
		if err := w.releaseGate(m); err != nil {
			return err
		}
		return m.moveTo(doRelease, tx.Action().At)
	})
}

// releaseGate asks what a held machine needs before it goes back to where it was.
func (w *Workshop) releaseGate(m *Machine) error {
	switch {
	case m.Stage == Held && m.UnsafeWhy != "":
		return m.errUnsafe()
	case m.Stage == Held && m.HeldFrom == Ready:
		return w.safetyGate(m, "its release to ready")
	}
	return nil
}
