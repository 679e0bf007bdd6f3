package imports

import (
	"context"
	"errors"
	"io"
	"math"
	"slices"

	"pitman/registry"
	"pitman/registry/misread"
	"pitman/registry/sheet"
)

// What one import may hold.
const (
	maxRows = 1_000_000 // rows that a file may have
	// faults that are kept to be listed: more than anybody mends by hand; the rest are counted
	maxFaults = 250_000
)

// Result is what an import did, or would do.
type Result struct {
	New     int            `json:"new"`
	Same    int            `json:"same"`
	Changed int            `json:"changed"`
	Rows    []Outcome      `json:"rows"`
	Faults  []*sheet.Fault `json:"faults"` // the first of them
	Faulty  int            `json:"fault_count"`
	Near    []NearMiss     `json:"near"` // words that are no word of their field, but a slip away from one
	Twins   []Twin         `json:"-"`    // rows that are refused since they may be one machine with another
}

// NearMiss is a word that stands for another, in so many rows.
type NearMiss struct {
	Field string `json:"field"`
	Value string `json:"value"`
	Near  string `json:"near"`
	Rows  int    `json:"rows"`
}

// ErrFaults says that an import was refused for the faults in its result.
var ErrFaults = errors.New("faults")

// Import is a file on its way in.
type Import struct {
	Sheet   *sheet.Reader
	Columns Columns
	Read    map[misread.Word]string // what misspelt words are to be read as
	Rows    map[int]Decided         // what was decided about rows; may be nil
	Tick    func(bytes int64)       // told now and then how far the file is read; may be nil
	Looked  func()                  // told when a long file was looked through and comes in now; may be nil
	Agreed  func(*Result) error     // refuses what is not wanted after all; may be nil

	// File is the file itself, and Last the number of its last row, 0 where nobody counted: a long one is read
	// twice.
	File io.ReadSeeker
	Last int

	read int // rows, so far
}

// Run reads the rows into the intake. Its error is ErrFaults when any row has a fault, so that whatever the
// intake wrote is undone.
func (f *Import) Run(ctx context.Context, intake *Intake, result *Result) error {
	result.Rows, result.Faults, result.Near = []Outcome{}, []*sheet.Fault{}, []NearMiss{}
	if missing := f.Columns.missing(needed, f.Sheet.HeaderRow()); len(missing) > 0 {
		f.fault(intake, result, missing...)
		return ErrFaults
	}
	f.read = 0
	if _, err := f.some(ctx, intake, result, math.MaxInt); err != nil {
		return err
	}
	if result.Faulty > 0 {
		return ErrFaults
	}
	if f.Agreed != nil {
		return f.Agreed(result)
	}
	return nil
}

// fault keeps what is wrong, and lets the rest of the rows be a look alone.
func (f *Import) fault(intake *Intake, result *Result, found ...*sheet.Fault) {
	for _, one := range found {
		if result.Faulty++; len(result.Faults) < maxFaults {
			result.Faults = append(result.Faults, one)
		}
	}
	if len(found) > 0 {
		intake.OnlyLook()
	}
}

// some reads at most so many rows into the intake, and says whether they were the last.
func (f *Import) some(ctx context.Context, intake *Intake, result *Result, most int) (ended bool, err error) {
	for ; most > 0; most-- {
		if f.read%256 == 0 {
			if err := ctx.Err(); err != nil {
				return false, err
			}
			if f.Tick != nil {
				f.Tick(f.Sheet.Bytes())
			}
		}
		cells, faults, err := f.Sheet.Read()
		if err == io.EOF {
			return true, nil
		}
		if err != nil {
			return false, err
		}
		if f.read == maxRows {
			f.fault(intake, result, &sheet.Fault{Row: f.Sheet.Row(), Column: f.Sheet.Column(0),
				Message: "the file has more than a million rows: split it"})
			return true, nil
		}
		f.read++
		if err := f.row(intake, result, cells, faults); err != nil {
			return false, err
		}
	}
	return false, nil
}

// row takes one row in.
func (f *Import) row(intake *Intake, result *Result, cells []string, faults []*sheet.Fault) error {
	var in *Incoming
	if cells != nil {
		in, faults = f.Columns.Incoming(f.Sheet, cells, faults, f.Read)
	}
	for _, one := range faults {
		if one.Near != "" {
			result.near(f.fieldOf(one.Column), one)
		}
	}
	if f.Rows[f.Sheet.Row()] == LeftOut {
		return nil
	}
	if f.fault(intake, result, faults...); len(faults) > 0 {
		return nil
	}
	in.another, intake.twin = f.Rows[in.Row] == Another, nil
	outcome, err := intake.Add(in)
	var wrong *registry.Error
	switch {
	case errors.As(err, &wrong) && wrong.Field != "":
		if intake.twin != nil {
			result.Twins = append(result.Twins, *intake.twin)
		}
		f.fault(intake, result, &sheet.Fault{Row: in.Row, Column: f.heading(wrong.Field), Message: wrong.Message,
			Err: wrong})
		return nil
	case err != nil:
		return err
	}
	result.count(outcome)
	return nil
}

func (r *Result) count(o Outcome) {
	switch o.Does {
	case RowNew:
		r.New++
	case RowSame:
		r.Same++
	case RowChanged:
		r.Changed++
	}
	if len(r.Rows) == cap(r.Rows) {
		r.Rows = slices.Grow(r.Rows, len(r.Rows)+1) // of a long file, each row is copied once, not five times
	}
	r.Rows = append(r.Rows, o)
}

// near counts a word that is a slip away from another.
func (r *Result) near(field string, f *sheet.Fault) {
	for i, n := range r.Near {
		if n.Field == field && n.Value == f.Value {
			r.Near[i].Rows++
			return
		}
	}
	r.Near = append(r.Near, NearMiss{field, f.Value, f.Near, 1})
}

// fieldOf is the field that a column of the file holds.
func (f *Import) fieldOf(heading string) string {
	for i, name := range f.Columns {
		if f.Sheet.Column(i) == heading {
			return name
		}
	}
	return heading
}

// heading is what the file calls a field.
func (f *Import) heading(field string) string {
	for i, name := range f.Columns {
		if name == field {
			return f.Sheet.Column(i)
		}
	}
	return field
}
