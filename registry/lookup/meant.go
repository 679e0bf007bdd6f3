package lookup

import (
	"context"
	"errors"

	"pitman/registry"
	"pitman/registry/stock"
)

// Meant is the tag that was probably meant where one was refused: the only one that fits what was typed, or
// of several the only one that something here bears. A person compares it with the label. It is empty where
// nobody can tell.
func Meant(ctx context.Context, store stock.Store, err error) (meant registry.Tag) {
	var refused *registry.Error
	if !errors.As(err, &refused) || len(refused.Meant) == 0 {
		return ""
	}
	if len(refused.Meant) == 1 {
		return refused.Meant[0]
	}
	_ = store.View(ctx, func(r stock.Reader) error {
		for _, tag := range refused.Meant {
			if _, _, err := stock.HeadOrBase(r, tag); err != nil {
				continue
			}
			if meant != "" {
				meant = ""
				return nil
			}
			meant = tag
		}
		return nil
	})
	return meant
}
