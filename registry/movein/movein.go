// Package movein takes along what a workshop that ran before has beside its machines: bases, partners and
// orders, each from a list of its own. What is asked of a row is asked by the functions that ask it of what
// is typed; only where it stands is told by the list, as far as nobody can come to harm by it.
package movein

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"pitman/registry"
	"pitman/registry/fields"
	"pitman/registry/imports"
	"pitman/registry/intake"
	"pitman/registry/misread"
	"pitman/registry/orders"
	"pitman/registry/sheet"
	"pitman/registry/stock"
)

// MoveIn is the room where such lists come in.
type MoveIn struct {
	*stock.Stock
	Intake  *intake.Intake
	Orders  *orders.Orders
	Imports *imports.Imports
}

// Kind is what the rows of a list are.
type Kind string

const (
	Bases    Kind = "bases"
	Partners Kind = "partners"
	Orders   Kind = "orders"
)

// Kinds lists them.
var Kinds = []Kind{Bases, Partners, Orders}

// ParseKind reads a kind.
func ParseKind(s string) (Kind, error) { return registry.OneOf("kind", s, Kinds) }

// Fields lists what a column of a list of this kind can be; need are those that every row has.
func (k Kind) Fields() (all, need []string) {
	switch k {
	case Bases:
		return append([]string{"tag", "id", "stage", "received"}, namesOf(stock.BaseFields)...), nil
	case Partners:
		return partnerFields(), []string{"name"}
	}
	return orderFields(), []string{"for", "due", "kind", "quantity"}
}

func namesOf[T any](table []fields.Of[T]) (names []string) {
	for _, f := range table {
		names = append(names, f.Name)
	}
	return names
}

// Row says what a row of a list does, or would do.
type Row struct {
	Row    int            `json:"row"`
	Does   string         `json:"does"` // new or same
	ID     string         `json:"id,omitempty"`
	Name   string         `json:"name"`
	Stage  registry.Stage `json:"stage,omitempty"`
	Remark string         `json:"remark,omitempty"` // what the row tells and is not kept, and why
}

// String says in one line what it does.
func (r Row) String() string {
	does := r.Does
	if r.ID != "" {
		does += ", " + r.ID
	}
	if r.Stage != "" {
		does += ", " + string(r.Stage)
	}
	return does
}

// Result is what a list did, or would do.
type Result struct {
	Kind   Kind           `json:"kind"`
	New    int            `json:"new"`
	Same   int            `json:"same"`
	Rows   []Row          `json:"rows"`
	Faults []*sheet.Fault `json:"faults"`
}

// maxRows bounds a list; no workshop has so many partners or bases.
const maxRows = 20_000

// cells are those of a row that are filled, by field.
type cells map[string]string

// adder takes the rows of one kind in, one after another.
type adder interface {
	add(tx stock.Tx, row cells) (Row, error)
}

var errOnlyLook = errors.New("only a look")

// List is a list on its way in.
type List struct {
	Kind Kind
	File string // as its history calls it
	*imports.Header
	Read map[misread.Word]string // what misspelt words are to be read as
}

// Look says what a list would do, and keeps nothing of it.
func (w *MoveIn) Look(ctx context.Context, list *List) (*Result, error) {
	result, err := w.take(ctx, "LOOK", list, func(*Result) error { return errOnlyLook })
	for i := range result.Rows {
		if result.Rows[i].Does == imports.RowNew {
			result.Rows[i].ID = "" // it has none yet
		}
	}
	if errors.Is(err, errOnlyLook) {
		err = nil
	}
	return result, err
}

// Take takes a list in within one action, or nothing of it when a row has a fault, or when agreed, if it is
// given, does not agree with what it does.
func (w *MoveIn) Take(ctx context.Context, by registry.Initials, list *List,
	agreed func(*Result) error) (*Result, error) {
	if agreed == nil {
		agreed = func(*Result) error { return nil }
	}
	return w.take(ctx, by, list, agreed)
}

func (w *MoveIn) take(ctx context.Context, by registry.Initials, list *List,
	agreed func(*Result) error) (*Result, error) {
	result := &Result{}
	err := w.Act(ctx, by, "import", list.File, func(tx stock.Tx) error {
		*result = Result{Kind: list.Kind, Rows: []Row{}, Faults: []*sheet.Fault{}}
		rows, err := w.adder(tx, list.Kind)
		if err != nil {
			return err
		}
		if err := result.run(ctx, tx, rows, list); err != nil {
			return err
		}
		if len(result.Faults) > 0 {
			return imports.ErrFaults
		}
		return agreed(result)
	})
	if errors.Is(err, imports.ErrFaults) {
		err = nil
	}
	return result, err
}

func (w *MoveIn) adder(r stock.Reader, kind Kind) (adder, error) {
	switch kind {
	case Bases:
		return w.newBases(r)
	case Partners:
		return partnerRows{}, nil
	}
	return w.newOrders(r)
}

func (result *Result) run(ctx context.Context, tx stock.Tx, rows adder, list *List) error {
	r, columns := list.Sheet, list.Columns
	for n := 0; ; n++ {
		row, faults, err := r.Read()
		switch {
		case errors.Is(err, io.EOF):
			return nil
		case err != nil:
			return err
		case ctx.Err() != nil:
			return ctx.Err()
		case n == maxRows:
			result.Faults = append(result.Faults, &sheet.Fault{Row: r.Row(), Column: r.Column(0),
				Message: fmt.Sprintf("the list has more than %d rows: split it", maxRows)})
			return nil
		}
		filled := cells{}
		for i, cell := range row {
			cell = strings.TrimSpace(cell)
			switch {
			case cell == "" || i >= len(columns):
			case columns[i] != "":
				if meant, ok := list.Read[misread.Word{Field: columns[i], Value: cell}]; ok {
					cell = meant
				}
				filled[columns[i]] = cell
			case r.Header()[i] == "":
				faults = append(faults, &sheet.Fault{Row: r.Row(), Column: r.Column(i),
					Message: fmt.Sprintf("%.40q stands in a column without a name: name the column in row %d",
						cell, r.HeaderRow())})
			}
		}
		if result.Faults = append(result.Faults, faults...); len(faults) > 0 {
			continue
		}
		out, err := rows.add(tx, filled)
		var wrong *registry.Error
		switch out.Row = r.Row(); {
		case errors.As(err, &wrong):
			column := wrong.Field
			if i := slices.Index(columns, wrong.Field); i >= 0 {
				column = r.Column(i)
			} else if column == "" {
				column = r.Column(0)
			}
			result.Faults = append(result.Faults,
				&sheet.Fault{Row: out.Row, Column: column, Message: wrong.Message, Err: wrong})
			continue
		case err != nil:
			return err
		case out.Does == imports.RowNew:
			result.New++
		default:
			result.Same++
		}
		result.Rows = append(result.Rows, out)
	}
}

// setAll sets what a row tells of a record.
func setAll[T any](rec *T, table []fields.Of[T], row cells) error {
	for _, f := range table {
		cell, told := row[f.Name]
		if !told {
			continue
		}
		if err := f.Set(rec, []string{cell}); err != nil {
			return registry.OnField(f.Name, err)
		}
	}
	return nil
}
