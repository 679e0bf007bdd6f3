package orders

import (
	"cmp"
	"context"
	"slices"
	"time"

	"pitman/registry"
	"pitman/registry/promise"
	"pitman/registry/stock"
)

// OrderView is an order with its lines, and what is on them.
type OrderView struct {
	Order
	Lines []LineView `json:"lines"`
	Sets  []SetView  `json:"sets"`

	Lost []promise.OrderSet `json:"lost"` // places that became free because a piece failed
	Work []WorkOrder        `json:"work"`
}

// SetView is a filled place, and what stops it.
type SetView struct {
	promise.OrderSet
	WorkMinutes int `json:"minutes"` // the same as the work_minutes of its place, beside its head

	Trouble string              `json:"trouble,omitempty"`
	Next    []registry.NextStep `json:"next,omitempty"` // what ends the trouble
}

// LineView is a line with how many of its places are filled.
type LineView struct {
	OrderLine
	Filled int `json:"filled"`
}

// ViewOrder reads an order with all that is on it.
func (w *Orders) ViewOrder(ctx context.Context, number string) (*OrderView, error) {
	v := &OrderView{}
	err := w.Store.View(ctx, func(r stock.Reader) error {
		o, err := OrderByNumber(r, number)
		if err != nil {
			return err
		}
		v.Order = *o
		return v.fill(r)
	})
	return v, err
}

func (v *OrderView) fill(r stock.Reader) error {
	lines, err := OrderLines(r, v.Number)
	if err != nil {
		return err
	}
	if v.Sets, err = ViewSets(r, v.Number); err != nil {
		return err
	}
	if v.Lost, err = promise.LostSets(r, v.Number); err != nil {
		return err
	}
	sets := make([]promise.OrderSet, len(v.Sets))
	for i, s := range v.Sets {
		sets[i] = s.OrderSet
	}
	if v.Work, err = WorkOf(r, v.Number, sets); err != nil {
		return err
	}
	v.Lines = []LineView{}
	for _, l := range lines {
		if l.Asked == 0 {
			continue
		}
		view := LineView{OrderLine: l}
		for _, s := range v.Sets {
			if s.Line == l.Line {
				view.Filled++
			}
		}
		v.Lines = append(v.Lines, view)
	}
	return nil
}

// ViewSets lists the filled places of an order, each with what stops it.
func ViewSets(r stock.Reader, number string) ([]SetView, error) {
	sets, err := promise.OrderSets(r, number)
	views := []SetView{}
	for _, s := range sets {
		trouble, err := s.Trouble(r)
		if err != nil {
			return nil, err
		}
		view := SetView{OrderSet: s, WorkMinutes: s.Minutes, Trouble: trouble}
		if trouble != "" {
			view.Next = []registry.NextStep{registry.Next(registry.DoSwap, s.Head)}
		}
		views = append(views, view)
	}
	return views, err
}

// ViewOrders reads the orders at a state, or all, each with what is on it; the next to leave come first.
func (w *Orders) ViewOrders(ctx context.Context, state OrderState) ([]OrderView, error) {
	views := []OrderView{}
	err := w.Store.View(ctx, func(r stock.Reader) error {
		orders, err := All(r, state)
		if err != nil {
			return err
		}
		for _, o := range orders {
			v := OrderView{Order: o}
			if err := v.fill(r); err != nil {
				return err
			}
			views = append(views, v)
		}
		return nil
	})
	slices.SortStableFunc(views, func(a, b OrderView) int {
		return cmp.Or(cmp.Compare(b.Priority, a.Priority), cmp.Compare(a.Due, b.Due))
	})
	return views, err
}

// Going is the order that a unit is promised to or went with, and its partner; empty where there is none.
type Going struct {
	Order   string `json:"order"`
	Partner string `json:"partner"`
}

// GoingWith says which order a unit is on.
func (w *Orders) GoingWith(ctx context.Context, tag registry.Tag) (g Going, err error) {
	err = w.Store.View(ctx, func(r stock.Reader) error {
		g, err = GoingOf(r, tag)
		return err
	})
	return g, err
}

// GoingOf is GoingWith within one look.
func GoingOf(r stock.Reader, tag registry.Tag) (g Going, err error) {
	s, err := promise.SetOf(r, tag)
	if registry.CodeOf(err) == registry.NotFound {
		return g, nil
	}
	if err != nil {
		return g, err
	}
	o, err := OrderByNumber(r, s.Order)
	if err != nil {
		return g, err
	}
	return Going{o.Number, o.Partner}, nil
}

// Unfilled counts the places of open orders that nothing is reserved for, by the drive that they ask for.
func Unfilled(r stock.Reader) (map[registry.Drive]int, error) {
	orders, err := All(r, OrderOpen)
	if err != nil {
		return nil, err
	}
	slots := map[registry.Drive]int{}
	for _, o := range orders {
		v := OrderView{Order: o}
		if err := v.fill(r); err != nil {
			return nil, err
		}
		for _, l := range v.Lines {
			slots[l.Wanted.Drive()] += l.Asked - l.Filled
		}
	}
	return slots, nil
}

// LeftAt is when what fills a place left the house, zero while it is here. Of orders that were sent before
// places kept their own delivery, it is when the order was closed.
func (o *Order) LeftAt(s *promise.OrderSet) time.Time {
	if s.ShippedAt.IsZero() && o.State == OrderShipped {
		return o.ShippedAt
	}
	return s.ShippedAt
}
