package spares

import (
	"context"
	"slices"

	"pitman/registry"
	"pitman/registry/stock"
)

// LeavingMachine is a machine and how it is to leave.
type LeavingMachine struct {
	Tag registry.Tag
	Leaving
}

// KitsShort sums up what the kits of these machines lack and the stock cannot give.
func (w *Spares) KitsShort(ctx context.Context, machines []LeavingMachine) ([]KitNeed, error) {
	inHand := map[string]int{}
	var lacks [][]KitLack
	err := w.Store.View(ctx, func(r stock.Reader) error {
		for _, leaving := range machines {
			m, err := stock.MachineByTag(r, leaving.Tag)
			if err != nil {
				return err
			}
			lack, err := w.KitLacks(r, m, leaving.Leaving)
			if err != nil {
				return err
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
	return slices.DeleteFunc(KitNeeds(lacks, inHand), func(n KitNeed) bool { return n.Short <= 0 }), nil
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
