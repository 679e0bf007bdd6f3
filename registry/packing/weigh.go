package packing

import (
	"time"

	"pitman/registry/measure"
	"pitman/registry/orders"
	"pitman/registry/promise"
	"pitman/registry/stock"
)

// Weights is what the pieces of one crate weigh: net what is known of them, gross with the crate, nought
// while a piece or the crate is not weighed.
type Weights struct {
	Net, Gross measure.Mass
	Unweighed  int // pieces whose weight nobody knows: they are in no sum
}

// Weigh adds up what goes into a crate for one place of an order. Papers and reports both ask it.
func (w *Packing) Weigh(wanted orders.Wanted, pieces ...measure.Mass) (sum Weights) {
	kind, known := w.Config.Crates.CrateFor(wanted)
	for _, piece := range pieces {
		sum.Net += piece
		if piece == 0 {
			sum.Unweighed++
		}
	}
	if known && sum.Unweighed == 0 {
		sum.Gross = sum.Net + measure.Mass(kind.Tare*float64(measure.Kilogram))
	}
	return sum
}

// Left is what filled one place of an order and left with it.
type Left struct {
	Weights
	Wanted  orders.Wanted
	Machine *stock.Machine
	Base    bool
	BaseNet measure.Mass
}

// WeighSet weighs what fills one place, packed, and says what its line asked for.
func (w *Packing) WeighSet(r stock.Reader, set *promise.OrderSet) (wanted orders.Wanted, sum Weights,
	err error) {
	l, err := orders.LineOf(r, set.Order, set.Line)
	if err != nil {
		return "", sum, err
	}
	one, err := w.weighSet(r, set, l.Wanted)
	return l.Wanted, one.Weights, err
}

func (w *Packing) weighSet(r stock.Reader, set *promise.OrderSet, wanted orders.Wanted) (one Left,
	err error) {
	one = Left{Wanted: wanted, Base: set.Base != ""}
	m, err := stock.MachineByTag(r, set.Head)
	if err != nil {
		return one, err
	}
	one.Machine = m
	pieces := []measure.Mass{m.Weight}
	if one.Base {
		b, err := stock.BaseByTag(r, set.Base)
		if err != nil {
			return one, err
		}
		one.BaseNet = b.Weight
		pieces = append(pieces, b.Weight)
	}
	one.Weights = w.Weigh(wanted, pieces...)
	return one, nil
}

// EachLeft calls fn with each place of an order that has left, and when.
func (w *Packing) EachLeft(r stock.Reader, o *orders.Order, fn func(at time.Time, one Left)) error {
	lines, err := orders.OrderLines(r, o.Number)
	if err != nil {
		return err
	}
	wanted := map[int]orders.Wanted{}
	for _, l := range lines {
		wanted[l.Line] = l.Wanted
	}
	sets, err := promise.OrderSets(r, o.Number)
	if err != nil {
		return err
	}
	for _, set := range sets {
		at := o.LeftAt(&set)
		if at.IsZero() {
			continue
		}
		one, err := w.weighSet(r, &set, wanted[set.Line])
		if err != nil {
			return err
		}
		fn(at, one)
	}
	return nil
}
