// Package promise is what stands for an order: its filled places, who fills them, and how a piece leaves its
// place when it is given back or can go no longer.
package promise

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"pitman/registry"
	"pitman/registry/stock"
)

// OrderSet is one filled place of an order: a head, and for a treadle set the base under it. It stands until
// it is given back.
type OrderSet struct {
	registry.Row
	Order   string                `json:"order" db:"number"`
	Line    int                   `json:"line" db:"line"`
	Head    registry.Tag          `json:"head" db:"head"`
	Base    registry.Tag          `json:"base" db:"base"` // empty but in a treadle set
	Minutes int                   `json:"work_minutes" db:"minutes"`
	Work    registry.List[string] `json:"work" db:"work,json"` // what is to be done so that it fits
	Stands  bool                  `json:"-" db:"stands"`
	At      time.Time             `json:"reserved_at" db:"at"`
	By      registry.Initials     `json:"reserved_by" db:"by"`
	// when its last piece was packed
	PackedAt time.Time         `json:"packed_at,omitzero" db:"packed_at"`
	PackedBy registry.Initials `json:"packed_by,omitempty" db:"packed_by"`

	// the set's own function test, after the last work for it
	TriedAt   time.Time         `json:"tried_at,omitzero" db:"tried_at"`
	TriedBy   registry.Initials `json:"tried_by,omitempty" db:"tried_by"`
	ShippedAt time.Time         `json:"shipped_at,omitzero" db:"shipped_at"` // with which delivery it left
	// the shipment that it goes with, or went with; empty: with none
	Shipment string `json:"shipment,omitempty" db:"shipment"`
	// when a piece of it failed and the place became free
	OutAt  time.Time `json:"out_at,omitzero" db:"out_at"`
	OutWhy string    `json:"out_why,omitempty" db:"out_why,personal"`
}

// Kind names the table.
func (*OrderSet) Kind() string { return "order_set" }

// Subject is the order.
func (s *OrderSet) Subject() string { return s.Order }

func (s *OrderSet) Tags() []registry.Tag {
	if s.Base == "" {
		return []registry.Tag{s.Head}
	}
	return []registry.Tag{s.Head, s.Base}
}

// TriedOn says in words how the set is tried: on its base, or as it goes.
func (s *OrderSet) TriedOn() string {
	if s.Base == "" {
		return "as it goes"
	}
	return "on " + string(s.Base)
}

// OrderSets lists the filled places of an order, in the order of its lines.
func OrderSets(r stock.Reader, number string) ([]OrderSet, error) {
	sets := []OrderSet{}
	err := r.All(&sets, stock.Fields{"number": number, "stands": true})
	slices.SortStableFunc(sets, func(a, b OrderSet) int { return a.Line - b.Line })
	return sets, err
}

// SetOf finds the place that a head or base fills now.
func SetOf(r stock.Reader, tag registry.Tag) (*OrderSet, error) {
	for _, column := range []string{"head", "base"} {
		var s OrderSet
		err := r.Get(&s, stock.Fields{column: tag, "stands": true})
		if err == nil || registry.CodeOf(err) != registry.NotFound {
			return &s, err
		}
	}
	return nil, registry.Errorf(registry.NotFound, "%s is on no order", tag)
}

// TakeOut frees the place of a unit that can go no longer: what shared the place goes back into stock, out of
// its crate if it lay in one, and the order keeps why. The unit itself is the caller's to put.
func TakeOut(w *stock.Stock, tx stock.Tx, tag registry.Tag, why string) error {
	s, err := SetOf(tx, tag)
	if registry.CodeOf(err) == registry.NotFound {
		return nil
	}
	if err != nil {
		return err
	}
	why = fmt.Sprintf("%s: %s", tag, why)
	for _, other := range s.Tags() {
		if u, err := stock.UnitByTag(tx, other); err != nil {
			return err
		} else if other != tag && u.Stage == registry.Packed {
			why += fmt.Sprintf("; %s%s", other, openCrate)
		}
	}
	switch tag {
	case s.Base:
		err = ReturnHead(w, tx, s.Head, "")
	default:
		err = ReturnBase(tx, s.Base, "")
	}
	if err != nil {
		return err
	}
	s.Stands, s.Shipment, s.OutAt, s.OutWhy = false, "", tx.Action().At, why
	return tx.Put(s)
}

// openCrate ends why a place became free of which the other piece is packed: by its records that is in stock
// from then on, and somebody has to open its crate.
const openCrate = " was packed, so take it out of its crate"

