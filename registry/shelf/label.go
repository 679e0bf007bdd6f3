package shelf

import (
	"context"
	"time"

	"pitman/registry"
	"pitman/registry/stock"
)

// NotePrints keeps what is printed on the labels that write puts out; if write fails, nothing is kept.
func (w *Shelf) NotePrints(ctx context.Context, by registry.Initials, prints []stock.Print,
	write func(stock.Tx) error) error {
	at := w.Stock.Now().UTC().Truncate(time.Millisecond)
	return w.Stock.Store.Update(ctx, &registry.Action{At: at, By: by, Verb: "label"},
		func(tx stock.Tx) error {
			for _, p := range prints {
				p.At, p.By = at, by
				if err := tx.NotePrint(p); err != nil {
					return err
				}
			}
			return write(tx)
		})
}

// NoteLabels keeps that labels were found spoiled, or are tied on. Each must have been printed.
func (w *Shelf) NoteLabels(ctx context.Context, by registry.Initials, event stock.PrintEvent,
	tags []registry.Tag) error {
	at := w.Stock.Now().UTC().Truncate(time.Millisecond)
	return w.Stock.Store.Update(ctx, &registry.Action{At: at, By: by, Verb: "label"},
		func(tx stock.Tx) error {
			printed, err := printsOf(tx)
			if err != nil {
				return err
			}
			for _, tag := range tags {
				if _, _, err := stock.HeadOrBase(tx, tag); err != nil {
					return err
				}
				if printed[label{tag, stock.LabelPrint}].print.Times == 0 {
					return registry.Errorf(registry.Conflict,
						"no label of %s was printed yet: print it first; nothing was noted", tag)
				}
				if err := tx.NotePrint(stock.Print{Tag: tag, Kind: stock.LabelPrint, Event: event, At: at,
					By: by}); err != nil {
					return err
				}
			}
			return nil
		})
}

// LabelDue is a label or slip that has to be printed.
type LabelDue struct {
	Tag  registry.Tag    `json:"tag"`
	Kind stock.PrintKind `json:"kind"`
	Why  LabelWhy        `json:"why"`
	// what it states otherwise today; empty where only a hash was kept, which does not tell
	Changed []string `json:"changed"`
}

// LabelWhy is why a label has to be printed.
type LabelWhy string

// In the order of the pressing ones first, a label is missing, worthless, or says what is not so any more.
const (
	Unlabelled LabelWhy = "unlabelled"
	SpoiledWhy LabelWhy = "spoiled"
	Stale      LabelWhy = "stale"
)

// LabelQueue is what has to be printed, and what was printed without a sign since that it is tied on.
type LabelQueue struct {
	Due    []LabelDue
	Unseen []registry.Tag // printed once: a scan shows that it is
	Untied []registry.Tag // printed again: somebody has to say so
}

// JudgeLabel tells whether a label or slip that was printed says something else than it would today, and
// what.
type JudgeLabel func(r stock.Reader, p stock.Print, m *stock.Machine, b *stock.Base) (changed []string,
	stale bool, err error)

type label struct {
	tag  registry.Tag
	kind stock.PrintKind
}

// printed is the last print of a label, and what was noted of it since.
type printed struct {
	print         stock.Print
	spoiled, tied bool
}

func printsOf(r stock.Reader) (map[label]printed, error) {
	of := make(map[label]printed)
	err := r.Prints(func(p stock.Print) error {
		key := label{p.Tag, p.Kind}
		last := of[key]
		switch p.Event {
		case stock.Spoiled:
			last.spoiled = true
		case stock.Tied:
			last.tied = true
		default:
			last = printed{print: p} // prints come in order: what was noted before is over
		}
		of[key] = last
		return nil
	})
	return of, err
}

// Labels lists what has to be printed for the heads and bases in the house: those that have no label, whose
// label is spoiled, and whose label or slip says what is not so any more. A slip that was never printed is
// none that is missing.
func (w *Shelf) Labels(ctx context.Context, judge JudgeLabel) (q LabelQueue, err error) {
	err = w.Stock.Store.View(ctx, func(r stock.Reader) error {
		prints, err := printsOf(r)
		if err != nil {
			return err
		}
		look := func(tag registry.Tag, m *stock.Machine, b *stock.Base) error {
			if stock.UnitOf(m, b).Gone != "" {
				return nil
			}
			return q.look(r, tag, m, b, prints, judge)
		}
		if err := r.Machines(stock.MachineFilter{Here: true},
			func(m *stock.Machine) error { return look(m.Tag, m, nil) }); err != nil {
			return err
		}
		var b stock.Base
		return r.Each(&b, func() error { return look(b.Tag, nil, &b) })
	})
	return q, err
}

func (q *LabelQueue) look(r stock.Reader, tag registry.Tag, m *stock.Machine, b *stock.Base,
	prints map[label]printed,
	judge JudgeLabel) error {
	for _, kind := range []stock.PrintKind{stock.LabelPrint, stock.SlipPrint} {
		last := prints[label{tag, kind}]
		due := LabelDue{Tag: tag, Kind: kind, Changed: []string{}}
		switch {
		case last.print.Times == 0 && kind == stock.SlipPrint:
			continue
		case last.print.Times == 0:
			due.Why = Unlabelled
		case last.spoiled:
			due.Why = SpoiledWhy
		default:
			changed, stale, err := judge(r, last.print, m, b)
			if err != nil {
				return err
			}
			switch {
			case kind != stock.LabelPrint || last.tied:
			case last.print.Times == 1:
				q.Unseen = append(q.Unseen, tag)
			default:
				q.Untied = append(q.Untied, tag)
			}
			if !stale {
				continue
			}
			due.Why, due.Changed = Stale, append(due.Changed, changed...)
		}
		q.Due = append(q.Due, due)
	}
	return nil
}
