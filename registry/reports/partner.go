package reports

import (
	"context"
	"fmt"
	"slices"

	"pitman/registry/orders"
	"pitman/registry/packing"
	"pitman/registry/partners"
	"pitman/registry/promise"
	"pitman/registry/stock"
)

// PartnerView is a partner with what it got and what it said of that.
type PartnerView struct {
	partners.Partner
	Volts  *int              `json:"volts"` // of its supply; null is not known
	Hertz  *int              `json:"hertz"`
	Plug   string            `json:"plug"`
	Orders []PartnerOrder    `json:"orders"`
	Said   []packing.Arrival `json:"reported_back"`
}

// PartnerOrder is an order of a partner, and what of it has left the house.
type PartnerOrder struct {
	Number string            `json:"order"`
	Due    string            `json:"due"`
	State  orders.OrderState `json:"state"`
	Asked  int               `json:"asked"`
	Left   int               `json:"shipped"`
	Got    []string          `json:"got"` // such as "3 treadle-set"
}

// PartnerLine is a partner in a list. One that orders name and no record tells of has no number.
type PartnerLine struct {
	partners.Partner
	Orders int `json:"orders"`
}

// ViewPartner reads a partner with its orders and what came back of them.
func (w *Reports) ViewPartner(ctx context.Context, name string) (v *PartnerView, err error) {
	err = w.Store.View(ctx, func(r stock.Reader) error {
		p, err := partners.Known(r, name)
		if err != nil {
			return err
		}
		v = &PartnerView{Partner: *p, Plug: p.Supply.Plug(), Orders: []PartnerOrder{},
			Said: []packing.Arrival{}}
		if volts, hertz := p.Supply.Figures(); volts > 0 {
			v.Volts = &volts
			if hertz > 0 {
				v.Hertz = &hertz
			}
		}
		sent := map[string]bool{}
		all, err := orders.All(r, "")
		if err != nil {
			return err
		}
		for _, o := range all {
			if stock.MakerKey(o.Partner) != p.NameKey {
				continue
			}
			one, err := partnerOrder(r, o, sent)
			if err != nil {
				return err
			}
			v.Orders = append(v.Orders, one)
		}
		return v.said(r, sent)
	})
	return v, err
}

// partnerOrder says what of an order has left, and notes the heads that did.
func partnerOrder(r stock.Reader, o orders.Order, sent map[string]bool) (PartnerOrder, error) {
	one := PartnerOrder{Number: o.Number, Due: o.Due, State: o.State, Got: []string{}}
	lines, err := orders.OrderLines(r, o.Number)
	if err != nil {
		return one, err
	}
	sets, err := promise.OrderSets(r, o.Number)
	if err != nil {
		return one, err
	}
	got := map[orders.Wanted]int{}
	for _, l := range lines {
		one.Asked += l.Asked
		for _, s := range sets {
			if s.Line == l.Line && !o.LeftAt(&s).IsZero() {
				got[l.Wanted]++
				one.Left++
				sent[string(s.Head)] = true
			}
		}
	}
	for _, kind := range orders.WantedKinds {
		if n := got[kind]; n > 0 {
			one.Got = append(one.Got, fmt.Sprintf("%d %s", n, kind))
		}
	}
	return one, nil
}

func (v *PartnerView) said(r stock.Reader, sent map[string]bool) error {
	var arrivals []packing.Arrival
	if err := r.All(&arrivals, stock.Fields{}); err != nil {
		return err
	}
	for _, a := range arrivals {
		if sent[string(a.Tag)] {
			v.Said = append(v.Said, a)
		}
	}
	return nil
}

// ListPartners lists the partners by name, and behind them the names on orders that no record tells of.
func (w *Reports) ListPartners(ctx context.Context) (list []PartnerLine, err error) {
	list = []PartnerLine{}
	err = w.Store.View(ctx, func(r stock.Reader) error {
		known, err := partners.All(r)
		if err != nil {
			return err
		}
		for _, p := range known {
			list = append(list, PartnerLine{Partner: p})
		}
		all, err := orders.All(r, "")
		if err != nil {
			return err
		}
		for _, o := range all {
			key := stock.MakerKey(o.Partner)
			i := slices.IndexFunc(list, func(l PartnerLine) bool { return l.NameKey == key })
			if i < 0 {
				i = len(list)
				list = append(list, PartnerLine{Partner: partners.Partner{Name: o.Partner, NameKey: key}})
			}
			list[i].Orders++
		}
		return nil
	})
	return list, err
}
