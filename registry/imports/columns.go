package imports

import (
	"slices"
	"strings"

	"pitman/registry"
	"pitman/registry/exchange"
	"pitman/registry/misread"
	"pitman/registry/near"
	"pitman/registry/sheet"
	"pitman/registry/stock"
)

// Columns says what each column of a file is: the name of a field, "tag", "id", or "" for one that is left
// out.
type Columns []string

// MatchColumns finds out what the columns of a header are: what was said of them (given), what the house's
// list knows, and the names that exports write. It returns the places of those that nothing is known of, and
// the faults.
func MatchColumns(header []string, given map[string]string, known []ColumnName) (columns Columns,
	unknown []int, faults []*sheet.Fault) {
	fields := headings(given, known)
	if exported(header) { // a house hands over what it did by its own ways; an export tells it to be read
		if _, said := fields[exchange.YearSaid]; !said { // in anybody else's sheet a year is what somebody knows
			fields[exchange.YearSaid] = ColumnLeftOut
		}
		for heading, field := range fields {
			if slices.Contains(movingFields, field) {
				fields[heading] = ColumnLeftOut
			}
		}
	}
	return Match(header, fields)
}

// Match finds out what the columns of a header are, by the key of each known heading.
func Match(header []string, fields map[string]string) (columns Columns, unknown []int,
	faults []*sheet.Fault) {
	columns = make(Columns, len(header))
	for i, heading := range header {
		if heading == "" {
			continue // a column without a name is a margin; content in it is a fault of its row
		}
		field, ok := fields[sheet.ColumnKey(heading)]
		switch {
		case !ok:
			unknown = append(unknown, i)
			continue
		case field == ColumnLeftOut:
			continue
		}
		if first := slices.Index(columns, field); first >= 0 {
			remedy, next := "leave one out", []registry.NextStep{aboutColumn(registry.DoLeaveColumn, heading)}
			if sheet.ColumnKey(heading) == sheet.ColumnKey(header[first]) {
				remedy, next = "give one of the two another name", nil // nothing tells them apart
			}
			faults = append(faults, columnFault(heading,
				registry.Errorf(registry.Invalid, "it holds the %s, and so does column %s: %s", field,
					header[first], remedy).Then(next...)))
			continue
		}
		columns[i] = field
	}
	return columns, unknown, faults
}

// exported says whether a header is that of an export.
func exported(header []string) bool {
	return slices.ContainsFunc(header,
		func(heading string) bool { return sheet.ColumnKey(heading) == "datedby" })
}

// headings says which field each known heading names.
func headings(given map[string]string, known []ColumnName) map[string]string {
	fields := map[string]string{}
	for _, name := range exchange.ExportOnly() {
		fields[sheet.ColumnKey(name)] = ColumnLeftOut
	}
	for _, k := range known {
		fields[k.Key()] = k.Field
	}
	for _, name := range ImportFields() {
		fields[sheet.ColumnKey(name)] = name
	}
	for heading, field := range given {
		fields[sheet.ColumnKey(heading)] = field
	}
	return fields
}

func unknownColumn(heading string, fields []string) *sheet.Fault {
	return columnFault(heading,
		registry.Errorf(registry.Invalid,
			"it is not known what this column holds: say so, where the field is %s; or leave it "+
				"out", strings.Join(fields, ", ")).
			Then(aboutColumn(registry.DoMapColumn, heading), aboutColumn(registry.DoLeaveColumn, heading)))
}

func columnFault(heading string, refused *registry.Error) *sheet.Fault {
	return &sheet.Fault{Row: 1, Column: heading, Message: refused.Message, Err: refused}
}

func aboutColumn(action, heading string) registry.NextStep {
	return registry.Next(action, "").With("column", heading)
}

// ParseMap reads "Their column=field" as people type it, where a column can be one of these fields.
func ParseMap(pairs, fields []string) (map[string]string, error) {
	given := map[string]string{}
	for _, pair := range pairs {
		at := strings.LastIndex(pair, "=")
		if at < 0 {
			return nil, registry.Errorf(registry.Invalid,
				"map %q: type the heading of the column, = and the field, such as \"Made by=maker\"", pair)
		}
		name := ColumnName{Column: strings.TrimSpace(pair[:at]), Field: strings.TrimSpace(pair[at+1:])}
		if err := name.check(fields); err != nil {
			return nil, registry.Errorf(registry.Invalid, "map %q: %v", pair, err)
		}
		given[name.Column] = name.Field
	}
	return given, nil
}

