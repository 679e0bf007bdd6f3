package sqlite

import (
	"context"
	"time"

	"pitman/registry"
	"pitman/registry/sqlite/turn"
	"pitman/registry/stock"
)

// Batch runs many actions in one transaction: all of them become durable together at its end, or none. It is
// for making large houses; people's actions are each durable by themselves.
func (db *DB) Batch(ctx context.Context, fn func(stock.Store) error) error {
	return db.within(ctx, turn.Writing, func(r *reader) error {
		if err := fn(batch{r}); err != nil {
			return err
		}
		return r.appendLink("")
	})
}

type batch struct{ *reader }

func (b batch) View(_ context.Context, fn func(stock.Reader) error) error { return fn(b.reader) }

func (b batch) InTurns(ctx context.Context, a *registry.Action, fn func(stock.Tx) (bool, error)) error {
	return b.Update(ctx, a, func(tx stock.Tx) error {
		for {
			if ended, err := fn(tx); err != nil || ended {
				return err
			}
		}
	})
}

func (b batch) TakeBack(context.Context, time.Time) (*registry.Action, error) { return nil, nil }

func (b batch) Update(_ context.Context, a *registry.Action, fn func(stock.Tx) error) error {
	return fn(&tx{reader: b.reader, action: a})
}
