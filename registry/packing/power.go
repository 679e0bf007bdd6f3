package packing

import (
	"context"

	"pitman/registry"
	"pitman/registry/orders"
	"pitman/registry/partners"
	"pitman/registry/power"
	"pitman/registry/promise"
	"pitman/registry/stock"
)

// PowerPlan is what the electricity of a partner can do for the electric machines of an order.
type PowerPlan struct {
	Order   string `json:"order"`
	Partner string `json:"partner"`
	power.Budget
}

// PlanPower checks the electric lines of an order against the partner's site. A place that nothing fills yet
// counts with the most watts that its line takes.
func (w *Packing) PlanPower(ctx context.Context, number string) (plan *PowerPlan, err error) {
	err = w.Store.View(ctx, func(r stock.Reader) error {
		o, err := orders.OrderByNumber(r, number)
		if err != nil {
			return err
		}
		watts, err := electricWatts(r, number)
		if err != nil {
			return err
		}
		if len(watts) == 0 {
			return registry.Errorf(registry.Conflict, "order %s asks for no electric machine", number).
				Then(registry.Next(registry.DoOrderLine, "").Of(number))
		}
		p, err := partners.Named(r, o.Partner)
		if err != nil {
			return err
		}
		if p == nil {
			return registry.Errorf(registry.NotFound,
				"no record tells which electricity %s has: keep one, with mains hours, inverter, battery and "+
					"panels", o.Partner).On("partner").
				Then(registry.Next(registry.DoAddPartner, "").With("name", o.Partner))
		}
		site := power.Site{MainsHours: p.Hours, Panel: p.Panel, Inverter: p.Inverter, Battery: p.Battery,
			Lithium: p.BatteryIs == partners.Lithium, SunHours: p.Sun}
		plan = &PowerPlan{o.Number, o.Partner, power.Of(site, watts)}
		return nil
	})
	return plan, err
}

// electricWatts lists the nameplate watts of an order's electric machines; nought is not known.
func electricWatts(r stock.Reader, number string) (watts []int, err error) {
	lines, err := orders.OrderLines(r, number)
	if err != nil {
		return nil, err
	}
	sets, err := promise.OrderSets(r, number)
	if err != nil {
		return nil, err
	}
	for _, l := range lines {
		if l.Wanted != orders.ElectricOne {
			continue
		}
		open := l.Asked
		for _, s := range sets {
			if s.Line != l.Line {
				continue
			}
			m, err := stock.MachineByTag(r, s.Head)
			if err != nil {
				return nil, err
			}
			watts = append(watts, m.Plate.Watts)
			open--
		}
		for ; open > 0; open-- {
			watts = append(watts, l.WattsMax)
		}
	}
	return watts, nil
}
