package registry

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"
)

// Packing is how far the packing of an order has come.
type Packing struct {
	Order    string   `json:"order"`
	Packed   []Tag    `json:"packed"`  // now
	Missing  []Unit   `json:"missing"` // reserved and not packed yet
	Done     bool     `json:"done"`
	Cautions []string `json:"cautions"` // what whoever packed these pieces should read: weights, and work that was due before
}

// PackCheck says what else keeps the pieces of a place from being packed, or nothing; the base is nil but in a treadle set.
type PackCheck func(m *Machine, b *Base) (why string)

// Pack takes heads and bases of an order into their crates, in any order: all that are named, or none of them.
func (w *Workshop) Pack(ctx context.Context, by Initials, number string, tags []Tag, seenBy Initials, check PackCheck) (p Packing, err error) {
	if len(tags) == 0 {
		return p, Errorf(Invalid, "nothing was scanned: give the tags behind the order, or scan them one a line")
	}
	_, err = w.onOrder(ctx, by, number, "order pack", "", func(tx Tx, o *Order) error {
		sets, err := OrderSets(tx, number)
		if err != nil {
			return err
		}
		p = Packing{Order: number, Packed: []Tag{}, Cautions: []string{}}
		for _, tag := range unique(tags) {
			i := slices.IndexFunc(sets, func(s OrderSet) bool { return s.Head == tag || s.Base == tag })
			if i < 0 {
				return notOnOrder(tx, tag, number)
			}
			fresh, err := w.packPiece(tx, o, &sets[i], tag, seenBy, check)
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
		p.Missing, err = unpacked(tx, sets)
		p.Done = len(p.Missing) == 0
		return err
	})
	return p, err
}

// caution adds what to read at the crate of a piece. Only a person sees whether the work that its place asked for was done.
func (p *Packing) caution(r Reader, s *OrderSet, tag Tag) error {
	u, err := unitByTag(r, tag)
	if err != nil {
		return err
	}
	if lift := u.LiftCaution(); lift != "" {
		p.Cautions = append(p.Cautions, fmt.Sprintf("%s: %s", tag, lift))
	}
	if tag == s.Head && len(s.Work) > 0 {
		p.Cautions = append(p.Cautions, fmt.Sprintf("%s: see that this was done: %s", tag, strings.Join(s.Work, "; ")))
	}
	return nil
}

// notOnOrder says where a piece belongs that was scanned for another order.
func notOnOrder(r Reader, tag Tag, number string) error {
	if _, err := unitByTag(r, tag); err != nil {
		return err
	}
	where := "on no order"
	if s, err := SetOf(r, tag); err == nil {
		where = "on order " + s.Order
	}
	return Errorf(Conflict, "%s is not on order %s, it is %s: put it aside and scan the others again; nothing was changed", tag, number, where)
}

// packPiece packs one head or base; a piece that is packed already is left as it is.
func (w *Workshop) packPiece(tx Tx, o *Order, s *OrderSet, tag Tag, seenBy Initials, check PackCheck) (fresh bool, err error) {
	a := tx.Action()
	m, err := MachineByTag(tx, s.Head)
	if err != nil {
		return false, err
	}
	var b *Base
	if s.Base != "" {
		if b, err = BaseByTag(tx, s.Base); err != nil {
			return false, err
		}
	}
	switch {
	case tag == s.Head && m.Stage != Packed:
		if err := w.packGates(tx, o, s, m, a.By, seenBy); err != nil {
			return false, err
		}
		err = m.moveTo(doPack, a.At)
	case tag == s.Base && b.Stage != Packed:
		err = b.moveTo(doPack, a.At)
	default:
		return false, nil
	}
	if err != nil {
		return false, err
	}
	if why := check(m, b); why != "" {
		return false, Errorf(Conflict, "%s cannot be packed: %s; nothing was packed", tag, why)
	}
	if tag == s.Head {
		err = tx.Put(m)
	} else {
		err = tx.Put(b)
	}
	if err != nil {
		return false, err
	}
	if m.Stage != Packed || b != nil && b.Stage != Packed {
		return true, nil
	}
	s.PackedAt, s.PackedBy = a.At, a.By
	return true, tx.Put(s)
}

// Unpack takes heads and bases of an order out of their crates again; they stay reserved for it.
func (w *Workshop) Unpack(ctx context.Context, by Initials, number, why string, tags []Tag) (p Packing, err error) {
	if len(tags) == 0 {
		return p, Errorf(Invalid, "nothing was scanned: give the tags behind the order")
	}
	_, err = w.onOrder(ctx, by, number, "order unpack", why, func(tx Tx, o *Order) error {
		sets, err := OrderSets(tx, number)
		if err != nil {
			return err
		}
		for _, tag := range unique(tags) {
			i := slices.IndexFunc(sets, func(s OrderSet) bool { return s.Head == tag || s.Base == tag })
			if i < 0 {
				return notOnOrder(tx, tag, number)
			}
			if err := unpackPiece(tx, &sets[i], tag); err != nil {
				return err
			}
		}
		p = Packing{Order: number, Packed: []Tag{}, Cautions: []string{}}
		p.Missing, err = unpacked(tx, sets)
		return err
	})
	return p, err
}

func unpackPiece(tx Tx, s *OrderSet, tag Tag) error {
	at := tx.Action().At
	if tag == s.Head {
		m, err := MachineByTag(tx, tag)
		if err != nil {
			return err
		}
		if err := m.moveTo(doUnpack, at); err != nil {
			return err
		}
		if err := tx.Put(m); err != nil {
			return err
		}
	} else {
		b, err := BaseByTag(tx, tag)
		if err != nil {
			return err
		}
		if err := b.moveTo(doUnpack, at); err != nil {
			return err
		}
		if err := tx.Put(b); err != nil {
			return err
		}
	}
	s.PackedAt, s.PackedBy = time.Time{}, ""
	return tx.Put(s)
}

// packGates are asked of a head once more: weeks may lie between its place on the order and its crate.
func (w *Workshop) packGates(r Reader, o *Order, s *OrderSet, m *Machine, by, seenBy Initials) error {
	if _, err := m.step(doPack); err != nil {
		return err // what is not on its way into a crate is asked nothing else
	}
	if err := w.safetyGate(m, "packing it"); err != nil {
		return err
	}
	if m.Drive == Electric {
		if o.Supply == "" {
			return Errorf(Conflict, "%s is electric and the supply where order %s goes is not known: give it with pitman order amend %s --supply 230V/50Hz/G",
				m.Tag, o.Number, o.Number)
		}
		if why := o.Supply.Refuses(m.Plate, w.Config.Order.VoltsTolerance); why != "" {
			return Errorf(Conflict, "%s does not suit the supply %s of order %s: %s", m.Tag, o.Supply, o.Number, why)
		}
	}
	if err := w.kitGate(r, o, s, m); err != nil {
		return err
	}
	return w.heritageGate(m, Shipped, by, seenBy)
}

// kitGate asks that everything goes along without which the machine would stand idle.
func (w *Workshop) kitGate(r Reader, o *Order, s *OrderSet, m *Machine) error {
	_, l, err := openLine(r, o.Number, s.Line)
	if err != nil {
		return err
	}
	lacks, err := w.kitLacks(r, m, Leaving{As: l.Wanted.Drive(), Plug: o.Supply.Plug()})
	if err != nil || len(lacks) == 0 {
		return err
	}
	var short []string
	for _, lack := range lacks {
		if lack.Part == "" {
			return Errorf(Conflict, "what belongs into the kit of %s is not clear: %s; nothing was packed", m.Tag, lack.Why)
		}
		part, err := w.partNamed(lack.Part)
		if err != nil {
			return err
		}
		if !part.Counted {
			return Errorf(Conflict, "%s lacks a part of its own, %s: take it off the order with pitman order release %s %s, and on the bench fit one "+
				"with pitman spare fit %s %s; nothing was packed", m.Tag, part.Part, o.Number, m.Tag, m.Tag, part.Part)
		}
		short = append(short, lack.Why)
	}
	put := fmt.Sprintf("pitman kit put %s --as %s", m.Tag, l.Wanted.Drive())
	if plug := o.Supply.Plug(); plug != "" && m.Drive == Electric {
		put += " --plug " + plug
	}
	return Errorf(Conflict, "the kit of %s is short of %s: put it with the machine by %s; nothing was packed", m.Tag, strings.Join(short, ", "), put)
}

// unpacked lists the pieces of places that are not in their crates yet.
func unpacked(r Reader, sets []OrderSet) ([]Unit, error) {
	missing := []Unit{}
	for _, s := range sets {
		for _, tag := range s.tags() {
			u, err := unitByTag(r, tag)
			if err != nil {
				return nil, err
			}
			if u.Stage != Packed {
				missing = append(missing, u)
			}
		}
	}
	return missing, nil
}

// PackingOf says how far the packing of an order has come.
func (w *Workshop) PackingOf(ctx context.Context, number string) (p Packing, err error) {
	err = w.Store.View(ctx, func(r Reader) error {
		if _, err := OrderByNumber(r, number); err != nil {
			return err
		}
		sets, err := OrderSets(r, number)
		if err != nil {
			return err
		}
		p = Packing{Order: number, Packed: []Tag{}, Cautions: []string{}}
		p.Missing, err = unpacked(r, sets)
		p.Done = len(sets) > 0 && len(p.Missing) == 0
		return err
	})
	return p, err
}

// ShipOrder closes an order: everything on it leaves the house.
func (w *Workshop) ShipOrder(ctx context.Context, by Initials, number string) (o *Order, sets []OrderSet, err error) {
	o, err = w.onOrder(ctx, by, number, "order ship", "", func(tx Tx, o *Order) error {
		if sets, err = OrderSets(tx, number); err != nil {
			return err
		}
		if len(sets) == 0 {
			return Errorf(Conflict, "nothing is on order %s: fill it with pitman match --confirm, or close it with pitman order cancel %s", number, number)
		}
		missing, err := unpacked(tx, sets)
		if err != nil {
			return err
		}
		if len(missing) > 0 {
			return Errorf(Conflict, "order %s has pieces that are not packed: %s; pack them with pitman order pack %s, or give them back with "+
				"pitman order release %s", number, someTags(missing), number, number)
		}
		o.State, o.ShippedAt = OrderShipped, tx.Action().At
		for _, s := range sets {
			if err := shipPieces(tx, &s); err != nil {
				return err
			}
		}
		return nil
	})
	return o, sets, err
}

func shipPieces(tx Tx, s *OrderSet) error {
	m, err := MachineByTag(tx, s.Head)
	if err != nil {
		return err
	}
	if err := m.moveTo(doShip, tx.Action().At); err != nil {
		return err
	}
	if err := tx.Put(m); err != nil || s.Base == "" {
		return err
	}
	b, err := BaseByTag(tx, s.Base)
	if err != nil {
		return err
	}
	if err := b.moveTo(doShip, tx.Action().At); err != nil {
		return err
	}
	return tx.Put(b)
}

// someTags names the first few pieces.
func someTags(units []Unit) string {
	const most = 8
	names := make([]string, 0, most)
	for _, u := range units[:min(len(units), most)] {
		names = append(names, string(u.Tag))
	}
	if more := len(units) - most; more > 0 {
		names = append(names, fmt.Sprintf("and %d more", more))
	}
	return strings.Join(names, ", ")
}
