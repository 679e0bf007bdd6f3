package imports

import (
	"io"
	"slices"

	"pitman/registry/lists"
	"pitman/registry/sheet"
)

// Header is what was found out about the columns of a sheet, before anybody is asked.
type Header struct {
	Sheet   *sheet.Reader
	Columns Columns
	Unknown []int // columns of which nothing is known
	Rows

	answers []ColumnName
	faults  []*sheet.Fault
}

// Rows is what the rows of a sheet are, as far as its columns are concerned.
type Rows struct {
	Fields []string // what a column can be
	Need   []string // those that every row has
	// Names are the keys of headings that need no answer, with their fields
	Names map[string]string
	// Match finds out what the columns are, after what was answered
	Match func(header []string, answers []ColumnName) (Columns, []int, []*sheet.Fault)
}

// machines are the rows that most sheets have. given is what was said of their columns.
func (w *Imports) machines(given map[string]string) (Rows, error) {
	known, err := w.Lists.Columns()
	if err != nil {
		return Rows{}, err
	}
	builtIn, err := lists.BuiltIn[ColumnName](columnsFile)
	return Rows{ImportFields(), needed, headings(nil, builtIn),
		func(header []string, answers []ColumnName) (Columns, []int, []*sheet.Fault) {
			return MatchColumns(header, given, slices.Concat(known, answers))
		}}, err
}

// ReadHeader finds the row that names the columns, or takes the one that was said, and finds out what they
// hold: what was said of them (given), what was answered, and what the house's list knows. A file that
// cannot be read as a sheet is refused with a *sheet.Fault.
func (w *Imports) ReadHeader(from io.Reader, row int, given map[string]string,
	answers []ColumnName) (*Header, error) {
	rows, err := w.machines(given)
	if err != nil {
		return nil, err
	}
	return rows.ReadHeader(from, row, answers)
}

// ReadHeader does so for rows of any kind.
func (rows Rows) ReadHeader(from io.Reader, row int, answers []ColumnName) (h *Header, err error) {
	h = &Header{Rows: rows, answers: slices.Clone(answers)}
	if h.Sheet, err = sheet.OpenAt(from, h.knows, row); err != nil {
		return nil, err
	}
	h.Answer(nil)
	return h, nil
}

// knows tells a heading that names a column from any other text.
func (h *Header) knows(heading string) bool {
	_, unknown, _ := h.Match([]string{heading}, h.answers)
	return heading != "" && len(unknown) == 0
}

// Answer takes what a person said of columns.
func (h *Header) Answer(answers []ColumnName) {
	h.answers = append(h.answers, answers...)
	h.Columns, h.Unknown, h.faults = h.Match(h.Sheet.Header(), h.answers)
}

// Check says what is wrong with an answer.
func (h *Header) Check(answer ColumnName) error { return answer.check(h.Fields) }

// Ask lists the columns of which a person is asked: those that nothing is known of and, where all is asked,
// those of which only an answer is known, so that it can be taken back. Of one name, it is one: a list that
// named it twice could not be read again.
func (h *Header) Ask(all bool) (columns []int) {
	asked := map[string]bool{}
	for i, name := range h.Sheet.Header() {
		_, named := h.Names[sheet.ColumnKey(name)]
		if name == "" || asked[sheet.ColumnKey(name)] || !slices.Contains(h.Unknown, i) && (named || !all) {
			continue
		}
		asked[sheet.ColumnKey(name)] = true
		columns = append(columns, i)
	}
	return columns
}

// Faults are what keeps the rows from being read: columns that are not known, told twice, or missing.
func (h *Header) Faults() (faults []*sheet.Fault) {
	for _, i := range h.Unknown {
		faults = append(faults, unknownColumn(h.Sheet.Header()[i], h.Fields))
	}
	if faults = append(faults, h.faults...); len(faults) == 0 {
		faults = h.Columns.missing(h.Need, h.Sheet.HeaderRow())
	}
	for _, f := range faults {
		if f.Row == 1 {
			f.Row = h.Sheet.HeaderRow()
		}
	}
	return faults
}
