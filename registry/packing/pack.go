package packing

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"pitman/registry"
	"pitman/registry/orders"
	"pitman/registry/promise"
	"pitman/registry/spares"
	"pitman/registry/stock"
)

// Progress is how far the packing of an order has come.
type Progress struct {
	Order   string         `json:"order"`
	Packed  []registry.Tag `json:"packed"`  // now
	Missing []stock.Unit   `json:"missing"` // reserved and not packed yet
	Done    bool           `json:"done"`
	// places that nothing fills, and the shipment with which what is packed leaves; empty for none
	Unfilled int    `json:"unfilled"`
	Shipment string `json:"shipment"`
	// what whoever packed these pieces should read: weights, and work that was due before
	Cautions []string `json:"cautions"`
}

// Pack takes heads and bases of an order into their crates, in any order: all that are named, or none of
// them.
func (w *Packing) Pack(ctx context.Context, by registry.Initials, number string, tags []registry.Tag,
	seenBy registry.Initials) (p Progress, err error) {
	return w.pack(ctx, by, number, tags, seenBy, false)
}

// PackWithKit takes one piece into its crate, and puts with it what its kit lacks: both, or neither.
func (w *Packing) PackWithKit(ctx context.Context, by registry.Initials, number string, tag registry.Tag,
	seenBy registry.Initials) (Progress, error) {
	return w.pack(ctx, by, number, []registry.Tag{tag}, seenBy, true)
}

// KitFor says what goes with a machine of an order, and refuses one that is not on it.
func (w *Packing) KitFor(ctx context.Context, number string, tag registry.Tag) (k spares.Kit, err error) {
	err = w.Store.View(ctx, func(r stock.Reader) error {
		sets, err := promise.OrderSets(r, number)
		if err == nil && !slices.ContainsFunc(sets, func(s promise.OrderSet) bool { return s.Head == tag }) {
			err = notOnOrder(r, tag, number)
		}
		return err
	})
	if err != nil {
		return k, err
	}
	return w.Spares.Kit(ctx, tag, spares.Leaving{})
}

func (w *Packing) pack(ctx context.Context, by registry.Initials, number string, tags []registry.Tag,
	seenBy registry.Initials, withKit bool) (p Progress, err error) {
	if len(tags) == 0 {
		return p, registry.Errorf(registry.Invalid,
			"nothing was scanned: give the tags behind the order, or scan them one a line")
	}
	_, err = w.Orders.OnOrder(ctx, by, number, "order pack", "", func(tx stock.Tx, o *orders.Order) error {
		sets, err := promise.OrderSets(tx, number)
		if err != nil {
			return err
		}
		p = Progress{Order: number, Packed: []registry.Tag{}, Cautions: []string{}}
		for _, tag := range registry.Unique(tags) {
			i := slices.IndexFunc(sets,
				func(s promise.OrderSet) bool { return s.Head == tag || s.Base == tag })
			if i < 0 {
				return notOnOrder(tx, tag, number)
			}
			if withKit && sets[i].Head == tag {
				if err := w.putKit(tx, tag); err != nil {
					return err
				}
			}
			fresh, err := w.packPiece(tx, o, &sets[i], tag, seenBy)
			if err != nil {
				return err
			}
			if !fresh {
				continue
			}
			p.Packed = append(p.Packed, tag)
			if err := p.caution(tx, &sets[i], tag); err != nil {
				return err
			}
		}
		if err = p.count(tx, sets); err == nil {
			p.Done = len(p.Missing) == 0
		}
		return err
	})
	return p, err
}

// putKit puts its kit with a head that is not in its crate yet.
func (w *Packing) putKit(tx stock.Tx, tag registry.Tag) error {
	m, err := stock.MachineByTag(tx, tag)
	if err != nil || m.Stage == registry.Packed {
		return err
	}
	_, err = w.Spares.PutKitIn(tx, tag, spares.Leaving{})
	return err
}

// caution adds what to read at the crate of a piece. Only a person sees whether the work that its place asked
// for was done.
func (p *Progress) caution(r stock.Reader, s *promise.OrderSet, tag registry.Tag) error {
	u, err := stock.UnitByTag(r, tag)
	if err != nil {
		return err
	}
	if lift := u.LiftCaution(); lift != "" {
		p.Cautions = append(p.Cautions, fmt.Sprintf("%s: %s", tag, lift))
	}
	works, err := orders.WorkOf(r, s.Order, []promise.OrderSet{*s})
	if err != nil {
		return err
	}
	done := len(works) > 0 &&
		!slices.ContainsFunc(works, func(k orders.WorkOrder) bool { return k.State == orders.WorkOpen })
	if tag == s.Head && len(s.Work) > 0 && !done {
		p.Cautions = append(p.Cautions,
			fmt.Sprintf("%s: see that this was done: %s", tag, strings.Join(s.Work, "; ")))
	}
	return nil
}

