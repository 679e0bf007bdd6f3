package packing

import (
	"context"
	"fmt"
	"slices"

	"pitman/registry"
	"pitman/registry/orders"
	"pitman/registry/promise"
	"pitman/registry/stock"
)

// Delivery says how an order leaves whose places are not all filled.
type Delivery struct {
	Part       bool   // what is packed leaves, and the order stays open for the rest
	CloseShort string // why it is closed without the rest
}

// ShipOrder sends what is packed for an order and goes with no shipment. It closes when every place has left,
// or when somebody says why it is closed short; a place that nobody filled is not forgotten.
func (w *Packing) ShipOrder(ctx context.Context, by registry.Initials, number string,
	how Delivery) (o *orders.Order, sets []promise.OrderSet, err error) {
	if how.CloseShort, err = registry.CleanText("close-short", how.CloseShort, registry.MaxText); err != nil {
		return nil, nil, err
	}
	if how.Part && how.CloseShort != "" {
		return nil, nil,
			registry.Errorf(registry.Invalid,
				"an order is either shipped in part or closed short: say one of them").On("close-short")
	}
	o, err = w.Orders.OnOrder(ctx, by, number, "order ship", how.CloseShort,
		func(tx stock.Tx, o *orders.Order) error {
			sets, err = w.Leave(tx, o, "", how)
			return err
		})
	return o, sets, err
}

// Leave sends what is packed for an order and goes with one shipment, or with none. Orders that leave alone
// and those that leave together are asked the same here. The order itself is the caller's to put.
func (w *Packing) Leave(tx stock.Tx, o *orders.Order, shipment string,
	how Delivery) (sets []promise.OrderSet, err error) {
	open, err := unfilled(tx, o.Number)
	if err != nil {
		return nil, err
	}
	sets, stay, err := leaving(tx, o.Number, shipment)
	if err != nil {
		return nil, err
	}
	if err := elsewhere(o.Number, shipment, sets, stay, how); err != nil {
		return nil, err
	}
	if err := w.shipGate(tx, o, sets, open, how); err != nil {
		return nil, err
	}
	at := tx.Action().At
	for i := range sets {
		if err := shipPieces(tx, &sets[i]); err != nil {
			return nil, err
		}
	}
	if len(sets) > 0 {
		if err := w.issue(tx, o.Number, sets); err != nil {
			return nil, err
		}
	}
	if len(stay) == 0 && open == 0 || how.CloseShort != "" {
		if o.State, o.ShippedAt = orders.OrderShipped, at; open > 0 {
			o.ShortWhy = how.CloseShort // else nothing is short, whatever was said
		}
	}
	return sets, nil
}

// leaving parts the places of an order that no delivery has taken yet: those that go with a shipment, or with
// none, and the rest.
func leaving(r stock.Reader, number, shipment string) (sets, stay []promise.OrderSet, err error) {
	all, err := Waiting(r, number)
	for _, s := range all {
		if s.Shipment == shipment {
			sets = append(sets, s)
		} else {
			stay = append(stay, s)
		}
	}
	return sets, stay, err
}

// elsewhere refuses to send a whole order while places of it stay behind, unless they go with another
// shipment of their own.
func elsewhere(number, shipment string, sets, stay []promise.OrderSet, how Delivery) error {
	if shipment != "" {
		stay = slices.DeleteFunc(slices.Clone(stay),
			func(s promise.OrderSet) bool { return s.Shipment != "" })
	}
	if len(stay) == 0 || how.Part && len(sets) > 0 {
		return nil
	}
	if shipment != "" {
		load := registry.Next(registry.DoLoad, "").Of(number).With("shipment", shipment)
		return registry.Errorf(registry.Conflict,
			"order %s has %s that %s with no shipment: put %s on %s, too, or let it leave in part", number,
			registry.Counted(len(stay), "filled place"), registry.Agree(len(stay), "goes", "go"),
			registry.Agree(len(stay), "it", "them"), shipment).Then(load, load.With("part", ""))
	}
	on := stay[0].Shipment
	return registry.Errorf(registry.Conflict,
		"order %s has %s that %s with %s: send that, or take the order off it", number,
		registry.Counted(len(stay), "place"), registry.Agree(len(stay), "goes", "go"), on).
		Then(registry.Next(registry.DoSend, "").With("shipment", on),
			registry.Next(registry.DoUnload, "").Of(number).With("shipment", on))
}

// Gone says what an order left with.
func Gone(number string, sets []promise.OrderSet) string {
	return fmt.Sprintf("%s has left, with %d %s.", number, len(sets),
		registry.Agree(len(sets), "set or machine", "sets and machines"))
}

// Waiting lists the places of an order that no delivery has taken yet.
func Waiting(r stock.Reader, number string) ([]promise.OrderSet, error) {
	sets, err := promise.OrderSets(r, number)
	return slices.DeleteFunc(sets, func(s promise.OrderSet) bool { return !s.ShippedAt.IsZero() }), err
}

// OpenPlaces counts what an open order asks for and nothing fills: what comes to it counts its crates anew.
func (w *Packing) OpenPlaces(ctx context.Context, number string) (open int, err error) {
	err = w.Store.View(ctx, func(r stock.Reader) error {
		o, err := orders.OrderByNumber(r, number)
		if err == nil && o.State == orders.OrderOpen {
			open, err = unfilled(r, o.Number)
		}
		return err
	})
	return open, err
}

// unfilled counts the places of an order that nothing is reserved for and nothing has left for.
func unfilled(r stock.Reader, number string) (open int, err error) {
	lines, err := orders.OrderLines(r, number)
	if err != nil {
		return 0, err
	}
	sets, err := promise.OrderSets(r, number)
	for _, l := range lines {
		filled := 0
		for _, s := range sets {
			if s.Line == l.Line {
				filled++
			}
		}
		open += max(0, l.Asked-filled)
	}
	return open, err
}

// shipGate refuses to send nothing, to send what is not packed, and to forget what is not filled.
func (w *Packing) shipGate(r stock.Reader, o *orders.Order, sets []promise.OrderSet, open int,
	how Delivery) error {
	all, err := promise.OrderSets(r, o.Number)
	if err != nil {
		return err
	}
	left := len(all) > 0 && len(sets) == 0 // what is nowhere else has left already, or goes with a shipment
	if len(sets) == 0 && !(left && (open == 0 || how.CloseShort != "")) {
		other := registry.Next(registry.DoCancelOrder, "").Of(o.Number)
		if left {
			other = registry.Next(registry.DoShip, "").Of(o.Number).Asking("close-short")
		}
		return registry.Errorf(registry.Conflict, "nothing is on order %s: fill it from stock, or close it",
			o.Number).
			Then(registry.Next(registry.DoReserve, ""), other)
	}
	if err := w.leaveGate(r, o, sets); err != nil {
		return err
	}
	if open > 0 && !how.Part && how.CloseShort == "" {
		ship := registry.Next(registry.DoShip, "").Of(o.Number)
		return registry.Errorf(registry.Conflict,
			"order %s has %s that nothing fills: ship a part and leave the rest open, or close it "+
				"short with a reason",
			o.Number, registry.Counted(open, "place")).Then(ship.With("part", ""), ship.Asking("close-short"))
	}
	return nil
}

func shipPieces(tx stock.Tx, s *promise.OrderSet) error {
	s.ShippedAt = tx.Action().At
	if err := tx.Put(s); err != nil {
		return err
	}
	if err := stock.AdvanceTag(tx, s.Head, registry.DoShip); err != nil || s.Base == "" {
		return err
	}
	return stock.AdvanceTag(tx, s.Base, registry.DoShip)
}
