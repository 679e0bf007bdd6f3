package shipments

import (
	"cmp"
	"context"
	"math"
	"slices"
	"strconv"

	"pitman/registry"
	"pitman/registry/measure"
	"pitman/registry/orders"
	"pitman/registry/packing"
	"pitman/registry/promise"
	"pitman/registry/stock"
)

// NewShipment begins a shipment; it gets its number.
func (w *Shipments) NewShipment(ctx context.Context, by registry.Initials, s *Shipment) error {
	s.Container = cmp.Or(s.Container, "20")
	s.Currency = cmp.Or(s.Currency, w.Packing.Orders.Config.Currency)
	return w.Act(ctx, by, "shipment new", "", func(tx stock.Tx) error {
		n, err := tx.Next("shipment")
		if err != nil {
			return err
		}
		s.ID, s.State = Letters+strconv.FormatInt(n, 10), Open
		s.OpenedAt, s.OpenedBy = tx.Action().At, by
		return tx.Put(s)
	})
}

// onShipment runs one action on a shipment that has not left.
func (w *Shipments) onShipment(ctx context.Context, by registry.Initials, number, verb, why string,
	rule func(stock.Tx, *Shipment) error) (s *Shipment, err error) {
	err = w.Act(ctx, by, verb, why, func(tx stock.Tx) error {
		if s, err = ByNumber(tx, number); err != nil {
			return err
		}
		if s.State != Open {
			return registry.Errorf(registry.Conflict, "%s left on %s, and is not changed any more: begin "+
				"another", s.ID, w.LocalDay(s.LeftAt)).Then(registry.Next(registry.DoNewShipment, ""))
		}
		if err := rule(tx, s); err != nil {
			return err
		}
		return tx.Put(s)
	})
	return s, err
}

// AmendShipment corrects what a shipment says. What it cost is often known only after it left, so only its
// container and its day are settled then.
func (w *Shipments) AmendShipment(ctx context.Context, by registry.Initials, number, why string,
	correct func(*Shipment) error) (s *Shipment, err error) {
	err = w.Act(ctx, by, "shipment amend", why, func(tx stock.Tx) error {
		if s, err = ByNumber(tx, number); err != nil {
			return err
		}
		before := *s
		if err := correct(s); err != nil {
			return err
		}
		if s.State != Open && (s.Container != before.Container || s.Day != before.Day) {
			return registry.Errorf(registry.Conflict,
				"%s left on %s: its freight, currency and note can be corrected, and nothing else", s.ID,
				w.LocalDay(s.LeftAt))
		}
		return tx.Put(s)
	})
	return s, err
}

// Load puts orders on a shipment: all their places that wait and go with none or, in part, those that are
// packed. An order that is on it already gets what was filled since.
func (w *Shipments) Load(ctx context.Context, by registry.Initials, number string, list []string,
	part bool) (s *Shipment, err error) {
	return w.onShipment(ctx, by, number, "shipment add", "", func(tx stock.Tx, s *Shipment) error {
		for _, order := range registry.Unique(list) {
			if err := w.load(tx, s, order, part); err != nil {
				return err
			}
		}
		return nil
	})
}

