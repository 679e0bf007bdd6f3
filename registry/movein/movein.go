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
	"pitman/registry/exchange"
	"pitman/registry/fields"
	"pitman/registry/intake"
	"pitman/registry/orders"
	"pitman/registry/sheet"
	"pitman/registry/stock"
)

// MoveIn is the room where such lists come in.
type MoveIn struct {
	*stock.Stock
	Intake   *intake.Intake
	Orders   *orders.Orders
	Exchange *exchange.Exchange
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

// Take takes a list in within one action, or nothing of it when a row has a fault. looking only says what it
// would do.
func (w *MoveIn) Take(ctx context.Context, by registry.Initials, kind Kind, file string, r *sheet.Reader,
	columns exchange.Columns, read map[exchange.Misread]string, looking bool) (*Result, error) {
	result := &Result{Kind: kind, Rows: []Row{}, Faults: []*sheet.Fault{}}
	if looking {
		by = "LOOK" // nothing is kept
	}
	err := w.Act(ctx, by, "import", file, func(tx stock.Tx) error {
		*result = Result{Kind: kind, Rows: []Row{}, Faults: []*sheet.Fault{}}
		rows, err := w.adder(tx, kind)
		if err != nil {
			return err
		}
		if err := result.run(ctx, tx, rows, r, columns, read, looking); err != nil {
			return err
		}
		if len(result.Faults) > 0 {
			return exchange.ErrFaults
		}
		if looking {
			return errOnlyLook
		}
		return nil
	})
	if errors.Is(err, errOnlyLook) || errors.Is(err, exchange.ErrFaults) {
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

func (result *Result) run(ctx context.Context, tx stock.Tx, rows adder, r *sheet.Reader,
	columns exchange.Columns, read map[exchange.Misread]string, looking bool) error {
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
				if meant, ok := read[exchange.Misread{Field: columns[i], Value: cell}]; ok {
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
		case out.Does == exchange.RowNew:
			result.New++
		default:
			result.Same++
		}
		if looking && out.Does == exchange.RowNew {
			out.ID = "" // it has none yet
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

// ParseMap reads "Their column=field" as people type it.
func ParseMap(kind Kind, pairs []string) (map[string]string, error) {
	all, _ := kind.Fields()
	given := map[string]string{}
	for _, pair := range pairs {
		at := strings.LastIndex(pair, "=")
		if at < 0 || exchange.ColumnKey(pair[:max(at, 0)]) == "" {
			return nil, registry.Errorf(registry.Invalid,
				"map %q: type the heading of the column, = and the field, such as \"Made by=maker\"", pair)
		}
		field := strings.TrimSpace(pair[at+1:])
		if field != exchange.ColumnLeftOut && !slices.Contains(all, field) {
			return nil, registry.Errorf(registry.Invalid,
				"map %q: field %q is not known: type %s, or - to leave the column out", pair, field,
				registry.OrList(all))
		}
		given[strings.TrimSpace(pair[:at])] = field
	}
	return given, nil
}

// Match finds out which fields the columns of a header are; unknown are the places of those that nothing is
// known of.
func Match(header []string, kind Kind, given map[string]string) (columns exchange.Columns, unknown []int,
	faults []*sheet.Fault) {
	all, need := kind.Fields()
	known := map[string]string{"partner": "for", "customer": "for", "number": "quantity", "asked": "quantity",
		"state": "state", "wanted": "kind"}
	if kind == Partners {
		known = map[string]string{"partner": "name"}
	}
	for _, name := range all {
		known[exchange.ColumnKey(name)] = name
	}
	for heading, field := range given {
		known[exchange.ColumnKey(heading)] = field
	}
	columns = make(exchange.Columns, len(header))
	for i, heading := range header {
		field, ok := known[exchange.ColumnKey(heading)]
		switch {
		case heading == "" || field == exchange.ColumnLeftOut:
		case !ok || !slices.Contains(all, field):
			unknown = append(unknown, i)
		case slices.Contains(columns, field):
			faults = append(faults, &sheet.Fault{Row: 1, Column: heading, Message: fmt.Sprintf(
				"it holds the %s, and so does column %s: leave one out", field,
				header[slices.Index(columns, field)])})
		default:
			columns[i] = field
		}
	}
	for _, name := range need {
		if !slices.Contains(columns, name) && len(unknown) == 0 {
			faults = append(faults, &sheet.Fault{Row: 1, Column: name,
				Message: "the file has no such column: add it, or say which one it is"})
		}
	}
	return columns, unknown, faults
}
