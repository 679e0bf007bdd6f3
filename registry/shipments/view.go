package shipments

import (
	"context"
	"slices"

	"pitman/registry/measure"
	"pitman/registry/money"
	"pitman/registry/orders"
	"pitman/registry/promise"
	"pitman/registry/stock"
)

// View is a shipment with its orders and how it stands in its container.
type View struct {
	Shipment
	Freight *float64 `json:"freight"` // nil: not known
	Loads   []Load   `json:"orders"`
	Plan    *Plan    `json:"plan"`
}

// Load is what of an order goes with a shipment, and its share of the freight, by weight and by room.
type Load struct {
	Order       string       `json:"order"`
	Partner     string       `json:"partner"`
	Part        bool         `json:"part"`
	Places      int          `json:"places"`
	Packed      int          `json:"packed"`
	Pallets     int          `json:"pallets"`
	Gross       measure.Mass `json:"gross_kg"`
	Unweighed   int          `json:"unweighed"` // pallets
	CubicMetres float64      `json:"volume_m3"`
	ByWeight    *float64     `json:"freight_by_kg"` // nil: not known
	ByRoom      *float64     `json:"freight_by_m3"`

	cubicMM int64
}

// ViewShipment reads a shipment with all that is on it.
func (w *Shipments) ViewShipment(ctx context.Context, number string) (v *View, err error) {
	err = w.Store.View(ctx, func(r stock.Reader) error {
		s, err := ByNumber(r, number)
		if err != nil {
			return err
		}
		v, err = w.view(r, s)
		return err
	})
	return v, err
}

// ViewShipments reads all shipments: those that have not left first, by their day, then the latest.
func (w *Shipments) ViewShipments(ctx context.Context) (list []View, err error) {
	list = []View{}
	err = w.Store.View(ctx, func(r stock.Reader) error {
		all, err := All(r, "")
		if err != nil {
			return err
		}
		slices.SortStableFunc(all, soonest)
		for i := range all {
			v, err := w.view(r, &all[i])
			if err != nil {
				return err
			}
			list = append(list, *v)
		}
		return nil
	})
	return list, err
}

// soonest puts what has not left first, by its day, and of the rest what left last.
func soonest(a, b Shipment) int {
	if (a.State == Open) != (b.State == Open) {
		if a.State == Open {
			return -1
		}
		return 1
	}
	if a.State != Open {
		return b.LeftAt.Compare(a.LeftAt)
	}
	if (a.Day == "") != (b.Day == "") { // no day comes after all days
		a, b = b, a
	}
	if a.Day < b.Day {
		return -1
	}
	if a.Day > b.Day {
		return 1
	}
	return 0
}

func (w *Shipments) view(r stock.Reader, s *Shipment) (*View, error) {
	plan, err := w.plan(r, s)
	if err != nil {
		return nil, err
	}
	v := &View{Shipment: *s, Plan: plan, Loads: []Load{}}
	for _, on := range s.Orders {
		o, err := orders.OrderByNumber(r, on.Order)
		if err != nil {
			return nil, err
		}
		l := Load{Order: o.Number, Partner: o.Partner, Part: on.Part}
		sets, err := Places(r, s.ID, on.Order)
		if err != nil {
			return nil, err
		}
		for i := range sets {
			missing, err := promise.Unpacked(r, sets[i:i+1])
			if err != nil {
				return nil, err
			}
			if l.Places++; len(missing) == 0 {
				l.Packed++
			}
		}
		for _, p := range plan.Pallets {
			if p.Order != o.Number {
				continue
			}
			l.Pallets++
			l.cubicMM += int64(p.Length) * int64(p.Width) * int64(p.Height)
			if p.Weight == nil {
				l.Unweighed++
			} else {
				l.Gross += *p.Weight
			}
		}
		l.CubicMetres = float64(l.cubicMM) / 1e9
		v.Loads = append(v.Loads, l)
	}
	v.share()
	return v, nil
}

// share parts the freight over the orders, by weight where all is weighed, and by the room of their pallets.
// The shares add up to it to the hundredth.
func (v *View) share() {
	whole := v.Shipment.Freight
	if whole == 0 {
		return
	}
	units := whole.Units()
	v.Freight = &units
	part := func(known bool, of func(*Load) int64, at func(*Load) **float64) {
		weights := make([]int64, len(v.Loads))
		sum := int64(0)
		for i := range v.Loads {
			weights[i] = of(&v.Loads[i])
			sum += weights[i]
		}
		if !known || sum == 0 {
			return
		}
		for i, share := range money.Shares(whole, weights) {
			units := share.Units()
			*at(&v.Loads[i]) = &units
		}
	}
	sized := len(v.Plan.Unknown) == 0
	part(sized && v.Plan.Unweighed == 0, func(l *Load) int64 { return int64(l.Gross) },
		func(l *Load) **float64 { return &l.ByWeight })
	part(sized, func(l *Load) int64 { return l.cubicMM }, func(l *Load) **float64 { return &l.ByRoom })
}
