package main

import (
	"context"

	"pitman/registry"
	"pitman/registry/sent"
	"pitman/registry/stock"
)

// asOf lets what is recorded of a machine stand only if nobody does anything to it from now on: what was seen
// and measured says nothing of what came after.
func asOf(ctx context.Context, d *workplace, tag registry.Tag) (context.Context, error) {
	var form sent.Form
	err := d.Store.View(ctx, func(r stock.Reader) (err error) {
		form, err = sent.AsOf(r, string(tag))
		return err
	})
	return sent.With(ctx, form), err
}
