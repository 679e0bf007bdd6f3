package exchange

import (
	"encoding/json"
	"fmt"
	"io"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"time"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/orders"
	"pitman/registry/promise"
	"pitman/registry/sheet"
	"pitman/registry/spares"
	"pitman/registry/stock"
	"pitman/registry/takings"
)

// Writer takes the records of an export.
type Writer interface {
	// Record takes one record; the cells are what a sheet shows of it.
	Record(v any, cells []string) error
	Flush() error
}

// NewLines writes each record as a line of JSON.
func NewLines(to io.Writer) Writer {
	e := json.NewEncoder(to)
	e.SetEscapeHTML(false)
	return lines{e}
}

type lines struct{ e *json.Encoder }

func (l lines) Record(v any, _ []string) error { return l.e.Encode(v) }
func (l lines) Flush() error                   { return nil }

// NewSheet writes each record as a row of CSV, or of a workbook where the form is .xlsx.
func NewSheet(to io.Writer, form string, header []string) (Writer, error) {
	w, err := sheet.NewRows(to, form, header)
	return rows{w}, err
}

type rows struct{ sheet.Rows }

func (r rows) Record(_ any, cells []string) error { return r.Write(cells) }

// Kind is a kind of record that can be exported.
type Kind struct {
	Name   string
	Header []string
	Each   func(r stock.Reader, fn func(v any, cells []string) error) error
}

// Kinds lists what can be exported.
func Kinds() []Kind {
	return []Kind{
		machines(),
		records("bases", &stock.Base{}),
		together("orders", "record", part{"order", &orders.Order{}, nil},
			part{"line", &orders.OrderLine{}, nil},
			part{"set", &promise.OrderSet{},
				func(rec registry.Record) bool { return rec.(*promise.OrderSet).Stands }}),
		together("tests", "test", part{"function", &bench.FunctionTest{}, nil},
			part{"safety", &bench.SafetyTest{}, nil}),
		spareRows(),
		records("takings", &takings.Taking{}),
		historyRows(),
	}
}

// KindNamed finds a kind by its name.
func KindNamed(name string) (Kind, error) {
	var names []string
	for _, k := range Kinds() {
		if k.Name == name {
			return k, nil
		}
		names = append(names, k.Name)
	}
	return Kind{},
		registry.Errorf(registry.Invalid, "%q cannot be exported: type one of %s", name,
			strings.Join(names, ", "))
}

// machines writes what people type first, in the form that an import reads, and then what the house found
// out.
func machines() Kind {
	header := append(TypedFields(), YearSaid)
	extra := machineExtra()
	for _, f := range extra {
		header = append(header, f.name)
	}
	return Kind{"machines", header, func(r stock.Reader, fn func(any, []string) error) error {
		var m stock.Machine
		v := reflect.ValueOf(&m).Elem()
		return r.Each(&m, func() error {
			cells := make([]string, 0, len(header))
			cells = append(cells, string(m.Tag), m.ImportID)
			for _, f := range stock.MachineFields {
				cells = append(cells, joinList(f.Get(&m)))
			}
			cells = append(cells, m.Year())
			for _, f := range extra {
				cells = append(cells, cell(v.FieldByIndex(f.index)))
			}
			return fn(dated{&m, m.Year()}, cells)
		})
	}}
}

// YearSaid is the column of the year as it is said everywhere.
const YearSaid = "year"

// dated is a machine as a line of an export.
type dated struct {
	*stock.Machine
	Year string `json:"year"`
}

// TypedFields lists what people type of any machine.
func TypedFields() []string {
	names := []string{"tag", "id"}
	for _, f := range stock.MachineFields {
		names = append(names, f.Name)
	}
	return names
}

