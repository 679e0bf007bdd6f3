package registry

import (
	"context"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"time"
)

// OrderSet is one filled place of an order: a head, and for a treadle set the base under it. It stands until it is given back.
type OrderSet struct {
	Row
	Order    string       `json:"order" db:"number"`
	Line     int          `json:"line" db:"line"`
	Head     Tag          `json:"head" db:"head"`
	Base     Tag          `json:"base" db:"base"` // empty but in a treadle set
	Minutes  int          `json:"work_minutes" db:"minutes"`
	Work     List[string] `json:"work" db:"work,json"` // what is to be done so that it fits
	Stands   bool         `json:"-" db:"stands"`
	At       time.Time    `json:"reserved_at" db:"at"`
	By       Initials     `json:"reserved_by" db:"by"`
	PackedAt time.Time    `json:"packed_at,omitzero" db:"packed_at"` // when its last piece was packed
	PackedBy Initials     `json:"packed_by,omitempty" db:"packed_by"`
}

// Kind names the table.
func (*OrderSet) Kind() string { return "order_set" }

// Subject is the order.
func (s *OrderSet) Subject() string { return s.Order }

func (s *OrderSet) tags() []Tag {
	if s.Base == "" {
		return []Tag{s.Head}
	}
	return []Tag{s.Head, s.Base}
}

// OrderSets lists the filled places of an order, in the order of its lines.
func OrderSets(r Reader, number string) ([]OrderSet, error) {
	sets := []OrderSet{}
	err := r.All(&sets, Fields{"number": number, "stands": true})
	slices.SortStableFunc(sets, func(a, b OrderSet) int { return a.Line - b.Line })
	return sets, err
}

// SetOf finds the place that a head or base fills now.
func SetOf(r Reader, tag Tag) (*OrderSet, error) {
	for _, column := range []string{"head", "base"} {
		var s OrderSet
		err := r.Get(&s, Fields{column: tag, "stands": true})
		if err == nil || CodeOf(err) != NotFound {
			return &s, err
		}
	}
	return nil, Errorf(NotFound, "%s is on no order", tag)
}

// trouble says what stops a place that was filled, or nothing. Its head can have failed a safety test since it was reserved.
func (s *OrderSet) trouble(r Reader) (string, error) {
	m, err := MachineByTag(r, s.Head)
	if err != nil || m.Stage != Held {
		return "", err
	}
	why := m.HeldWhy
	if m.UnsafeWhy != "" {
		why = "failed safety test: " + m.UnsafeWhy
	}
	return fmt.Sprintf("%s is held (%s): mend it, or pitman order swap %s", m.Tag, why, m.Tag), nil
}

// Reservation is a place to be filled as it was proposed: the pieces as they were then.
type Reservation struct {
	Order   string
	Line    int
	Head    Machine
	Base    *Base // nil but in a treadle set
	Minutes int
	Work    []string
}

// Reserve fills places as they were proposed, all of them or none. Whatever has changed since then, a piece, a line or who came first,
// makes it none: a proposal is the best for the state that it was made in, and for no other.
func (w *Workshop) Reserve(ctx context.Context, by Initials, why string, places []Reservation) error {
	return w.act(ctx, by, "match", why, func(tx Tx) error {
		for i := range places {
			if err := w.reserve(tx, &places[i]); err != nil {
				return err
			}
		}
		return nil
	})
}

func (w *Workshop) reserve(tx Tx, p *Reservation) error {
	o, l, err := openLine(tx, p.Order, p.Line)
	if err != nil {
		return err
	}
	sets, err := OrderSets(tx, p.Order)
	if err != nil {
		return err
	}
	filled := 0
	for _, s := range sets {
		if s.Line == p.Line {
			filled++
		}
	}
	if filled >= l.Asked {
		return Errorf(Conflict, "line %d of order %s has been filled since the proposal: run pitman match again, nothing was reserved", p.Line, p.Order)
	}
	if err := w.reserveHead(tx, o, l, &p.Head); err != nil {
		return err
	}
	at := tx.Action().At
	s := &OrderSet{Order: p.Order, Line: p.Line, Head: p.Head.Tag, Minutes: p.Minutes, Work: p.Work, Stands: true, At: at, By: tx.Action().By}
	if p.Base != nil {
		b, err := BaseByTag(tx, p.Base.Tag)
		if err != nil {
			return err
		}
		if !reflect.DeepEqual(b, p.Base) {
			return changedSince(b.Tag, b.Stage)
		}
		if err := b.moveTo(doReserve, at); err != nil {
			return err
		}
		if err := tx.Put(b); err != nil {
			return err
		}
		s.Base = b.Tag
	}
	return tx.Put(s)
}