func (w *Shipments) load(tx stock.Tx, s *Shipment, order string, part bool) error {
	if _, err := orders.StillOpen(tx, order); err != nil {
		return err
	}
	sets, err := packing.Waiting(tx, order)
	if err != nil {
		return err
	}
	added, on, unpacked := 0, "", 0
	for i := range sets {
		set := &sets[i]
		missing, err := promise.Unpacked(tx, []promise.OrderSet{*set})
		switch {
		case err != nil:
			return err
		case set.Shipment != "":
			on = set.Shipment
			continue
		case part && len(missing) > 0:
			unpacked++
			continue
		}
		set.Shipment = s.ID
		if err := tx.Put(set); err != nil {
			return err
		}
		added++
	}
	at := s.at(order)
	if at >= 0 && s.Orders[at].Part != part {
		s.Orders[at].Part = part
		return nil
	}
	switch {
	case added == 0 && unpacked > 0:
		return registry.Errorf(registry.Conflict,
			"order %s has nothing packed that goes with no shipment: pack it first, or put the whole order "+
				"on", order).Then(registry.Next(registry.DoPack, "").Of(order),
			registry.Next(registry.DoLoad, "").With("shipment", s.ID).Of(order))
	case added == 0 && on != "":
		return registry.Errorf(registry.Conflict, "all that is on order %s goes with %s already", order, on).
			Then(registry.Next(registry.DoShowShipment, "").With("shipment", on))
	case added == 0:
		return registry.Errorf(registry.Conflict, "nothing is on order %s: fill it from stock", order).
			Then(registry.Next(registry.DoReserve, ""))
	}
	if at < 0 {
		s.Orders = append(s.Orders, OnBoard{Order: order, Part: part})
	}
	return nil
}

// Unload takes orders off a shipment; what is packed stays packed.
func (w *Shipments) Unload(ctx context.Context, by registry.Initials, number, why string,
	list []string) (s *Shipment, err error) {
	return w.onShipment(ctx, by, number, "shipment remove", why, func(tx stock.Tx, s *Shipment) error {
		for _, order := range registry.Unique(list) {
			at := s.at(order)
			if at < 0 {
				return registry.Errorf(registry.NotFound, "order %s is not on %s", order, s.ID).On("order").
					Then(registry.Next(registry.DoShowShipment, "").With("shipment", s.ID))
			}
			sets, err := Places(tx, s.ID, order)
			if err != nil {
				return err
			}
			for i := range sets {
				sets[i].Shipment = ""
				if err := tx.Put(&sets[i]); err != nil {
					return err
				}
			}
			s.Orders = slices.Delete(slices.Clone(s.Orders), at, at+1)
		}
		return nil
	})
}

// MeasurePallets keeps how large and heavy the pallets of an order came out, in place of what its crates say;
// none goes back to those.
func (w *Shipments) MeasurePallets(ctx context.Context, by registry.Initials, number, order string,
	list []Measured) (s *Shipment, err error) {
	for _, m := range list {
		if err := m.check(); err != nil {
			return nil, err
		}
	}
	return w.onShipment(ctx, by, number, "shipment pallet", "", func(tx stock.Tx, s *Shipment) error {
		at := s.at(order)
		if at < 0 {
			return registry.Errorf(registry.NotFound, "order %s is not on %s: put it on first", order,
				s.ID).On("order").Then(registry.Next(registry.DoLoad, "").With("shipment", s.ID).Of(order))
		}
		s.Orders = slices.Clone(s.Orders)
		if len(list) == 0 {
			s.Orders[at].Measured = nil
		} else {
			s.Orders[at].Measured = append(slices.Clone(s.Orders[at].Measured), list...)
		}
		return nil
	})
}

// check refuses pallets that no container takes.
func (m Measured) check() error {
	for _, side := range []struct {
		name string
		is   int
	}{{"length", m.Length}, {"width", m.Width}, {"height", m.Height}} {
		if side.is < 100 || side.is > 12_000 {
			return registry.Errorf(registry.Invalid,
				"%s %d of a pallet is no measure: type millimetres from 100 to 12000", side.name,
				side.is).On(side.name)
		}
	}
	if m.Count < 1 || m.Count > 100 {
		return registry.Errorf(registry.Invalid, "count %d is none: type how many pallets are alike, from 1 "+
			"to 100", m.Count).On("count")
	}
	if m.Weight < measure.Kilogram || m.Weight > 5000*measure.Kilogram {
		return registry.Errorf(registry.Invalid,
			"weight of a pallet is missing or none: type kilograms from 1 to 5000, as weighed").On("weight")
	}
	return nil
}

