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
	stock := map[string]int{}
	var lacks [][]KitLack
	err := w.Store.View(ctx, func(r Reader) error {
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
			if err := w.addStock(r, stock, lack); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	return slices.DeleteFunc(KitNeeds(lacks, stock), func(n KitNeed) bool { return n.Short <= 0 }), nil
}

// addStock counts what there is of each part that a kit lacks, unless it was counted before.
func (w *Workshop) addStock(r Reader, stock map[string]int, lacks []KitLack) error {
	for _, lack := range lacks {
		if _, counted := stock[lack.Part]; counted || lack.Part == "" {
			continue
		}
		part, err := w.partNamed(lack.Part)
		if err != nil {
			return err
		}
		if stock[lack.Part], err = inStock(r, part); err != nil {
			return err
		}
	}
	return nil
}