// reserveHead promises a head that is still as it was proposed.
func (w *Workshop) reserveHead(tx Tx, o *Order, l *OrderLine, as *Machine) error {
	m, err := MachineByTag(tx, as.Tag)
	if err != nil {
		return err
	}
	if !reflect.DeepEqual(m, as) {
		return changedSince(m.Tag, m.Stage)
	}
	if err := w.usableGate(m); err != nil {
		return err
	}
	if why := w.Refuses(o, l, m); why != "" {
		return Errorf(Conflict, "%s is not for line %d of order %s: %s", m.Tag, l.Line, o.Number, why)
	}
	if err := m.moveTo(doReserve, tx.Action().At); err != nil {
		return err
	}
	return tx.Put(m)
}

func changedSince(tag Tag, stage Stage) error {
	return Errorf(Conflict, "%s has changed since the proposal and is %s now: run pitman match again, nothing was reserved", tag, stage)
}

// usableGate refuses to promise what cannot leave as it is.
func (w *Workshop) usableGate(m *Machine) error {
	if why := w.Usable(m); why != "" {
		return Errorf(Conflict, "%s %s: nothing was reserved", m.Tag, why)
	}
	return nil
}

// Usable says why a machine that is ready can still not be promised, or nothing.
func (w *Workshop) Usable(m *Machine) string {
	if m.HandedTo != "" {
		return "was handed to " + m.HandedTo
	}
	if m.Drive == Electric && !w.SafetyStands(m) {
		return "is electric, without a safety pass that stands"
	}
	return ""
}

// Refuses says why a machine is not for a line, or nothing. Its stage, and any base, are another matter.
func (w *Workshop) Refuses(o *Order, l *OrderLine, m *Machine) string {
	switch {
	case !slices.Contains(m.Serves(), l.Wanted.Drive()):
		return "its drive is " + string(m.Drive)
	case l.Maker != "" && MakerKey(l.Maker) != MakerKey(m.Maker):
		return "made by " + m.Maker + ", asked for " + l.Maker
	case l.Bed != "" && !strings.EqualFold(l.Bed, m.BedPattern):
		return "bed pattern " + orUnknown(m.BedPattern) + ", asked for " + l.Bed
	case l.Stitch != "" && l.Stitch != m.Stitch:
		return "sews " + orUnknown(string(m.Stitch)) + ", asked for " + string(l.Stitch)
	case l.MadeAfter != 0 && (m.From == nil || *m.From <= int(l.MadeAfter)):
		return fmt.Sprintf("year %s, asked for after %d", orUnknown(m.Year()), l.MadeAfter)
	case l.Wanted == ElectricOne:
		return o.Supply.Refuses(m.Plate, w.Config.Order.VoltsTolerance)
	}
	return ""
}

// supplyStays refuses another supply for an order while machines are reserved that do not suit it.
func (w *Workshop) supplyStays(tx Tx, o *Order) error {
	sets, err := OrderSets(tx, o.Number)
	if err != nil {
		return err
	}
	for _, s := range sets {
		m, err := MachineByTag(tx, s.Head)
		if err != nil {
			return err
		}
		if m.Drive != Electric {
			continue
		}
		if why := o.Supply.Refuses(m.Plate, w.Config.Order.VoltsTolerance); why != "" {
			return Errorf(Conflict, "%s is reserved for order %s and does not suit the supply %s: %s; give it back first, with pitman order release %s %s",
				m.Tag, o.Number, o.Supply, why, o.Number, m.Tag)
		}
	}
	return nil
}

