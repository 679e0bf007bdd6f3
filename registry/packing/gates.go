package packing

import (
	"strings"

	"pitman/registry"
	"pitman/registry/orders"
	"pitman/registry/promise"
	"pitman/registry/spares"
	"pitman/registry/stock"
)

// PlaceGate asks what stands against an action by which an order gives back, packs, unpacks or ships a head
// or base that fills a place of it: what the order itself asks then.
func (w *Packing) PlaceGate(r stock.Reader, tag registry.Tag, action string, by registry.Initials) error {
	s, err := promise.SetOf(r, tag)
	if err != nil {
		return err
	}
	o, err := orders.StillOpen(r, s.Order)
	if err != nil {
		return err
	}
	switch action {
	case registry.DoUnreserve:
		return orders.ReturnGate(r, s)
	case registry.DoPack:
		m, b, err := headAndBase(r, s)
		if err != nil {
			return err
		}
		if tag == s.Base {
			return w.baseGate(r, s, m, b)
		}
		return w.headGate(r, o, s, m, b, by, "")
	case registry.DoShip:
		with, _, err := leaving(r, o.Number, s.Shipment)
		if err != nil {
			return err
		}
		return w.leaveGate(r, o, with)
	}
	return nil
}

// headAndBase reads what fills a place; the base is nil but in a treadle set.
func headAndBase(r stock.Reader, s *promise.OrderSet) (m *stock.Machine, b *stock.Base, err error) {
	if m, err = stock.MachineByTag(r, s.Head); err == nil && s.Base != "" {
		b, err = stock.BaseByTag(r, s.Base)
	}
	return m, b, err
}

// headGate is asked of a head once more: weeks may lie between its place on the order and its crate.
func (w *Packing) headGate(r stock.Reader, o *orders.Order, s *promise.OrderSet, m *stock.Machine,
	b *stock.Base, by, seenBy registry.Initials) error {
	if err := m.Suits(registry.DoPack); err != nil {
		return err // what is not on its way into a crate is asked nothing else
	}
	if err := w.SafetyGate(m, "packing it"); err != nil {
		return err
	}
	if err := w.supplyGate(r, o, s, m); err != nil {
		return err
	}
	if err := w.kitGate(r, o, s, m); err != nil {
		return err
	}
	if err := w.Orders.WorkGate(r, s); err != nil {
		return err
	}
	if err := w.HeritageGate(m, registry.Shipped, by, seenBy); err != nil {
		return err
	}
	return w.fitGate(m.Tag, m, b)
}

// baseGate is asked of a base as its head is asked: only what bears on the set.
func (w *Packing) baseGate(r stock.Reader, s *promise.OrderSet, m *stock.Machine, b *stock.Base) error {
	if err := b.Suits(registry.DoPack); err != nil {
		return err
	}
	if err := w.Orders.WorkGate(r, s); err != nil {
		return err
	}
	return w.fitGate(b.Tag, m, b)
}

// fitGate refuses to pack a piece of a set that does not fit together.
func (w *Packing) fitGate(tag registry.Tag, m *stock.Machine, b *stock.Base) error {
	if why := w.misfit(m, b); why != "" {
		return registry.Errorf(registry.Conflict, "%s cannot be packed: %s; nothing was packed", tag, why)
	}
	return nil
}

// leaveGate refuses to let places of an order leave together of which one is not packed, or cannot be plugged
// in as it is.
func (w *Packing) leaveGate(r stock.Reader, o *orders.Order, sets []promise.OrderSet) error {
	missing, err := promise.Unpacked(r, sets)
	if err != nil {
		return err
	}
	if len(missing) > 0 {
		return registry.Errorf(registry.Conflict,
			"order %s has pieces that are not packed: %s; pack them, or give them back", o.Number,
			someTags(missing)).
			Then(registry.Next(registry.DoPack, "").Of(o.Number),
				registry.Next(registry.DoUnreserve, "").Of(o.Number))
	}
	for i := range sets {
		m, err := stock.MachineByTag(r, sets[i].Head)
		if err != nil {
			return err
		}
		if err := w.SafetyGate(m, "shipping it"); err != nil {
			return err
		}
		if err := w.supplyGate(r, o, &sets[i], m); err != nil {
			return err
		}
	}
	return nil
}

// supplyGate asks that what takes the mains suits those where the order goes, its plug included.
func (w *Packing) supplyGate(r stock.Reader, o *orders.Order, s *promise.OrderSet, m *stock.Machine) error {
	if !m.TakesMains() {
		return nil
	}
	if o.Supply == "" {
		return registry.Errorf(registry.Conflict,
			"%s takes the mains, and the supply where order %s goes is not known: give it, such as "+
				"230V/50Hz/G",
			m.Tag, o.Number).On("supply").Then(registry.Next(registry.DoAmendOrder,
			"").Of(o.Number).Asking("supply"))
	}
	l, err := orders.LineOf(r, o.Number, s.Line)
	if err != nil {
		return err
	}
	asks := w.Orders.Asks(o, l)
	if why := asks.Refuses(m.Plate); why != "" {
		return registry.Errorf(registry.Conflict, "%s does not suit the supply %s of order %s: %s", m.Tag,
			o.Supply, o.Number, why)
	}
	if work := asks.Work(m.Plate); len(work) > 0 {
		return registry.Errorf(registry.Conflict,
			"%s goes to order %s, and does not fit there as it is: %s, then a competent person tests it "+
				"again as it is now", m.Tag, o.Number, work[0].Job).
			Then(registry.Next(registry.DoListWork, ""))
	}
	return nil
}

// kitGate asks that everything goes along without which the machine would stand idle.
func (w *Packing) kitGate(r stock.Reader, o *orders.Order, s *promise.OrderSet, m *stock.Machine) error {
	if err := spares.NoLoosePlug(r, m.Tag); err != nil {
		return err
	}
	_, l, err := orders.OpenLine(r, o.Number, s.Line)
	if err != nil {
		return err
	}
	lacks, err := w.Spares.KitLacks(r, m, spares.Leaving{As: l.Wanted.Drive(), Plug: o.Supply.Plug()})
	if err != nil || len(lacks) == 0 {
		return err
	}
	var short []string
	for _, lack := range lacks {
		if lack.Part == "" {
			return registry.Errorf(registry.Conflict,
				"what belongs into the kit of %s is not clear: %s; nothing was packed", m.Tag,
				lack.Why).Then(lack.Next...)
		}
		part, err := w.Spares.PartNamed(lack.Part)
		if err != nil {
			return err
		}
		if !part.Counted {
			return registry.Errorf(registry.Conflict,
				"%s lacks a part of its own, %s: nothing was packed; take it off the order, and fit one on "+
					"the "+
					"bench", m.Tag, part.Part).Then(registry.Next(registry.DoUnreserve, m.Tag).Of(o.Number),
				registry.Next(registry.DoFit, m.Tag).With("part", part.Part))
		}
		short = append(short, lack.Why)
	}
	put := registry.Next(registry.DoPutKit, m.Tag).With("as", string(l.Wanted.Drive()))
	if plug := o.Supply.Plug(); plug != "" && m.Drive == registry.Electric {
		put = put.With("plug", plug)
	}
	return registry.Errorf(registry.Conflict,
		"the kit of %s is short of %s: nothing was packed; put it with the machine", m.Tag,
		strings.Join(short, ", ")).
		Then(put)
}