// Send lets a shipment leave with all that is on it, or not at all: each of its orders is asked what it would
// be asked if it left alone.
func (w *Shipments) Send(ctx context.Context, by registry.Initials, number string) (s *Shipment, err error) {
	return w.onShipment(ctx, by, number, "shipment ship", "", func(tx stock.Tx, s *Shipment) error {
		if len(s.Orders) == 0 {
			return registry.Errorf(registry.Conflict, "nothing is on %s: put orders on it", s.ID).
				Then(registry.Next(registry.DoLoad, "").With("shipment", s.ID))
		}
		for _, on := range s.Orders {
			o, err := orders.StillOpen(tx, on.Order)
			if err != nil {
				return err
			}
			sets, err := Places(tx, s.ID, on.Order)
			if err != nil {
				return err
			}
			if len(sets) == 0 {
				return registry.Errorf(registry.Conflict,
					"nothing of order %s is left on %s: take it off, or put on what was filled since",
					o.Number,
					s.ID).Then(registry.Next(registry.DoUnload, "").With("shipment", s.ID).Of(o.Number),
					registry.Next(registry.DoLoad, "").With("shipment", s.ID).Of(o.Number))
			}
			if _, err := w.Packing.Leave(tx, o, s.ID, packing.Delivery{Part: on.Part}); err != nil {
				return err
			}
			if err := tx.Put(o); err != nil {
				return err
			}
		}
		s.State, s.LeftAt, s.LeftBy = Left, tx.Action().At, by
		return nil
	})
}

// Arrival is how a shipment came there.
type Arrival struct{ Day, Receipt, Damage string }

// Arrive keeps how a shipment came there: the day, who received it, and what was damaged. It can be corrected
// by saying it again; what is left out then stays.
func (w *Shipments) Arrive(ctx context.Context, by registry.Initials, number string,
	came Arrival) (s *Shipment, err error) {
	for _, text := range []struct {
		name string
		is   *string
	}{{"receipt", &came.Receipt}, {"damage", &came.Damage}} {
		if *text.is, err = registry.CleanText(text.name, *text.is, registry.MaxNote); err != nil {
			return nil, err
		}
	}
	err = w.Act(ctx, by, "shipment arrive", "", func(tx stock.Tx) error {
		if s, err = ByNumber(tx, number); err != nil {
			return err
		}
		left := w.LocalDay(s.LeftAt)
		came.Day = cmp.Or(came.Day, s.Arrived, w.LocalDay(tx.Action().At))
		came.Receipt, came.Damage = cmp.Or(came.Receipt, s.Receipt), cmp.Or(came.Damage, s.Damage)
		switch {
		case came.Receipt == "":
			return registry.Errorf(registry.Invalid,
				"receipt is missing: type who signed for it there, or the number of the paper").On("receipt")
		case s.State == Open:
			return registry.Errorf(registry.Conflict, "%s has not left yet", s.ID).
				Then(registry.Next(registry.DoSend, "").With("shipment", s.ID))
		case came.Day < left || came.Day > w.LocalDay(tx.Action().At):
			return registry.Errorf(registry.Invalid,
				"date %s is none on which %s can have arrived: it left on %s, and today is %s", came.Day,
				s.ID, left, w.LocalDay(tx.Action().At)).On("date")
		}
		s.State, s.Arrived, s.Receipt, s.Damage = Arrived, came.Day, came.Receipt, came.Damage
		return tx.Put(s)
	})
	return s, err
}

// NewMeasured reads so many equal pallets as a person measured them, in millimetres and kilograms.
func NewMeasured(count, length, width, height int, kg float64) (Measured, error) {
	m := Measured{Count: count, Length: max(length, width), Width: min(length, width), Height: height}
	if kg > 0 && kg <= 1e6 {
		m.Weight = measure.Mass(math.Round(kg * float64(measure.Kilogram)))
	}
	return m, m.check()
}
