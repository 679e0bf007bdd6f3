package orders

import (
	"context"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"time"

	"pitman/registry"
	"pitman/registry/promise"
	"pitman/registry/stock"
)

// Reservation is a place to be filled as it was proposed: the pieces as they were then.
type Reservation struct {
	Order   string
	Line    int
	Head    stock.Machine
	Base    *stock.Base // nil but in a treadle set
	Minutes int
	Jobs    []Job // what is to be done so that it fits, and takes those minutes
}

// Reserve fills places as they were proposed, all of them or none. Whatever has changed since then, a piece,
// a line or who came first, makes it none: a proposal is the best for the state that it was made in, and for
// no other.
func (w *Orders) Reserve(ctx context.Context, by registry.Initials, why string, slots []Reservation) error {
	return w.Act(ctx, by, "match", why, func(tx stock.Tx) error {
		filled := map[string]map[int]int{} // places, by order and line
		for i := range slots {
			p := &slots[i]
			if filled[p.Order] == nil {
				sets, err := promise.OrderSets(tx, p.Order)
				if err != nil {
					return err
				}
				filled[p.Order] = map[int]int{}
				for _, s := range sets {
					filled[p.Order][s.Line]++
				}
			}
			if err := w.reserve(tx, p, filled[p.Order][p.Line]); err != nil {
				return err
			}
			filled[p.Order][p.Line]++
		}
		return nil
	})
}

// reserve promises one piece to a line of which so many places are filled.
func (w *Orders) reserve(tx stock.Tx, p *Reservation, filled int) error {
	o, l, err := OpenLine(tx, p.Order, p.Line)
	if err != nil {
		return err
	}
	if filled >= l.Asked {
		return registry.Errorf(registry.Conflict,
			"line %d of order %s has been filled since the proposal: propose again, nothing was reserved",
			p.Line, p.Order).
			Then(registry.Next(registry.DoPropose, ""))
	}
	if err := w.reserveHead(tx, o, l, &p.Head); err != nil {
		return err
	}
	at := tx.Action().At
	s := &promise.OrderSet{Order: p.Order, Line: p.Line, Head: p.Head.Tag, Minutes: p.Minutes, Work: p.Work(),
		Stands: true, At: at, By: tx.Action().By}
	if p.Base != nil {
		if err := reserveBase(tx, p.Base); err != nil {
			return err
		}
		s.Base = p.Base.Tag
	}
	if err := tx.Put(s); err != nil {
		return err
	}
	return orderWork(tx, s, p.Jobs)
}

// reserveBase promises a base that is still as it was proposed.
func reserveBase(tx stock.Tx, as *stock.Base) error {
	b, err := stock.BaseByTag(tx, as.Tag)
	if err != nil {
		return err
	}
	if !reflect.DeepEqual(b, as) {
		return changedSince(b.Tag, b.Stage)
	}
	return stock.Advance(tx, b, registry.DoReserve)
}

// reserveHead promises a head that is still as it was proposed.
func (w *Orders) reserveHead(tx stock.Tx, o *Order, l *OrderLine, as *stock.Machine) error {
	m, err := stock.MachineByTag(tx, as.Tag)
	if err != nil {
		return err
	}
	if !reflect.DeepEqual(m, as) {
		return changedSince(m.Tag, m.Stage)
	}
	if err := w.UsableGate(m); err != nil {
		return err
	}
	if why := w.Refuses(o, l, m); why != "" {
		return registry.Errorf(registry.Conflict, "%s is not for line %d of order %s: %s", m.Tag, l.Line,
			o.Number, why)
	}
	return stock.Advance(tx, m, registry.DoReserve)
}

func changedSince(tag registry.Tag, stage registry.Stage) error {
	return registry.Errorf(registry.Conflict,
		"%s has changed since the proposal and is %s now: propose again, nothing was reserved", tag, stage).
		Then(registry.Next(registry.DoPropose, ""))
}

// UsableGate refuses to promise what cannot leave as it is.
func (w *Orders) UsableGate(m *stock.Machine) error {
	if why := w.Usable(m); why != "" {
		return registry.Errorf(registry.Conflict, "%s %s: nothing was reserved", m.Tag, why)
	}
	return nil
}

// Usable says why a machine that is ready can still not be promised, or nothing.
func (w *Orders) Usable(m *stock.Machine) string {
	if m.HandedTo != "" {
		return "was handed to " + m.HandedTo
	}
	if m.TakesMains() && !w.SafetyStands(m) {
		return "takes the mains, without a safety pass that stands"
	}
	return ""
}

