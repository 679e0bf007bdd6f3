package exchange

import (
	"context"

	"pitman/registry"
	"pitman/registry/stock"
)

// ShowStock gives what stands here, each with its history, for another house to count: nothing is handed
// over, and nothing changes. Who gave a piece is left out.
func (w *Exchange) ShowStock(ctx context.Context, h HandOverOptions,
	carry func(*UnitHistory) error) (left []LeftBehind, err error) {
	err = w.Store.View(ctx, func(r stock.Reader) error {
		tags := registry.Unique(h.Tags)
		if len(tags) == 0 {
			if tags, err = unitsToHand(r, h.Place); err != nil {
				return err
			}
		}
		for _, tag := range tags {
			why, err := w.whyNotShown(r, tag)
			if err != nil {
				return err
			}
			if why != "" {
				left = append(left, LeftBehind{tag, why})
				continue
			}
			c, err := history(r, string(tag))
			if err != nil {
				return err
			}
			for i := range c.Changes {
				delete(c.Changes[i].Fields, "donor")
			}
			if err := carry(c); err != nil {
				return err
			}
		}
		return h.nothing(len(tags), left)
	})
	return left, err
}

// whyNotShown says why another house should not count on a piece; "" when it may.
func (w *Exchange) whyNotShown(r stock.Reader, tag registry.Tag) (string, error) {
	u, err := stock.UnitByTag(r, tag)
	if err != nil {
		return "", err
	}
	if u.Gone != "" {
		return u.Gone, nil
	}
	if why := u.WhyNotHandedOver(""); why != "" || u.Kind != registry.UnitMachine {
		return why, nil
	}
	m, err := stock.MachineByTag(r, tag)
	if err != nil {
		return "", err
	}
	if w.Settle(m, w.Now()); m.Stage != u.Stage {
		return "its safety pass stands no longer", nil
	}
	return "", nil
}
