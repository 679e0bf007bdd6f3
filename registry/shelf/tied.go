package shelf

import (
	"context"
	"time"

	"pitman/registry"
	"pitman/registry/stock"
)

// Scanned takes note that the labels of these heads and bases were read where they hang: whoever scans a
// label that was printed once has shown that it is tied on. One that was printed again bears the same symbol,
// so a scan of it may be of the old label, and a person has to say so. What else a scan was for is told
// elsewhere.
func (w *Shelf) Scanned(ctx context.Context, by registry.Initials, tags ...registry.Tag) error {
	var first []registry.Tag
	err := w.Stock.Store.View(ctx, func(r stock.Reader) error {
		printed, err := printsOf(r)
		for _, tag := range registry.Unique(tags) {
			if p := printed[label{tag, stock.LabelPrint}]; p.print.Times == 1 && !p.tied {
				first = append(first, tag)
			}
		}
		return err
	})
	if err != nil || len(first) == 0 {
		return err
	}
	at := w.Stock.Now().UTC().Truncate(time.Millisecond)
	return w.Stock.Store.Update(ctx, &registry.Action{At: at, By: by, Verb: "label"},
		func(tx stock.Tx) error {
			for _, tag := range first {
				if err := tx.NotePrint(stock.Print{Tag: tag, Kind: stock.LabelPrint, Event: stock.Tied,
					At: at,
					By: by}); err != nil {
					return err
				}
			}
			return nil
		})
}