// Refuses says why a machine is not for a line, or nothing. Its stage, and any base, are another matter.
func (w *Orders) Refuses(o *Order, l *OrderLine, m *stock.Machine) string {
	switch {
	case !slices.Contains(m.Serves(), l.Wanted.Drive()):
		return "its drive is " + string(m.Drive)
	case l.Maker != "" && stock.MakerKey(l.Maker) != stock.MakerKey(m.Maker):
		return "made by " + m.Maker + ", asked for " + l.Maker
	case l.Bed != "" && !strings.EqualFold(l.Bed, m.BedPattern):
		return "bed pattern " + orUnknown(m.BedPattern) + ", asked for " + l.Bed
	case l.Stitch != "" && l.Stitch != m.Stitch:
		return "sews " + orUnknown(string(m.Stitch)) + ", asked for " + string(l.Stitch)
	case l.MadeAfter != 0 && (m.From == nil || *m.From <= int(l.MadeAfter)):
		return fmt.Sprintf("year %s, asked for after %d", orUnknown(m.Year()), l.MadeAfter)
	case l.WattsMax != 0 && l.Wanted == ElectricOne && m.Plate.Watts == 0:
		return fmt.Sprintf("nameplate watts are not known, asked for at most %d", l.WattsMax)
	case l.WattsMax != 0 && l.Wanted == ElectricOne && m.Plate.Watts > l.WattsMax:
		return fmt.Sprintf("nameplate %d W, asked for at most %d", m.Plate.Watts, l.WattsMax)
	case m.TakesMains(): // a hand machine with a lamp as well
		return w.Asks(o, l).Refuses(m.Plate)
	}
	return ""
}

// supplyChanges refuses another supply for an order while machines are on it that do not suit it, and writes
// the work on what takes the mains anew.
func (w *Orders) supplyChanges(tx stock.Tx, o *Order) error {
	sets, err := promise.OrderSets(tx, o.Number)
	if err != nil {
		return err
	}
	for i := range sets {
		s := &sets[i]
		m, err := stock.MachineByTag(tx, s.Head)
		if err != nil {
			return err
		}
		if !m.TakesMains() || !s.ShippedAt.IsZero() {
			continue
		}
		l, err := LineOf(tx, o.Number, s.Line)
		if err != nil {
			return err
		}
		if why := w.Asks(o, l).Refuses(m.Plate); why != "" {
			return registry.Errorf(registry.Conflict,
				"%s is reserved for order %s and does not suit the supply %s: %s; give it back first",
				m.Tag, o.Number, o.Supply,
				why).On("supply").Then(registry.Next(registry.DoUnreserve, m.Tag).Of(o.Number))
		}
		if m.Stage == registry.Packed && len(w.MainsJobs(o, l, m)) > 0 {
			return registry.Errorf(registry.Conflict,
				"%s is packed for order %s, and does not fit the supply %s, its plug included: take it out "+
					"of its crate first", m.Tag, o.Number, o.Supply).
				On("supply").Then(registry.Next(registry.DoUnpack, m.Tag).Of(o.Number))
		}
		if err := renewMainsWork(tx, w.MainsJobs(o, l, m), s); err != nil {
			return err
		}
	}
	return nil
}

// ReleaseSets gives the machines of an order back to stock: all that are not packed, or those named by the
// tag of a head or a base.
func (w *Orders) ReleaseSets(ctx context.Context, by registry.Initials, number, why string,
	tags []registry.Tag) (released []promise.OrderSet, err error) {
	_, err = w.OnOrder(ctx, by, number, "order release", why, func(tx stock.Tx, o *Order) error {
		sets, err := promise.OrderSets(tx, number)
		if err != nil {
			return err
		}
		named := map[registry.Tag]bool{}
		for _, tag := range tags {
			if !slices.ContainsFunc(sets,
				func(s promise.OrderSet) bool { return s.Head == tag || s.Base == tag }) {
				return registry.Errorf(registry.NotFound, "%s is not on order %s", tag,
					number).On("tag").Then(registry.Next(registry.DoShowOrder, "").Of(number))
			}
			named[tag] = true
		}
		released = []promise.OrderSet{}
		for _, s := range sets {
			if len(tags) > 0 && !named[s.Head] && !named[s.Base] {
				continue
			}
			if err := ReturnGate(tx, &s); err != nil {
				if len(tags) == 0 && registry.CodeOf(err) == registry.Conflict {
					continue // of all, those that can be
				}
				return err
			}
			if err := w.giveBack(tx, &s); err != nil {
				return err
			}
			released = append(released, s)
		}
		if len(released) == 0 {
			return registry.Errorf(registry.Conflict, "nothing of order %s is reserved and unpacked",
				number).Then(registry.Next(registry.DoShowOrder, "").Of(number))
		}
		return nil
	})
	return released, err
}

