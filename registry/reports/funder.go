package reports

import (
	"cmp"
	"context"
	"slices"
	"time"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/measure"
	"pitman/registry/orders"
	"pitman/registry/packing"
	"pitman/registry/partners"
	"pitman/registry/stock"
	"pitman/registry/takings"
)

// Delivered is what left the house for partners between two days, for those who pay for it.
type Delivered struct {
	House    string `json:"house"`
	From     string `json:"from"` // "" is from the beginning
	To       string `json:"to"`   // "" is up to now
	Currency string `json:"currency"`
	Sum      Group  `json:"total"`

	ByPartner []Group `json:"by_partner"`
	ByCountry []Group `json:"by_country"`
	ByDrive   []Group `json:"by_drive"`
	ByMonth   []Group `json:"by_month"`

	// of work at the bench and for promised places, as far as people wrote minutes down
	Hours       float64        `json:"hours"`
	NotTimed    int            `json:"work_without_minutes"` // ended stays at the bench, and promised jobs
	FirstPassed int            `json:"first_time_passed"`
	FirstTested int            `json:"first_time_tested"`
	Oldest      *OldestMachine `json:"oldest"` // of those that left

	Brought []takings.Sum   `json:"brought"` // by other ways out, by way and currency
	Scrap   []takings.Metal `json:"scrap"`   // by metal
}

// Group is what left for one partner, to one country, of one drive or in one month.
type Group struct {
	Name      string  `json:"name"`
	Machines  int     `json:"machines"`
	Sets      int     `json:"sets"` // of the machines, those with a base
	NetKG     float64 `json:"net_kg"`
	Unweighed int     `json:"unweighed"` // pieces: they are in no sum
	Value     float64 `json:"value"`     // as declared
	NoValue   int     `json:"no_value"`  // machines for whose kind the house declares none
	OnTime    int     `json:"on_time"`
	Late      int     `json:"late"`

	net   measure.Mass
	cents int64
}

// add counts one place that left.
func (g *Group) add(one *packing.Left, late bool, declared map[orders.Wanted]float64) {
	g.Machines++
	if one.Base {
		g.Sets++
	}
	g.net += one.Net
	g.NetKG, g.Unweighed = g.net.KG(), g.Unweighed+one.Unweighed
	if value, ok := declared[one.Wanted]; ok {
		g.cents += int64(value*100 + .5)
		g.Value = float64(g.cents) / 100
	} else {
		g.NoValue++
	}
	if late {
		g.Late++
	} else {
		g.OnTime++
	}
}

// named is the group of a name, made where there is none.
func named(groups *[]Group, name string) *Group {
	i := slices.IndexFunc(*groups, func(g Group) bool { return g.Name == name })
	if i < 0 {
		i = len(*groups)
		*groups = append(*groups, Group{Name: name})
	}
	return &(*groups)[i]
}

// NotKnown stands for a country that no record tells.
const NotKnown = "not known"

// Delivered sums up what left from one day to another, both included, in the house's zone. A place is late if
// it left after its order's day; where an order was sent in parts, each part by its own day.
func (w *Reports) Delivered(ctx context.Context, fromDay, toDay string) (*Delivered, error) {
	from, to, err := w.days(fromDay, toDay)
	if err != nil {
		return nil, err
	}
	d := &Delivered{House: w.Stock.Config.House.Name, From: fromDay, To: toDay,
		Currency: w.Orders.Config.Currency, Sum: Group{Name: "all"}, ByPartner: []Group{},
		ByCountry: []Group{}, ByDrive: []Group{}, ByMonth: []Group{}}
	err = w.Store.View(ctx, func(r stock.Reader) error {
		if err := w.left(r, d, from, to); err != nil {
			return err
		}
		if err := d.hours(r, from, to); err != nil {
			return err
		}
		if d.Brought, d.Scrap, err = takings.Summed(r, from, to); err != nil {
			return err
		}
		d.FirstPassed, d.FirstTested, err = r.FirstTests(from, to)
		return err
	})
	for _, groups := range [][]Group{d.ByPartner, d.ByCountry, d.ByDrive} {
		slices.SortStableFunc(groups, func(a, b Group) int {
			return cmp.Or(cmp.Compare(b.Machines, a.Machines), cmp.Compare(a.Name, b.Name))
		})
	}
	d.ByMonth = everyMonth(d.ByMonth)
	return d, err
}

// left adds up the places that left within the time.
func (w *Reports) left(r stock.Reader, d *Delivered, from, to time.Time) error {
	all, err := orders.All(r, "")
	if err != nil {
		return err
	}
	for i := range all {
		o := &all[i]
		partner, country := o.Partner, NotKnown
		p, err := partners.Named(r, o.Partner)
		if err != nil {
			return err
		}
		if p != nil {
			partner, country = p.Name, cmp.Or(p.Country, NotKnown)
		}
		err = w.Packing.EachLeft(r, o, func(at time.Time, one packing.Left) {
			if !within(at, from, to) {
				return
			}
			day := w.LocalDay(at)
			for _, g := range []*Group{&d.Sum, named(&d.ByPartner, partner), named(&d.ByCountry, country),
				named(&d.ByDrive, string(one.Wanted.Drive())), named(&d.ByMonth, day[:len("2006-01")])} {
				g.add(&one, day > o.Due, w.Orders.Config.Declared)
			}
			if m := one.Machine; m.To != nil && (d.Oldest == nil || *m.To < d.Oldest.to) {
				d.Oldest = &OldestMachine{m.Tag, m.Maker, m.Year(), *m.To}
			}
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// hours adds up the minutes that people wrote down, at the bench and for promised places.
func (d *Delivered) hours(r stock.Reader, from, to time.Time) error {
	minutes := 0
	var note bench.Work
	err := r.Each(&note, func() error {
		if within(note.At, from, to) {
			minutes += note.Minutes
			if note.Did == "finish" && note.Minutes == 0 {
				d.NotTimed++
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	var job orders.WorkOrder
	err = r.Each(&job, func() error {
		if !job.DoneAt.IsZero() && within(job.DoneAt, from, to) {
			if minutes += job.Spent; job.Spent == 0 && job.Minutes > 0 {
				d.NotTimed++
			}
		}
		return nil
	})
	d.Hours = float64(minutes) / 60
	return err
}

// everyMonth puts months in order, the empty ones between two included, so that a chart is a time line.
func everyMonth(groups []Group) []Group {
	if len(groups) == 0 {
		return groups
	}
	slices.SortFunc(groups, func(a, b Group) int { return cmp.Compare(a.Name, b.Name) })
	const form, most = "2006-01", 600
	out := []Group{}
	at, err := time.Parse(form, groups[0].Name)
	for len(groups) > 0 && err == nil && len(out) < most {
		name := at.Format(form)
		if groups[0].Name == name {
			out, groups = append(out, groups[0]), groups[1:]
		} else {
			out = append(out, Group{Name: name})
		}
		at = at.AddDate(0, 1, 0)
	}
	return out
}

// Groupings are the ways in which what left can be told apart.
var Groupings = []string{"partner", "country", "drive", "month"}

// By gives the groups of one grouping.
func (d *Delivered) By(grouping string) ([]Group, error) {
	name, err := registry.OneOf("by", grouping, Groupings)
	return map[string][]Group{"partner": d.ByPartner, "country": d.ByCountry, "drive": d.ByDrive,
		"month": d.ByMonth}[name], err
}
