package packing

import (
	"context"
	"fmt"
	"strings"

	"pitman/registry"
	"pitman/registry/crate"
	"pitman/registry/fit"
	"pitman/registry/measure"
	"pitman/registry/orders"
	"pitman/registry/stock"
)

// CratePlan is the timber work of an order: crates to build, boards to cut, and tops to make.
type CratePlan struct {
	Order  string       `json:"order"`
	Crates []CrateCount `json:"crates"`
	Timber []TimberPlan `json:"timber"`
	Tops   []TopPlan    `json:"tops"`
}

// CrateCount is how many crates of one kind are to be built.
type CrateCount struct {
	For    orders.Wanted  `json:"for"`
	Count  int            `json:"count"`
	Length measure.Length `json:"length_mm"`
	Width  measure.Length `json:"width_mm"`
	Height measure.Length `json:"height_mm"`
}

// TimberPlan is the cutting list of one cross-section.
type TimberPlan struct {
	Timber string `json:"timber"`
	crate.Plan
}

// TopPlan is the top that a treadle set asks for, cut to its head.
type TopPlan struct {
	Head registry.Tag `json:"head"`
	Base registry.Tag `json:"base"`
	fit.NewTop
	LidServes bool   `json:"lid_serves"`
	Why       string `json:"why"`
}

// PlanCrates plans the crates of an order: for what is on it, and where nothing is yet, for what it asks for.
func (w *Packing) PlanCrates(ctx context.Context, number string) (*CratePlan, error) {
	v, err := w.Orders.ViewOrder(ctx, number)
	if err != nil {
		return nil, err
	}
	plan := &CratePlan{Order: v.Number, Crates: []CrateCount{}, Timber: []TimberPlan{}, Tops: []TopPlan{}}
	counts := map[orders.Wanted]int{}
	for _, l := range v.Lines {
		if len(v.Sets) > 0 {
			counts[l.Wanted] += l.Filled
		} else {
			counts[l.Wanted] += l.Asked
		}
	}
	var timbers []string
	pieces := map[string][]crate.Piece{}
	for _, wanted := range []orders.Wanted{orders.TreadleSet, orders.HandMachine, orders.ElectricOne} {
		n := counts[wanted]
		if n == 0 {
			continue
		}
		kind, ok := w.Config.Crates.CrateFor(wanted)
		if !ok {
			return nil, registry.Errorf(registry.NotFound,
				"house.toml has no [[crates.kind]] for %s: add one, with its size and its parts", wanted)
		}
		plan.Crates = append(plan.Crates,
			CrateCount{wanted, n, measure.MM(kind.Length), measure.MM(kind.Width), measure.MM(kind.Height)})
		for _, p := range kind.Parts {
			if pieces[p.Timber] == nil {
				timbers = append(timbers, p.Timber)
			}
			for range n * p.Count {
				pieces[p.Timber] = append(pieces[p.Timber],
					crate.Piece{Name: p.Name, Length: measure.MM(p.Length)})
			}
		}
	}
	if len(plan.Crates) == 0 {
		return nil, registry.Errorf(registry.Conflict, "order %s asks for nothing yet", number).
			Then(registry.Next(registry.DoOrderLine, "").Of(number))
	}
	if err := plan.cut(w, timbers, pieces); err != nil {
		return nil, err
	}
	return plan, plan.tops(ctx, w, number, len(v.Sets))
}

func (plan *CratePlan) cut(w *Packing, timbers []string, pieces map[string][]crate.Piece) error {
	var rows []BoardRow
	if w.Lists.Boards != nil {
		var err error
		if rows, err = w.Lists.Boards(); err != nil {
			return err
		}
	}
	saw := crate.Saw{Kerf: measure.MM(w.Config.Crates.Kerf), Buy: measure.MM(w.Config.Crates.Buy)}
	for _, timber := range timbers {
		var hand []crate.Board
		for _, row := range rows {
			if strings.EqualFold(row.Timber, timber) {
				hand = append(hand, crate.Board{Length: row.Length, Count: row.Count})
			}
		}
		cuts, err := crate.CutList(pieces[timber], hand, saw)
		if err != nil {
			return fmt.Errorf("%s: %w", timber, err)
		}
		plan.Timber = append(plan.Timber, TimberPlan{timber, cuts})
	}
	return nil
}

// tops lists the table tops that are to be made, each from the lid of its own crate where that is large
// enough.
func (plan *CratePlan) tops(ctx context.Context, w *Packing, number string, sets int) error {
	if sets == 0 {
		return nil
	}
	var list []piece
	err := w.Store.View(ctx, func(r stock.Reader) (err error) {
		_, list, err = w.pieces(r, number)
		return err
	})
	if err != nil {
		return err
	}
	kind, _ := w.Config.Crates.CrateFor(orders.TreadleSet)
	lid := crate.Size{Length: measure.MM(kind.LidLength), Width: measure.MM(kind.LidWidth)}
	house := fit.HouseOf(*w.Config.Fit, *w.Config.Belt)
	for _, one := range list {
		if one.base == nil {
			continue
		}
		r := fit.Check(fit.HeadOf(&one.head), fit.BaseOf(one.base), house)
		if r.NewTop == nil {
			continue
		}
		top := TopPlan{Head: one.head.Tag, Base: one.base.Tag, NewTop: *r.NewTop}
		top.LidServes, top.Why = crate.LidServes(lid, *r.NewTop, measure.MM(w.Config.Crates.TopMargin))
		plan.Tops = append(plan.Tops, top)
	}
	return nil
}
