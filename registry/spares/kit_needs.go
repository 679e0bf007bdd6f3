package spares

import (
	"cmp"
	"context"
	"slices"

	"pitman/registry"
	"pitman/registry/stock"
)

// LeavingMachine is a machine and how it is to leave.
type LeavingMachine struct {
	Tag registry.Tag
	Leaving
	Due string // of its order
}

// KitsShort sums up what the kits of these machines lack and the stock cannot give.
func (w *Spares) KitsShort(ctx context.Context, machines []LeavingMachine) ([]KitNeed, error) {
	machines = slices.SortedStableFunc(slices.Values(machines),
		func(a, b LeavingMachine) int { return cmp.Compare(a.Due, b.Due) })
	inHand := map[string]int{}
	var lacks [][]KitLack
	err := w.Store.View(ctx, func(r stock.Reader) error {
		for _, leaving := range machines {
			m, err := stock.MachineByTag(r, leaving.Tag)
			if err != nil {
				return err
			}
			var lack []KitLack
			if m.Stage != registry.Packed && m.Stage != registry.Shipped { // what is in its crate was asked there
				if lack, err = w.KitLacks(r, m, leaving.Leaving); err != nil {
					return err
				}
			}
			lacks = append(lacks, lack)
			if err := w.addStock(r, inHand, lack); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	needs := slices.DeleteFunc(KitNeeds(lacks, inHand), func(n KitNeed) bool { return n.Short <= 0 })
	for i := range needs {
		needs[i].Due = firstShort(machines, lacks, needs[i])
	}
	return needs, nil
}

// firstShort is the day of the first machine for which the stock of a part does not last.
func firstShort(machines []LeavingMachine, lacks [][]KitLack, need KitNeed) string {
	left := need.Stock
	for i, of := range lacks {
		for _, lack := range of {
			if lack.Part != need.Part {
				continue
			}
			if left -= lack.Count; left < 0 {
				return machines[i].Due
			}
		}
	}
	return ""
}

// addStock counts what there is of each part that a kit lacks, unless it was counted before.
func (w *Spares) addStock(r stock.Reader, inHand map[string]int, lacks []KitLack) error {
	for _, lack := range lacks {
		if _, counted := inHand[lack.Part]; counted || lack.Part == "" {
			continue
		}
		part, err := w.PartNamed(lack.Part)
		if err != nil {
			return err
		}
		if inHand[lack.Part], err = inStock(r, part); err != nil {
			return err
		}
	}
	return nil
}
