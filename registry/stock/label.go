package stock

import (
	"context"
	"time"

	"pitman/registry"
)

// PrintKind is what was printed for a head or base.
type PrintKind string

// The lasting label is tied on; the slip lies beside and is replaced at each move.
const (
	LabelPrint PrintKind = "label"
	SlipPrint  PrintKind = "slip"
)

// PrintEvent is what became of a label.
type PrintEvent string

// A label is printed, then found spoiled or tied on. A spoiled one has to be printed again.
const (
	Printed PrintEvent = "printed"
	Spoiled PrintEvent = "spoiled"
	Tied    PrintEvent = "tied"
)

// Print is a label or slip that was printed, or what was noted of it since. It stands beside the history and
// not in it: undoing an action does not take a label off a machine, and must not be blocked by one.
type Print struct {
	Tag         registry.Tag
	Kind        PrintKind
	Event       PrintEvent
	Fingerprint string // of all that stood on it, in prints of earlier programs, which kept nothing else
	Says        string // what it states, in the form of whoever drew it
	At          time.Time
	By          registry.Initials // empty when nobody said
	Times       int               // how often this happened to the label; known of a print that is read
}

// NotePrints keeps what is printed on the labels that write puts out; if write fails, nothing is kept.
func (w *Stock) NotePrints(ctx context.Context, by registry.Initials, prints []Print,
	write func() error) error {
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

// NoteLabels keeps that labels were found spoiled, or are tied on. Each must have been printed.
func (w *Stock) NoteLabels(ctx context.Context, by registry.Initials, event PrintEvent,
	tags []registry.Tag) error {
	at := w.Now().UTC().Truncate(time.Millisecond)
	return w.Store.Update(ctx, &registry.Action{At: at, By: by, Verb: "label"}, func(tx Tx) error {
		printed, err := printsOf(tx)
		if err != nil {
			return err
		}
		for _, tag := range tags {
			if _, _, err := HeadOrBase(tx, tag); err != nil {
				return err
			}
			if printed[label{tag, LabelPrint}].print.Times == 0 {
				return registry.Errorf(registry.Conflict,
					"no label of %s was printed yet: print it first; nothing was noted", tag)
			}
			if err := tx.NotePrint(Print{Tag: tag, Kind: LabelPrint, Event: event, At: at,
				By: by}); err != nil {
				return err
			}
		}
		return nil
	})
}

// LabelDue is a label or slip that has to be printed.
type LabelDue struct {
	Tag  registry.Tag `json:"tag"`
	Kind PrintKind    `json:"kind"`
	Why  LabelWhy     `json:"why"`
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

// LabelQueue is what has to be printed, and what was printed again without a word since that it is tied on.
type LabelQueue struct {
	Due    []LabelDue
	Untied []registry.Tag
}

// JudgeLabel tells whether a label or slip that was printed says something else than it would today, and
// what.
type JudgeLabel func(r Reader, p Print, m *Machine, b *Base) (changed []string, stale bool, err error)

type label struct {
	tag  registry.Tag
	kind PrintKind
}

// printed is the last print of a label, and what was noted of it since.
type printed struct {
	print         Print
	spoiled, tied bool
}

func printsOf(r Reader) (map[label]printed, error) {
	of := make(map[label]printed)
	err := r.Prints(func(p Print) error {
		key := label{p.Tag, p.Kind}
		last := of[key]
		switch p.Event {
		case Spoiled:
			last.spoiled = true
		case Tied:
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
func (w *Stock) Labels(ctx context.Context, judge JudgeLabel) (q LabelQueue, err error) {
	err = w.Store.View(ctx, func(r Reader) error {
		prints, err := printsOf(r)
		if err != nil {
			return err
		}
		look := func(tag registry.Tag, m *Machine, b *Base) error {
			if unitOf(m, b).Gone != "" {
				return nil
			}
			return q.look(r, tag, m, b, prints, judge)
		}
		if err := r.Machines(MachineFilter{Here: true},
			func(m *Machine) error { return look(m.Tag, m, nil) }); err != nil {
			return err
		}
		var b Base
		return r.Each(&b, func() error { return look(b.Tag, nil, &b) })
	})
	return q, err
}

func (q *LabelQueue) look(r Reader, tag registry.Tag, m *Machine, b *Base, prints map[label]printed,
	judge JudgeLabel) error {
	for _, kind := range []PrintKind{LabelPrint, SlipPrint} {
		last := prints[label{tag, kind}]
		due := LabelDue{Tag: tag, Kind: kind, Changed: []string{}}
		switch {
		case last.print.Times == 0 && kind == SlipPrint:
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
			if kind == LabelPrint && last.print.Times > 1 && !last.tied {
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
