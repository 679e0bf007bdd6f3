package table

import (
	"slices"
	"strings"

	"pitman/serials/stamp"
	"pitman/serials/years"
)

// form is a kind of table: serial numbers, patents, clues, registers, makers' names. A file says which it is
// by its first line.
type form struct {
	mark    string // the column that no other form has
	columns []string
	needs   []string
	row     func(p *reader, line int, f []string)
	more    []string // columns that a table may have and few do
}

var forms []*form

func init() { // the rows' readers refer back to the reader
	forms = []*form{
		{"", Columns, []string{"maker", "first", "last", "from"}, serialRow, []string{"confidence"}},
		{"office", []string{"office", "kind", "year", "first", "number", "source", "note"},
			[]string{"office", "kind", "year"}, patentRow, nil},
		{"mark", []string{"maker", "mark", "from", "to", "part", "reliability", "source", "note"},
			[]string{"maker", "mark", "from"}, clueRow, nil},
		{"register", []string{"maker", "model", "register", "from", "to", "source", "note"},
			[]string{"maker", "model", "register"}, registerRow, nil},
		{"spelling", []string{"maker", "spelling", "source", "note"}, []string{"maker", "spelling"},
			spellingRow, nil},
		{"form", []string{"maker", "form", "values", "model", "case", "from", "to", "source", "note"},
			[]string{"maker", "form"}, formRow, nil},
	}
}

// formOf tells which kind of table a first line begins; serial numbers where nothing else is named.
func formOf(header []string) *form {
	for _, f := range forms[1:] {
		if slices.ContainsFunc(header,
			func(name string) bool { return strings.EqualFold(strings.TrimSpace(name), f.mark) }) {
			return f
		}
	}
	return forms[0]
}

// span reads the years of a row: either may be empty and is then open.
func (p *reader) span(line int, from, to string) (s years.Span, ok bool) {
	for _, one := range []struct {
		name, typed string
		year        *years.Year
	}{{"from", from, &s.From}, {"to", to, &s.To}} {
		if one.typed == "" {
			continue
		}
		if *one.year, ok = Year(one.typed); !ok {
			p.fault(line, BadYear, "%s %s is not a year: type four digits, %d to %d, or leave it empty",
				one.name, stamp.Quoted(one.typed), years.First, years.Last)
			return s, false
		}
	}
	if s.To != 0 && s.To < s.From {
		p.fault(line, Reversed, "from %d is later than to %d: swap them or mend the misprint", s.From, s.To)
		return s, false
	}
	return s, true
}