// machineExtra are the stored fields of a machine that nobody types, as far as they mean something outside.
func machineExtra() []field {
	typed := []string{"tag", "importid", "patents", "patentyears"}
	for _, name := range TypedFields() {
		typed = append(typed, sheet.ColumnKey(name))
	}
	return slices.DeleteFunc(fieldsOf(reflect.TypeFor[stock.Machine]()), func(f field) bool {
		return slices.Contains(typed, sheet.ColumnKey(f.name))
	})
}

// ExportOnly names the columns of an export of machines that an import passes over: the house finds them out
// for itself.
func ExportOnly() (names []string) {
	for _, f := range machineExtra() {
		names = append(names, f.name)
	}
	return names
}

// records writes every stored field of a kind of record.
func records(name string, rec registry.Record) Kind {
	fields := fieldsOf(reflect.TypeOf(rec).Elem())
	return Kind{name, names(fields), func(r stock.Reader, fn func(any, []string) error) error {
		return each(r, rec, fields,
			func(v reflect.Value, cells []string) error { return fn(v.Addr().Interface(), cells) })
	}}
}

// spareRows writes parts with the codes that people wrote on them.
func spareRows() Kind {
	type spare struct {
		Code string `json:"id"`
		*spares.Spare
	}
	fields := fieldsOf(reflect.TypeFor[spares.Spare]())
	return Kind{"spares", append([]string{"id"}, names(fields)...),
		func(r stock.Reader, fn func(any, []string) error) error {
			return each(r, &spares.Spare{}, fields, func(v reflect.Value, cells []string) error {
				s := v.Addr().Interface().(*spares.Spare)
				return fn(spare{s.Code(), s}, slices.Insert(cells, 0, s.Code()))
			})
		}}
}

// part is a kind of record that is exported together with others.
type part struct {
	name string
	rec  registry.Record
	keep func(registry.Record) bool // nil: all
}

// together writes several kinds of record into one sheet, with their names in the first column: what only
// some of them have is empty for the others.
func together(name, first string, parts ...part) Kind {
	var union []field
	column := func(name string) int {
		return slices.IndexFunc(union,
			func(u field) bool { return u.name == name })
	}
	for _, p := range parts {
		for _, f := range fieldsOf(reflect.TypeOf(p.rec).Elem()) {
			if column(f.name) < 0 {
				union = append(union, f)
			}
		}
	}
	return Kind{name, append([]string{first}, names(union)...),
		func(r stock.Reader, fn func(any, []string) error) error {
			for _, p := range parts {
				fields := fieldsOf(reflect.TypeOf(p.rec).Elem())
				err := each(r, p.rec, fields, func(v reflect.Value, have []string) error {
					if p.keep != nil && !p.keep(v.Addr().Interface().(registry.Record)) {
						return nil
					}
					line, cells := map[string]any{first: p.name}, make([]string, len(union)+1)
					cells[0] = p.name
					for i, f := range fields {
						value := v.FieldByIndex(f.index)
						// what has not happened yet has no time
						if _, aTime := value.Interface().(time.Time); !aTime || !value.IsZero() {
							line[f.name] = value.Interface()
						}
						cells[1+column(f.name)] = have[i]
					}
					return fn(line, cells)
				})
				if err != nil {
					return err
				}
			}
			return nil
		}}
}

// each calls fn with every record of the kind of rec, and the cells of its fields.
func each(r stock.Reader, rec registry.Record, fields []field,
	fn func(v reflect.Value, cells []string) error) error {
	p := reflect.New(reflect.TypeOf(rec).Elem())
	return r.Each(p.Interface().(registry.Record), func() error {
		cells := make([]string, len(fields))
		for i, f := range fields {
			cells[i] = cell(p.Elem().FieldByIndex(f.index))
		}
		return fn(p.Elem(), cells)
	})
}

func names(fields []field) []string {
	list := make([]string, len(fields))
	for i, f := range fields {
		list[i] = f.name
	}
	return list
}