// CrateToOpen says of a place that became free which piece of it is to be taken out of its crate, or nothing.
func (s *OrderSet) CrateToOpen() string {
	for _, tag := range s.Tags() {
		if crate := string(tag) + openCrate; strings.HasSuffix(s.OutWhy, "; "+crate) {
			return crate
		}
	}
	return ""
}

// ReturnHead puts a promised head back into stock, as far as its tests still stand; with a reason against it,
// it is held there.
func ReturnHead(w *stock.Stock, tx stock.Tx, tag registry.Tag, against string) error {
	m, err := stock.MachineByTag(tx, tag)
	if err != nil {
		return err
	}
	at := tx.Action().At
	// One that was held while it was promised stays so: only its way back to the order ends.
	if m.Stage == registry.Held && m.HeldFrom == registry.Reserved {
		m.HeldFrom = registry.Ready
		w.Settle(m, at)
		return tx.Put(m)
	}
	if err := returned(m.MoveTo, m.Stage, against, at); err != nil {
		return err
	}
	if against != "" {
		m.HeldWhy = against
	}
	w.Settle(m, at)
	return tx.Put(m)
}

// ReturnBase is ReturnHead for a base; no tag is none.
func ReturnBase(tx stock.Tx, tag registry.Tag, against string) error {
	if tag == "" {
		return nil
	}
	b, err := stock.BaseByTag(tx, tag)
	if err != nil {
		return err
	}
	if err := returned(b.MoveTo, b.Stage, against, tx.Action().At); err != nil {
		return err
	}
	if against != "" {
		b.HeldWhy = against
	}
	return tx.Put(b)
}

// returned goes the way back from a place: out of the crate first, and into a hold where there is a reason.
func returned(move func(action string, at time.Time) error, from registry.Stage, against string,
	at time.Time) error {
	way := []string{registry.DoUnreserve}
	if from == registry.Packed {
		way = []string{registry.DoUnpack, registry.DoUnreserve}
	}
	if against != "" {
		way = append(way, registry.DoHold)
	}
	for _, action := range way {
		if err := move(action, at); err != nil {
			return err
		}
	}
	return nil
}

// LostFrom is the place that a unit was taken off at a time because it failed, or nil.
func LostFrom(ctx context.Context, w *stock.Stock, tag registry.Tag, at time.Time) (lost *OrderSet,
	err error) {
	err = w.Store.View(ctx, func(r stock.Reader) error {
		for _, column := range []string{"head", "base"} {
			sets := []OrderSet{}
			if err := r.All(&sets, stock.Fields{column: tag, "stands": false}); err != nil {
				return err
			}
			for i, s := range sets {
				if s.OutAt.Equal(at) && strings.HasPrefix(s.OutWhy, string(tag)+":") {
					lost = &sets[i]
				}
			}
		}
		return nil
	})
	return lost, err
}

// LostSets lists the places of an order that became free because a piece failed, oldest first.
func LostSets(r stock.Reader, number string) ([]OrderSet, error) {
	sets := []OrderSet{}
	err := r.All(&sets, stock.Fields{"number": number, "stands": false})
	return slices.DeleteFunc(sets, func(s OrderSet) bool { return s.OutWhy == "" }), err
}

// Trouble says what stops a place that was filled, or nothing. Its head can have failed a safety test since
// it was reserved.
func (s *OrderSet) Trouble(r stock.Reader) (string, error) {
	m, err := stock.MachineByTag(r, s.Head)
	if err != nil || m.Stage != registry.Held {
		return "", err
	}
	why := m.HeldWhy
	if m.UnsafeWhy != "" {
		why = m.Unsafe()
	}
	return fmt.Sprintf("%s is held (%s): mend it, or let another take its place", m.Tag, why), nil
}

func JoinTags(tags []registry.Tag) string {
	names := make([]string, len(tags))
	for i, tag := range tags {
		names[i] = string(tag)
	}
	return strings.Join(names, " ")
}

// Unpacked lists the pieces of places that are not in their crates yet.
func Unpacked(r stock.Reader, sets []OrderSet) ([]stock.Unit, error) {
	missing := []stock.Unit{}
	for _, s := range sets {
		for _, tag := range s.Tags() {
			u, err := stock.UnitByTag(r, tag)
			if err != nil {
				return nil, err
			}
			if u.Stage != registry.Packed && u.Stage != registry.Shipped {
				missing = append(missing, u)
			}
		}
	}
	return missing, nil
}
