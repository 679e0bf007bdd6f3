package faults

import (
	"context"
	"maps"
	"slices"
	"time"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/fields"
	"pitman/registry/stock"
)

// Hand is a point of the tests, and who might like somebody beside them at it. Nobody is counted: two
// machines that came back once each are no more than a reason to ask.
type Hand struct {
	Point string              `json:"point"`
	Who   []registry.Initials `json:"who"` // by the alphabet
}

// askedAfter is on how many machines of one person a point fails before a hand is offered: once is chance
// (house practice).
const askedAfter = 2

// Hands says who might like a hand with what, by the faults that were found since a day right after they had
// a machine at the bench. It is for a coordinator of the house alone, who asks them kindly.
func (w *Faults) Hands(ctx context.Context, by registry.Initials, from string) ([]Hand, error) {
	if !w.Config.House.Coordinator(by) {
		return nil, registry.Errorf(registry.Conflict,
			"who would like a hand is for a coordinator of the house alone, and %s is none: the house names "+
				"them in house.toml under [house] coordinators", by).On("by")
	}
	if from != "" {
		day, err := fields.ParseDay("from", from)
		if err != nil {
			return nil, err
		}
		from = day
	}
	var tests []test
	type stay struct {
		at time.Time
		by registry.Initials
	}
	stays := map[registry.Tag][]stay{}
	err := w.Store.View(ctx, func(r stock.Reader) (err error) {
		if tests, err = testsOf(r); err != nil {
			return err
		}
		var k bench.Work
		return r.Each(&k, func() error {
			stays[k.Tag] = append(stays[k.Tag], stay{k.At, k.By})
			k = bench.Work{}
			return nil
		})
	})
	if err != nil {
		return nil, err
	}
	machines := map[string]map[registry.Initials]map[registry.Tag]bool{}
	before := map[registry.Tag]time.Time{}
	for _, t := range tests {
		since := before[t.tag]
		if t.kind == "function" { // what was seen by a safety test says nothing of how a machine was mended
			before[t.tag] = t.at
		}
		if t.kind != "function" || w.LocalDay(t.at) < from {
			continue
		}
		for point, pass := range t.points {
			for _, s := range stays[t.tag] {
				if pass || s.at.After(t.at) || !s.at.After(since) {
					continue
				}
				if machines[point] == nil {
					machines[point] = map[registry.Initials]map[registry.Tag]bool{}
				}
				if machines[point][s.by] == nil {
					machines[point][s.by] = map[registry.Tag]bool{}
				}
				machines[point][s.by][t.tag] = true
			}
		}
	}
	hands := []Hand{}
	for _, point := range slices.Sorted(maps.Keys(machines)) {
		var who []registry.Initials
		for _, by := range slices.Sorted(maps.Keys(machines[point])) {
			if len(machines[point][by]) >= askedAfter {
				who = append(who, by)
			}
		}
		if len(who) > 0 {
			hands = append(hands, Hand{point, who})
		}
	}
	return hands, nil
}