// notOnOrder says where a piece belongs that was scanned for another order.
func notOnOrder(r stock.Reader, tag registry.Tag, number string) error {
	if _, err := stock.UnitByTag(r, tag); err != nil {
		return err
	}
	where := "on no order"
	if s, err := promise.SetOf(r, tag); err == nil {
		where = "on order " + s.Order
	}
	return registry.Errorf(registry.Conflict,
		"%s is not on order %s, it is %s: put it aside and scan the others again; nothing was changed", tag,
		number, where)
}

// packPiece packs one head or base; a piece that is packed already is left as it is.
func (w *Packing) packPiece(tx stock.Tx, o *orders.Order, s *promise.OrderSet, tag registry.Tag,
	seenBy registry.Initials) (fresh bool, err error) {
	a := tx.Action()
	m, b, err := headAndBase(tx, s)
	if err != nil {
		return false, err
	}
	var piece stock.Piece
	switch {
	case tag == s.Head && m.Stage != registry.Packed:
		piece, err = m, w.headGate(tx, o, s, m, b, a.By, seenBy)
	case tag == s.Base && b.Stage != registry.Packed:
		piece, err = b, w.baseGate(tx, s, m, b)
	default:
		return false, nil
	}
	if err != nil {
		return false, err
	}
	if err := stock.Advance(tx, piece, registry.DoPack); err != nil {
		return false, err
	}
	if m.Stage != registry.Packed || b != nil && b.Stage != registry.Packed {
		return true, nil
	}
	s.PackedAt, s.PackedBy = a.At, a.By
	return true, tx.Put(s)
}

// Unpack takes heads and bases of an order out of their crates again; they stay reserved for it.
func (w *Packing) Unpack(ctx context.Context, by registry.Initials, number, why string,
	tags []registry.Tag) (p Progress, err error) {
	if len(tags) == 0 {
		return p, registry.Errorf(registry.Invalid, "nothing was scanned: give the tags behind the order")
	}
	_, err = w.Orders.OnOrder(ctx, by, number, "order unpack", why, func(tx stock.Tx, o *orders.Order) error {
		sets, err := promise.OrderSets(tx, number)
		if err != nil {
			return err
		}
		for _, tag := range registry.Unique(tags) {
			i := slices.IndexFunc(sets,
				func(s promise.OrderSet) bool { return s.Head == tag || s.Base == tag })
			if i < 0 {
				return notOnOrder(tx, tag, number)
			}
			if err := unpackPiece(tx, &sets[i], tag); err != nil {
				return err
			}
		}
		p = Progress{Order: number, Packed: []registry.Tag{}, Cautions: []string{}}
		p.Missing, err = promise.Unpacked(tx, sets)
		return err
	})
	return p, err
}

func unpackPiece(tx stock.Tx, s *promise.OrderSet, tag registry.Tag) error {
	if err := stock.AdvanceTag(tx, tag, registry.DoUnpack); err != nil {
		return err
	}
	s.PackedAt, s.PackedBy = time.Time{}, ""
	return tx.Put(s)
}

// PackingOf says how far the packing of an order has come.
func (w *Packing) PackingOf(ctx context.Context, number string) (p Progress, err error) {
	err = w.Store.View(ctx, func(r stock.Reader) error {
		if _, err := orders.OrderByNumber(r, number); err != nil {
			return err
		}
		sets, err := promise.OrderSets(r, number)
		if err != nil {
			return err
		}
		p = Progress{Order: number, Packed: []registry.Tag{}, Cautions: []string{}}
		if err = p.count(r, sets); err == nil {
			p.Done = len(sets) > 0 && len(p.Missing) == 0
		}
		return err
	})
	return p, err
}

// count says what is still to come of an order with these places.
func (p *Progress) count(r stock.Reader, sets []promise.OrderSet) (err error) {
	for _, s := range sets {
		if s.ShippedAt.IsZero() && s.Shipment != "" {
			p.Shipment = s.Shipment
		}
	}
	if p.Unfilled, err = unfilled(r, p.Order); err != nil {
		return err
	}
	p.Missing, err = promise.Unpacked(r, sets)
	return err
}

// But says what keeps an order from leaving whole, or by itself, once all that is on it is packed.
func (p Progress) But() string {
	var list []string
	if p.Unfilled > 0 {
		list = append(list, "nothing fills "+registry.Counted(p.Unfilled, "place")+" of it")
	}
	if p.Shipment != "" {
		list = append(list, "it leaves with "+p.Shipment)
	}
	return strings.Join(list, "; ")
}

// someTags names the first few pieces.
func someTags(units []stock.Unit) string {
	names := make([]registry.Tag, 0, len(units))
	for _, u := range units {
		names = append(names, u.Tag)
	}
	return registry.FirstFew(names)
}
