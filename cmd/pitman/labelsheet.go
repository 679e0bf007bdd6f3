package main

import (
	"context"
	"fmt"
	"io"
	"slices"
	"time"

	"github.com/spf13/cobra"

	"pitman/labels"
	"pitman/registry"
	"pitman/registry/house"
	"pitman/registry/shelf"
	"pitman/registry/stock"
)

// printFlags are those of all commands that print on label stock.
func (q *labelRequest) printFlags(cmd *cobra.Command) {
	flags := cmd.Flags()
	flags.IntVar(&q.sheet.StartAt, "start-at", 1,
		"`NUMBER` of the first free label of a started sheet, counted along the rows")
	flags.BoolVar(&q.goOn, "go-on", false, "on the started sheet, where the last print on this stock ended")
	flags.IntSliceVar(&q.sheet.Skip, "skip", nil, "`NUMBERS` of labels on the started sheet that are spoiled")
	flags.IntVar(&q.copies, "copies", 0,
		"`NUMBER` of copies of each label (else as the printer's profile says)")
	flags.BoolVar(&q.sheet.Outline, "outline", false, "print cut lines")
	flags.BoolVar(&q.mono, "mono", false,
		"black and white without greys, as thermal printers have it (else as the stock's table says)")
	flags.StringVar(&q.printer, "print", "", "print on the printer `NAME` of the system's print queue")
	cmd.MarkFlagsMutuallyExclusive("go-on", "start-at")
}

// said takes note of what was typed, beside what a printer's profile fills in. What was typed and cannot be
// is refused here, or with the others later.
func (q *labelRequest) said(cmd *cobra.Command) error {
	typed := cmd.Flags().Changed
	q.monoSaid, q.startSaid = typed("mono"), typed("start-at")
	if q.sheet.StartAt = max(q.sheet.StartAt, 0); q.startSaid && q.sheet.StartAt == 0 {
		return registry.Errorf(registry.Invalid,
			"start-at must be 1 or more: count the labels along the rows from the top left")
	}
	if typed("copies") && (q.copies < 1 || q.copies > house.MaxCopies) {
		return registry.Errorf(registry.Invalid, "copies %d: type 1 to %d", q.copies, house.MaxCopies).On("copies")
	}
	if q.out.dpi == 0 && typed("dpi") {
		q.out.dpi = -1
	}
	return nil
}

// batch is what is printed in one go.
type batch struct {
	on       labels.Stock
	device   labels.Device
	drawings []*labels.Drawing
	each     []named // the same as single pictures
}

// laid says where a batch stands.
type laid struct {
	Sheets int // of stock
	From   int // the first label used on the first sheet
	Next   int // the first free one on the last sheet; 1: it is full
}

// remembers says whether what is left of a sheet is worth keeping: one of stickers is used up, plain card is
// cut apart, and a roll has no sheets.
func remembers(s labels.Stock) bool { return s.PerSheet() > 1 && !bool(s.Cut) }

// place puts a batch out: where the started sheet in the printer goes on, if nobody said otherwise. What is
// left of the sheet is kept in the same action, so that two who print at once do not print on each other's.
func (q *labelRequest) place(ctx context.Context, tx stock.Tx, at time.Time, b batch) (out laid, err error) {
	b = q.copied(b)
	for _, n := range q.sheet.Skip {
		if n < 1 || n > b.on.PerSheet() {
			return out, registry.Errorf(registry.Invalid, "skip %d: a sheet of %s has labels 1 to %d", n,
				b.on.Name,
				b.on.PerSheet()).On("skip")
		}
	}
	sheet := q.sheet
	left, err := shelf.SheetIn(tx, q.printer, b.on.Name)
	if err != nil {
		return out, err
	}
	if q.goesOn() && remembers(b.on) && left.Next <= b.on.PerSheet() {
		sheet.StartAt, sheet.Skip = max(left.Next, 1), append(slices.Clone(left.Spoiled), q.sheet.Skip...)
	}
	if sheet.StartAt <= b.on.PerSheet() && sheet.Full(b.on) {
		return out, registry.Errorf(registry.Invalid,
			"skip: nothing is left of that sheet of %s: begin a new one at its label 1, and skip nothing "+
				"that is good",
			b.on.Name).On("start-at")
	}
	sheets, err := labels.Sheet(b.on, b.drawings, sheet)
	if err != nil || len(sheets) == 0 {
		return out, err
	}
	out = laid{len(sheets), max(sheet.StartAt, 1), sheet.Next(b.on, len(b.drawings))}
	if q.counts() && remembers(b.on) {
		keep := shelf.StartedSheet{Next: out.Next}
		for _, spoiled := range sheet.Skip {
			if len(sheets) == 1 && spoiled >= out.Next && out.Next > 1 {
				keep.Spoiled = append(keep.Spoiled, spoiled)
			}
		}
		if err := shelf.KeepSheet(tx, q.printer, b.on.Name, keep); err != nil {
			return out, err
		}
	}
	return out, q.put(ctx, at, b.device, sheets, b.each)
}

// goesOn says whether a started sheet is used: a printer holds it, while a file may be printed anywhere, so
// there it is asked for.
func (q *labelRequest) goesOn() bool { return q.goOn || q.printer != "" && !q.startSaid }

// copied repeats each label as often as it is wanted, one copy behind the other.
func (q *labelRequest) copied(b batch) batch {
	if q.copies < 2 {
		return b
	}
	out := batch{on: b.on, device: b.device}
	for i := range b.drawings {
		for range q.copies {
			out.drawings, out.each = append(out.drawings, b.drawings[i]), append(out.each, b.each[i])
		}
	}
	return out
}

// tell says where the next label of a started sheet is.
func (l laid) tell(w io.Writer, on labels.Stock, q *labelRequest) {
	if q.copies > 1 {
		fmt.Fprintf(w, "%d copies of each.\n", q.copies)
	}
	if !remembers(on) || l.Next < 2 || !q.counts() {
		return
	}
	where := "-o FILE.pdf --go-on"
	if q.printer != "" {
		where = "--print " + q.printer
	}
	fmt.Fprintf(w, "The sheet is free from label %d on: %s goes on there, --start-at 1 takes a new one.\n",
		l.Next, where)
}