// needed are the columns that every machine has.
var needed = []string{"maker", "drive"}

// missing lists the faults of a header without the columns that every row needs.
func (c Columns) missing(need []string, row int) (faults []*sheet.Fault) {
	for _, name := range need {
		if !slices.Contains(c, name) {
			f := columnFault(name,
				registry.Errorf(registry.Invalid, "the file has no such column: add it, or say which one "+
					"it is").Then(registry.Next(registry.DoMapColumn, "").With("field", name)))
			f.Row = row
			faults = append(faults, f)
		}
	}
	return faults
}

// Incoming reads one row, in which the sheet found faults already. It adds every other one; a cell has one
// fault at most. read says what some words of the file are to be read as; it may be nil.
func (c Columns) Incoming(r *sheet.Reader, cells []string, faults []*sheet.Fault,
	read map[misread.Word]string) (*Incoming, []*sheet.Fault) {
	in := &Incoming{Row: r.Row(), exported: exported(r.Header())}
	in.Machine.Serial = stock.NoSerial
	told := map[string]bool{}
	for _, f := range faults {
		told[f.Column] = true
	}
	fault := func(i int, err error) {
		faults = append(faults,
			&sheet.Fault{Row: in.Row, Column: r.Column(i), Message: err.Error(), Err: err})
	}
	given := map[string]bool{}
	for i, cell := range cells {
		cell = strings.TrimSpace(cell)
		if cell == "" || i >= len(c) {
			continue
		}
		if meant, ok := read[misread.Word{Field: c[i], Value: cell}]; ok {
			cell = meant
		}
		switch name := c[i]; name {
		case "":
			if r.Header()[i] == "" {
				fault(i, registry.Errorf(registry.Invalid,
					"%.40q stands in a column without a name: name the column in row %d", cell,
					r.HeaderRow()))
			}
		case "tag":
			tag, err := registry.ParseTag(cell)
			if err != nil {
				fault(i, err)
			}
			in.Tag = tag
		case "id":
			id, err := stock.ParseImportID(cell)
			if err != nil {
				fault(i, err)
			}
			in.ID = id
		case "stage", "received", "tested", "tester":
			if err := in.Told.set(name, cell); err != nil {
				fault(i, err)
				misspelt(faults[len(faults)-1], fixedWords(name), cell)
			}
		default:
			field, _ := stock.FieldNamed(name)
			values := []string{cell}
			if field.Many {
				values = splitList(cell)
			}
			if err := field.Set(&in.Machine, values); err != nil {
				fault(i, err)
				misspelt(faults[len(faults)-1], fixedWords(name), cell)
			}
			given[name] = true
			in.Given = append(in.Given, name)
		}
	}
	for _, name := range needed {
		if at := slices.Index(c, name); !given[name] && !told[r.Column(at)] {
			faults = append(faults,
				&sheet.Fault{Row: in.Row, Column: r.Column(at), Message: "the cell is empty: " +
					whatToType[name]})
		}
	}
	return in, faults
}

// fixedWords are those that a field takes; nil for one that takes any.
func fixedWords(name string) (words []string) {
	if name == "stage" {
		for _, s := range registry.Stages {
			words = append(words, string(s))
		}
		return words
	}
	if field, _ := stock.FieldNamed(name); strings.Contains(field.Value, "|") {
		words = strings.Split(field.Value, "|")
	}
	return words
}

// misspelt notes of a fault the fixed word that its cell is a slip or two away from, for whoever can be
// asked.
func misspelt(f *sheet.Fault, words []string, cell string) {
	if word := near.Name(words, cell); word != "" {
		f.Near, f.Value = word, cell
	}
}

var whatToType = map[string]string{
	"maker": "type the name on the bed or badge, or unknown",
	"drive": "type hand, treadle or electric",
}

func splitList(cell string) []string {
	var values []string
	for v := range strings.SplitSeq(cell, exchange.ListSeparator) {
		if v = strings.TrimSpace(v); v != "" {
			values = append(values, v)
		}
	}
	return values
}
