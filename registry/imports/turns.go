package imports

import (
	"cmp"
	"context"
	"io"
	"slices"

	"pitman/registry"
	"pitman/registry/sheet"
	"pitman/registry/stock"
)

// A file comes in in one transaction, for which whoever writes beside it waits. A long one would keep them
// for most of a minute: it is looked through first, so that it has no fault, and then comes in in turns,
// between which others write. What it brings is hidden until all of it is there.

// Turns says how long files are taken in.
type Turns struct {
	Above int // files of more rows come in in turns
	Rows  int // of each
}

// usual takes in at once what keeps others for some seconds; a turn keeps them for a fraction of one.
var usual = Turns{Above: 100_000, Rows: 5_000}

var errChanged = registry.Errorf(registry.Conflict,
	"somebody wrote to the file while it came in, so nothing of it is kept: do this again once it is as it "+
		"should be")

// TakeIn reads a file into the house: all its machines come in, or none. With update, a machine that is in
// the house already takes over the filled cells that differ; such a file comes in at once, however long. So
// does one that brings tags: a tag is never given again, so what was taken back of it could not come in a
// second time.
func (w *Imports) TakeIn(ctx context.Context, by registry.Initials, file string, update bool, in *Import,
	result *Result) error {
	turns := w.Turns
	if turns == (Turns{}) {
		turns = usual
	}
	if update || slices.Contains(in.Columns, "tag") || in.Last-in.Sheet.HeaderRow() <= turns.Above {
		return w.Import(ctx, by, file, update, func(i *Intake) error { return in.Run(ctx, i, result) })
	}
	if _, err := w.Store.TakeBack(ctx, w.Now()); err != nil {
		return err
	}
	if err := w.Store.View(ctx, stock.NoneComingIn); err != nil {
		return err
	}
	if err := w.Look(ctx, update, in, result); err != nil {
		return err
	}
	if _, err := in.File.Seek(0, io.SeekStart); err != nil {
		return err
	}
	again, err := sheet.OpenAt(in.File, func(string) bool { return false }, in.Sheet.HeaderRow())
	if err != nil {
		return err
	}
	if !slices.Equal(again.Header(), in.Sheet.Header()) {
		return errChanged
	}
	looked := in.read
	in.Sheet, in.read = again, 0
	if in.Looked != nil {
		in.Looked()
	}
	*result = Result{Rows: result.Rows[:0], Faults: result.Faults, Near: result.Near[:0]}
	intake := w.intake(nil, nil, nil, update)
	return w.ActInTurns(ctx, by, "import", file, func(tx stock.Tx) (ended bool, err error) {
		tx.WriteBehind()
		err = w.Store.View(ctx, func(house stock.Reader) error {
			intake.house, intake.read, intake.tx = house, tx, tx
			ended, err = in.some(ctx, intake, result, turns.Rows)
			switch {
			case err != nil:
				return err
			case result.Faulty > 0: // the house is no longer as it was when the file was looked through
				return ErrFaults
			case ended && in.read != looked:
				return errChanged
			case ended:
				return intake.meanwhile(result)
			}
			return nil
		})
		return ended, err
	})
}

// Look says what TakeIn would do, and changes nothing.
func (w *Imports) Look(ctx context.Context, update bool, in *Import, result *Result) error {
	return w.Preview(ctx, update, func(i *Intake) error { return in.Run(ctx, i, result) })
}

// meanwhile finds the machines that came into the house, or were corrected, while the rows came in in turns,
// and that a row would have been: such a row brings nothing.
func (i *Intake) meanwhile(result *Result) error {
	filter := stock.MachineFilter{Since: i.tx.Action().ID}
	return i.read.Machines(filter, func(m *stock.Machine) error {
		if i.taken[m.Tag] {
			return nil // a row was found to be it
		}
		same := &Incoming{ID: m.ImportID, Machine: *m}
		for _, name := range same.names() {
			if row, ok := i.rows[name]; ok && result.brings(row) {
				i.tx.Withdraw(string(row.tag))
				result.withdraw(row, m.Tag)
				return nil
			}
		}
		return nil
	})
}

// of finds what a row does.
func (r *Result) of(row int) *Outcome {
	at, _ := slices.BinarySearchFunc(r.Rows, row,
		func(o Outcome, row int) int { return cmp.Compare(o.Row, row) })
	return &r.Rows[at]
}

func (r *Result) brings(row seenRow) bool { return r.of(row.row).Does == RowNew }

// withdraw says of a row that brings nothing after all, and of those like it, which machine it is.
func (r *Result) withdraw(row seenRow, is registry.Tag) {
	out := r.of(row.row)
	out.Does, out.Stage, out.Remark = RowSame, "", "logged while the file came in"
	r.New, r.Same = r.New-1, r.Same+1
	for i := range r.Rows {
		if r.Rows[i].Tag == row.tag {
			r.Rows[i].Tag = is
		}
	}
}
