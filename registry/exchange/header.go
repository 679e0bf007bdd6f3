package exchange

import (
	"cmp"
	"io"

	"pitman/registry/sheet"
)

// Header is what was found out about the columns of a sheet, before anybody is asked.
type Header struct {
	Sheet   *sheet.Reader
	Columns Columns
	Unknown []int // columns of which nothing is known

	given  map[string]string
	known  []ColumnName
	faults []*sheet.Fault
}

// ReadHeader finds the row that names the columns, or takes the one that was said, and finds out what they
// hold: what was said of them (given), what was answered, and what the house's list knows. A file that
// cannot be read as a sheet is refused with a *sheet.Fault.
func (w *Exchange) ReadHeader(from io.Reader, row int, given map[string]string,
	answers []ColumnName) (*Header, error) {
	known, err := w.Lists.Columns()
	if err != nil {
		return nil, err
	}
	h := &Header{given: given, known: append(known[:len(known):len(known)], answers...)}
	if h.Sheet, err = sheet.OpenAt(from, KnownHeading(given, h.known), row); err != nil {
		return nil, err
	}
	h.Answer(nil)
	return h, nil
}

// Answer takes what a person said of columns.
func (h *Header) Answer(answers []ColumnName) {
	h.known = append(h.known, answers...)
	h.Columns, h.Unknown, h.faults = MatchColumns(h.Sheet.Header(), h.given, h.known)
}

// Faults are what keeps the rows from being read: columns that are not known, told twice, or missing.
func (h *Header) Faults() (faults []*sheet.Fault) {
	for _, i := range h.Unknown {
		faults = append(faults, Unknown(h.Sheet.Header()[i]))
	}
	if faults = append(faults, h.faults...); len(faults) == 0 {
		faults = h.Columns.Missing(h.Sheet.HeaderRow())
	}
	for _, f := range faults {
		if f.Row == 1 {
			f.Row = h.Sheet.HeaderRow()
		}
	}
	return faults
}

// SettleWords finds out of each word what is meant by it: ask says so, told its field, the maker in whose row
// it stands and the word. What stays as typed is known from then on (also). as names the field of which a
// word is asked, where it has another name in the file.
func SettleWords(typed []*Typed, as map[string]string, read map[Misread]string,
	also func(field, maker, word string), ask func(field, maker string, t *Typed) (string, error)) error {
	for _, t := range typed {
		field, maker := cmp.Or(as[t.Field], t.Field), t.Maker
		if meant, ok := read[Misread{"maker", maker}]; ok {
			maker = meant
		}
		meant, err := ask(field, maker, t)
		if err != nil {
			return err
		}
		if meant != t.Value {
			read[Misread{t.Field, t.Value}] = meant
		} else {
			also(field, maker, t.Value)
		}
	}
	return nil
}