// ReturnGate refuses to give back a place that left the house, or of which a piece lies in its crate or is
// worked on elsewhere.
func ReturnGate(r stock.Reader, s *promise.OrderSet) error {
	if !s.ShippedAt.IsZero() {
		return registry.Errorf(registry.Conflict,
			"%s left the house with a delivery of %s: it is given back no more", s.Head, s.Order)
	}
	left, err := promise.Unpacked(r, []promise.OrderSet{*s})
	if err != nil {
		return err
	}
	for _, u := range left {
		if err := u.Workable(); err != nil {
			return err
		}
	}
	if len(left) == len(s.Tags()) {
		return nil
	}
	packed := slices.DeleteFunc(s.Tags(), func(tag registry.Tag) bool {
		return slices.ContainsFunc(left, func(u stock.Unit) bool { return u.Tag == tag })
	})
	return registry.Errorf(registry.Conflict, "%s is packed: take it out of its crate first", packed[0]).
		Then(registry.Next(registry.DoUnpack, packed[0]).Of(s.Order).With("tags", promise.JoinTags(packed)))
}

// giveBack puts the pieces of a place back into stock.
func (w *Orders) giveBack(tx stock.Tx, s *promise.OrderSet) error {
	if err := promise.ReturnHead(w.Stock, tx, s.Head, ""); err != nil {
		return err
	}
	if err := promise.ReturnBase(tx, s.Base, ""); err != nil {
		return err
	}
	s.Stands, s.Shipment = false, ""
	return tx.Put(s)
}

// CrateToOpen says what is to be taken out of its crate since a unit left an order, with the stage that it
// has since then; nothing if nothing is.
func (w *Orders) CrateToOpen(ctx context.Context, tag registry.Tag, since time.Time) string {
	lost, err := promise.LostFrom(ctx, w.Stock, tag, since)
	if err != nil || lost == nil {
		return ""
	}
	return lost.CrateToOpen()
}

// SwapSet takes a head or a base off an order and puts another in its place, at once; what was with it stays.
// With a reason, what comes off is held for it: what cracked must not be proposed again.
func (w *Orders) SwapSet(ctx context.Context, by registry.Initials, why string, out registry.Tag,
	p Reservation) error {
	why, err := registry.CleanText("why", why, registry.MaxText)
	if err != nil {
		return err
	}
	return w.Act(ctx, by, "order swap", why, func(tx stock.Tx) error {
		s, err := promise.SetOf(tx, out)
		if err != nil {
			return err
		}
		o, l, err := OpenLine(tx, p.Order, p.Line)
		if err != nil {
			return err
		}
		stays, same := s.Base, p.Base == nil || p.Base.Tag == s.Base
		if out == s.Base {
			stays, same = s.Head, p.Base != nil && p.Head.Tag == s.Head
		}
		if s.Order != p.Order || s.Line != p.Line || !same {
			return changedSince(out, registry.Reserved)
		}
		if err := unpacked(tx, stays); err != nil {
			return err
		}
		if out == s.Base {
			err = w.swapBase(tx, s, p.Base, why)
		} else {
			err = w.swapHead(tx, s, o, l, &p.Head, why)
		}
		if err != nil {
			return err
		}
		s.Minutes, s.Work, s.At, s.By, s.TriedAt, s.TriedBy = p.Minutes, p.Work(), tx.Action().At, by,
			time.Time{}, ""
		if err := tx.Put(s); err != nil {
			return err
		}
		return orderWork(tx, s, p.Jobs)
	})
}

// unpacked refuses to change what half lies in its crate: the other half was packed for what comes off.
func unpacked(r stock.Reader, tag registry.Tag) error {
	if tag == "" {
		return nil
	}
	u, err := stock.UnitByTag(r, tag)
	if err == nil && u.Stage == registry.Packed {
		err = registry.Errorf(registry.Conflict, "%s is packed: take it out of its crate first",
			tag).Then(registry.Next(registry.DoUnpack, tag))
	}
	return err
}

func (w *Orders) swapHead(tx stock.Tx, s *promise.OrderSet, o *Order, l *OrderLine, in *stock.Machine,
	why string) error {
	if err := promise.ReturnHead(w.Stock, tx, s.Head, why); err != nil {
		return err
	}
	s.Head = in.Tag
	return w.reserveHead(tx, o, l, in)
}

func (w *Orders) swapBase(tx stock.Tx, s *promise.OrderSet, in *stock.Base, why string) error {
	if err := promise.ReturnBase(tx, s.Base, why); err != nil {
		return err
	}
	s.Base = in.Tag
	return reserveBase(tx, in)
}

func orUnknown(s string) string {
	if s == "" {
		return "unknown"
	}
	return s
}
