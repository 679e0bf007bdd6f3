package registry

import (
	"context"
	"slices"
)

// Goes is a machine that is to leave so.
type Goes struct {
	Tag Tag
	Leaving
}

// KitsShort sums up what the kits of these machines lack and the stock cannot give.
func (w *Workshop) KitsShort(ctx context.Context, machines []Goes) ([]KitNeed, error) {
	supplies, err := w.KitStock(ctx)
	if err != nil {
		return nil, err
	}
	stock := map[string]int{}
	for _, s := range supplies {
		stock[s.Part] = s.Count
	}
	var lacks [][]KitLack
	err = w.Store.View(ctx, func(r Reader) error {
		for _, goes := range machines {
			m, err := MachineByTag(r, goes.Tag)
			if err != nil {
				return err
			}
			lack, err := w.kitLacks(r, m, goes.Leaving)
			if err != nil {
				return err
			}
			lacks = append(lacks, lack)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	return slices.DeleteFunc(KitNeeds(lacks, stock), func(n KitNeed) bool { return n.Short <= 0 }), nil
}