// ReleaseSets gives the machines of an order back to stock: all that are not packed, or those named by the tag of a head or a base.
func (w *Workshop) ReleaseSets(ctx context.Context, by Initials, number, why string, tags []Tag) (released []OrderSet, err error) {
	_, err = w.onOrder(ctx, by, number, "order release", why, func(tx Tx, o *Order) error {
		sets, err := OrderSets(tx, number)
		if err != nil {
			return err
		}
		named := map[Tag]bool{}
		for _, tag := range tags {
			if !slices.ContainsFunc(sets, func(s OrderSet) bool { return s.Head == tag || s.Base == tag }) {
				return Errorf(NotFound, "%s is not on order %s: pitman order show %s lists what is", tag, number, number)
			}
			named[tag] = true
		}
		released = []OrderSet{}
		for _, s := range sets {
			if len(tags) > 0 && !named[s.Head] && !named[s.Base] {
				continue
			}
			left, err := unpacked(tx, []OrderSet{s})
			if err != nil {
				return err
			}
			if len(left) < len(s.tags()) { // in its crate, or half of it
				if len(tags) == 0 {
					continue
				}
				packed := slices.DeleteFunc(s.tags(), func(tag Tag) bool {
					return slices.ContainsFunc(left, func(u Unit) bool { return u.Tag == tag })
				})
				return Errorf(Conflict, "%s is packed: take it out of its crate first, with pitman order unpack %s %s", packed[0], number, joinTags(packed))
			}
			if err := giveBack(tx, &s); err != nil {
				return err
			}
			released = append(released, s)
		}
		if len(released) == 0 {
			return Errorf(Conflict, "nothing of order %s is reserved and unpacked: pitman order show %s lists what is on it", number, number)
		}
		return nil
	})
	return released, err
}

// giveBack puts the pieces of a place back into stock.
func giveBack(tx Tx, s *OrderSet) error {
	if err := giveHeadBack(tx, s.Head); err != nil {
		return err
	}
	at := tx.Action().At
	if s.Base != "" {
		b, err := BaseByTag(tx, s.Base)
		if err != nil {
			return err
		}
		if err := b.moveTo(doUnreserve, at); err != nil {
			return err
		}
		if err := tx.Put(b); err != nil {
			return err
		}
	}
	s.Stands = false
	return tx.Put(s)
}

func giveHeadBack(tx Tx, tag Tag) error {
	m, err := MachineByTag(tx, tag)
	if err != nil {
		return err
	}
	// A machine that failed its safety test since then is held, and stays so: only its way back to the order ends.
	if m.Stage == Held && m.HeldFrom == Reserved {
		m.HeldFrom = Ready
	} else if err := m.moveTo(doUnreserve, tx.Action().At); err != nil {
		return err
	}
	return tx.Put(m)
}

// SwapSet takes a head off an order and puts another in its place, at once; a base stays where it is.
func (w *Workshop) SwapSet(ctx context.Context, by Initials, why string, head Tag, p Reservation) error {
	return w.act(ctx, by, "order swap", why, func(tx Tx) error {
		s, err := SetOf(tx, head)
		if err != nil {
			return err
		}
		o, l, err := openLine(tx, p.Order, p.Line)
		if err != nil {
			return err
		}
		if s.Order != p.Order || s.Line != p.Line || p.Base != nil && p.Base.Tag != s.Base {
			return changedSince(head, Reserved)
		}
		if err := giveHeadBack(tx, s.Head); err != nil {
			return err
		}
		if err := w.reserveHead(tx, o, l, &p.Head); err != nil {
			return err
		}
		s.Head, s.Minutes, s.Work, s.At, s.By = p.Head.Tag, p.Minutes, p.Work, tx.Action().At, by
		return tx.Put(s)
	})
}

func orUnknown(s string) string {
	if s == "" {
		return "unknown"
	}
	return s
}

func joinTags(tags []Tag) string {
	names := make([]string, len(tags))
	for i, tag := range tags {
		names[i] = string(tag)
	}
	return strings.Join(names, " ")
}
