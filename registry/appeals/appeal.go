// Package appeals is what a house asks supporters for: all that open orders lack, the timber of their crates
// by length, and what was pledged of it and has not come yet.
package appeals

import (
	"context"
	"slices"

	"pitman/registry"
	"pitman/registry/measure"
	"pitman/registry/packing"
	"pitman/registry/planning"
	"pitman/registry/stock"
)

// Appeals is the room where needs and pledges are held against each other.
type Appeals struct {
	*stock.Stock
	Planning *planning.Planning
	Packing  *packing.Packing
}

// Appeal is what open orders lack, and what of it is pledged.
type Appeal struct {
	*planning.Need
	Timber   []TimberNeed `json:"timber"`
	NoTimber string       `json:"no_timber"` // why no timber could be planned; empty if it was
	Pledges  []Pledge     `json:"pledges"`   // that have not come yet
}

// TimberNeed is boards of one cross-section that the crates of open orders want beyond those in hand.
type TimberNeed struct {
	Timber string         `json:"timber"`
	Boards int            `json:"boards"`
	Length measure.Length `json:"board_mm"` // of each
	Total  measure.Length `json:"bought_mm"`
	Least  measure.Length `json:"least_mm"` // what any plan must buy
	Proved bool           `json:"optimal"`
}

// Appeal sums up what to ask for; withHouses, beside what other houses have of it.
func (w *Appeals) Appeal(ctx context.Context, withHouses bool) (*Appeal, error) {
	need, err := w.Planning.NeedOf(ctx, withHouses)
	if err != nil {
		return nil, err
	}
	a := &Appeal{Need: need, Timber: []TimberNeed{}}
	plan, err := w.Packing.PlanAllCrates(ctx)
	switch {
	case registry.CodeOf(err) != "": // what boards are lacking is not known, but all else is
		plan, a.NoTimber = &packing.CratePlan{}, err.Error()
	case err != nil:
		return nil, err
	}
	for _, t := range plan.Timber {
		one := TimberNeed{Timber: t.Timber, Total: t.Bought, Least: t.LeastBought, Proved: t.Optimal}
		for _, cut := range t.Cuts {
			if cut.Bought {
				one.Boards, one.Length = one.Boards+1, cut.Board
			}
		}
		if one.Boards > 0 {
			a.Timber = append(a.Timber, one)
		}
	}
	err = w.Store.View(ctx, func(r stock.Reader) error {
		a.Pledges, err = pledgesAt(r, PledgeOpen)
		return err
	})
	return a, err
}

// Pledged sums up what is pledged of something, by the name that the appeal gives it.
func (a *Appeal) Pledged(what string) (sum float64) {
	for _, p := range a.Pledges {
		if p.WhatKey == stock.MakerKey(what) {
			sum += p.Quantity
		}
	}
	return sum
}

// Unasked lists the pledges for which the appeal has no line of these.
func (a *Appeal) Unasked(lines []string) (list []Pledge) {
	for _, p := range a.Pledges {
		if !slices.ContainsFunc(lines, func(l string) bool { return stock.MakerKey(l) == p.WhatKey }) {
			list = append(list, p)
		}
	}
	return list
}
