package stock

import (
	"context"
	"time"

	"pitman/registry"
)

// NotePrints keeps what is printed on the labels that write puts out; if write fails, nothing is kept.
func (w *Stock) NotePrints(ctx context.Context, by registry.Initials, prints []Print, write func() error) error {
	at := w.Now().UTC().Truncate(time.Millisecond)
	return w.Store.Update(ctx, &registry.Action{At: at, By: by, Verb: "label"}, func(tx Tx) error {
		for _, p := range prints {
			p.At, p.By = at, by
			if err := tx.NotePrint(p); err != nil {
				return err
			}
		}
		return write()
	})
}

// StaleLabels lists the tags of heads and bases in the house whose label says something else than is known today; face tells
// what the label of one or the other would say. What has gone needs no new label.
func (w *Stock) StaleLabels(ctx context.Context, face func(Reader, *Machine, *Base) (fingerprint string, err error)) (stale []registry.Tag, err error) {
	stale = []registry.Tag{}
	err = w.Store.View(ctx, func(r Reader) error {
		return r.Prints(func(p Print) error {
			m, b, err := HeadOrBase(r, p.Tag)
			if registry.CodeOf(err) == registry.NotFound {
				return nil // its log was undone
			}
			if err != nil || unitOf(m, b).Gone != "" {
				return err
			}
			now, err := face(r, m, b)
			if err == nil && now != p.Fingerprint {
				stale = append(stale, p.Tag)
			}
			return err
		})
	})
	return stale, err
}