// historyRows writes one row for each field that an action changed.
func historyRows() Kind {
	header := []string{"action", "at", "by", "verb", "why", "undoes", "house", "subject", "kind", "record",
		"field", "before", "after"}
	return Kind{"history", header, func(r stock.Reader, fn func(any, []string) error) error {
		return r.Changes("", func(a *registry.Action, c *registry.Change) error {
			names := make([]string, 0, len(c.Fields))
			for name := range c.Fields {
				names = append(names, name)
			}
			slices.Sort(names)
			house, _, _ := strings.Cut(a.Origin, "/")
			undoes := ""
			if a.Undoes != 0 {
				undoes = strconv.FormatInt(a.Undoes, 10)
			}
			for _, name := range names {
				line := HistoryLine{a.ID, a.At, a.By, a.Verb, a.Why, a.Undoes, house, c.Subject, c.Kind,
					c.Ref, name, c.Fields[name][0], c.Fields[name][1]}
				cells := []string{strconv.FormatInt(a.ID, 10), a.At.Format(time.RFC3339Nano), string(a.By),
					a.Verb, a.Why, undoes, house, c.Subject, c.Kind,
					strconv.FormatInt(c.Ref, 10), name, plainValue(line.Before), plainValue(line.After)}
				if err := fn(line, cells); err != nil {
					return err
				}
			}
			return nil
		})
	}}
}

// HistoryLine is one field that an action changed, as exports tell it.
type HistoryLine struct {
	Action int64             `json:"action"`
	At     time.Time         `json:"at"`
	By     registry.Initials `json:"by"`
	Verb   string            `json:"verb"`
	Why    string            `json:"why"`
	Undoes int64             `json:"undoes,omitempty"`
	// letters of the house that it was done in; empty when that is here
	House   string `json:"house"`
	Subject string `json:"subject"`
	Kind    string `json:"kind"`
	Record  int64  `json:"record"` // number of the record among those of its kind
	Field   string `json:"field"`
	Before  any    `json:"before"`
	After   any    `json:"after"`
}

func plainValue(v any) string {
	if v == nil {
		return ""
	}
	return fmt.Sprint(v)
}

// field is a stored field that has a name outside.
type field struct {
	name  string
	index []int
}

// fieldsOf lists the stored fields of a record, by their names in JSON.
func fieldsOf(t reflect.Type) (fields []field) {
	for _, f := range reflect.VisibleFields(t) {
		name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		if f.Tag.Get("db") == "" || name == "-" || name == "" {
			continue
		}
		fields = append(fields, field{name, f.Index})
	}
	return fields
}

// ListSeparator stands between several values of one field in a cell.
const ListSeparator = ";"

func joinList(values []string) string { return strings.Join(values, ListSeparator+" ") }

// cell writes a stored value for people: units stand with it, what is not known is empty.
func cell(v reflect.Value) string {
	for v.Kind() == reflect.Pointer {
		if v.IsNil() {
			return ""
		}
		v = v.Elem()
	}
	switch x := v.Interface().(type) {
	case time.Time:
		if x.IsZero() {
			return ""
		}
		return x.UTC().Format(time.RFC3339Nano)
	case fmt.Stringer:
		if v.IsZero() {
			return ""
		}
		return x.String()
	}
	switch v.Kind() {
	case reflect.String:
		return v.String()
	case reflect.Bool:
		if v.Bool() {
			return "yes"
		}
		return "no"
	case reflect.Slice:
		if k := v.Type().Elem().Kind(); k == reflect.String || k == reflect.Int || k == reflect.Int64 {
			values := make([]string, v.Len())
			for i := range values {
				values[i] = cell(v.Index(i))
			}
			return joinList(values)
		}
	case reflect.Int, reflect.Int64, reflect.Float64:
		return fmt.Sprint(v.Interface())
	}
	text, err := json.Marshal(v.Interface())
	if err != nil {
		return fmt.Sprint(v.Interface())
	}
	return string(text)
}
