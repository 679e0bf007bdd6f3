package main

import (
	"context"

	"pitman/registry"
	"pitman/registry/kinds"
	"pitman/registry/reports"
	"pitman/registry/stock"
)

// api is what programs may ask of pitman serve: what the command prints with --json, by the first part of the
// path. Nothing in it writes.
func (a *app) api(d *workplace) map[string]func(ctx context.Context, about string) (any, error) {
	onTag := func(give func(ctx context.Context, tag registry.Tag) (any, error)) func(context.Context,
		string) (any, error) {
		return func(ctx context.Context, about string) (any, error) {
			tag, err := registry.ParseTag(about)
			if err != nil {
				return nil, err
			}
			return give(ctx, tag)
		}
	}
	return map[string]func(ctx context.Context, about string) (any, error){
		"machines": onTag(d.shown),
		"bases": onTag(func(ctx context.Context, tag registry.Tag) (any, error) {
			return d.Base(ctx, tag)
		}),
		"history": d.historyOf,
		"worklist": func(ctx context.Context, role string) (any, error) {
			if role != "" {
				var err error
				if role, err = reports.ForWhom(role); err != nil {
					return nil, err
				}
			}
			list, err := d.Worklist(ctx, role)
			if err != nil {
				return nil, err
			}
			return typedList(list, d.Safekeeping(ctx)), nil
		},
	}
}

// shown is what show prints of a machine.
func (d *workplace) shown(ctx context.Context, tag registry.Tag) (any, error) {
	m, err := d.Machine(ctx, tag)
	if err != nil {
		return nil, err
	}
	return d.view(m), nil
}

// historyOf is what history prints of a tag or an order.
func (d *workplace) historyOf(ctx context.Context, about string) (any, error) {
	tag, err := kinds.ParseSubject(about)
	if err != nil {
		return nil, err
	}
	events := []registry.Event{}
	err = d.Store.View(ctx, func(r stock.Reader) error {
		found, err := r.History(string(tag))
		events = append(events, found...)
		return err
	})
	if err == nil && len(events) == 0 {
		_, err = d.Machine(ctx, tag)
	}
	return events, err
}
