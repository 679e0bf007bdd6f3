package serials

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"pitman/serials/grammar"
	"pitman/serials/names"
	"pitman/serials/stamp"
	"pitman/serials/table"
	"pitman/serials/years"
)

// formsOf compiles the forms of each maker, the strictest first. A form that cannot be compiled is a fault.
func formsOf(files []*table.Table) (forms map[string][]*grammar.Form, faults []table.Fault) {
	forms = map[string][]*grammar.Form{}
	for _, file := range files {
		for _, row := range file.Forms {
			f, err := grammar.New(row)
			if err != nil {
				faults = append(faults, table.Fault{File: row.File, Line: row.Line, Kind: table.BadForm,
					Message: err.Error()})
				continue
			}
			key := names.MakerKey(row.Maker)
			forms[key] = append(forms[key], f)
		}
	}
	for _, list := range forms {
		slices.SortFunc(list, func(a, b *grammar.Form) int {
			return cmp.Or(cmp.Compare(b.Strictness(), a.Strictness()), cmp.Compare(a.Form.Form, b.Form.Form),
				cmp.Compare(a.File, b.File), cmp.Compare(a.Line, b.Line))
		})
	}
	return forms, faults
}

// asFormed is a row with its prefix as the maker's forms read it.
func asFormed(row table.Row, forms []*grammar.Form) table.Row {
	for _, f := range forms {
		p := table.MarkedPrefix(row.Written, f.KeepsCase)
		if row.Written != "" && p == "" {
			p = stamp.Clean(row.Written)
		}
		if f.Holds(p, row.First) {
			row.Prefix = p
			row.Padded = row.Padded || f.FixedWidth()
			break
		}
	}
	return row
}

// forModel is the forms that a machine of this model can have.
func (m *maker) forModel(model string) (out []*grammar.Form) {
	key := names.ModelKey(model)
	for _, f := range m.forms {
		if own := names.ModelKey(f.Model); own == "" || key == "" || own == key {
			out = append(out, f)
		}
	}
	return out
}

// read reads a serial by the maker's forms; ok is false when it is of none of them.
func (m *maker) read(serial, model string) (r grammar.Reading, by *grammar.Form, others []*grammar.Form) {
	for _, f := range m.forModel(model) {
		one, fits := f.Read(serial)
		switch {
		case !fits:
		case by == nil:
			r, by = one, f
		case one.Key != r.Key || one.Years != r.Years || one.Works != r.Works:
			others = append(others, f)
		}
	}
	return r, by, others
}

// byForm reads the serial by the maker's forms, and takes in what its letters spell. The key is empty when it
// is of no form: then no row answers for it.
func (a *Answer) byForm(m *maker, q Query) (key, works string) {
	r, by, others := m.read(q.Serial, q.Model)
	if by == nil {
		a.note("serial %s is not written as %s wrote its numbers (%s): look at it again", a.Serial, m.name,
			m.writes(q.Model))
		return "", ""
	}
	a.Serial = r.Shown
	where := fmt.Sprintf(" (%s:%d)", by.File, by.Line)
	if len(others) > 0 {
		a.note("serial %s can be read in %d ways; it is read as %s%s", a.Serial, len(others)+1, by.Form.Form,
			where)
	}
	if r.Tells != "" {
		a.note("in the serial %s%s", r.Tells, where)
	}
	span := r.Years
	if span == (years.Span{}) && len(others) == 0 {
		span = years.Span{From: by.From, To: by.To}
	}
	reason := "the serial is written as it was then" + where
	if r.Years != (years.Span{}) {
		reason = "the serial spells it" + where
	}
	if span.From != 0 {
		a.bound(NotBefore, span.From, reason)
	}
	if span.To != 0 {
		a.bound(NotAfter, span.To, reason)
	}
	if by.Source != "" && span != (years.Span{}) {
		a.sources = addNew(a.sources, by.Source)
	}
	return r.Key, r.Works
}

// Forms returns how a maker's serial numbers are written, as far as the tables say it.
func (t *Tables) Forms(name string) (list []table.Form) {
	if m := t.maker(name); m != nil {
		for _, f := range m.forms {
			list = append(list, f.Form)
		}
	}
	return list
}

// writes names the maker's forms for a person.
func (m *maker) writes(model string) string {
	var list []string
	for _, f := range m.forModel(model) {
		list = append(list, fmt.Sprintf("%s at %s:%d", f.Form.Form, f.File, f.Line))
	}
	return someOf(list, 5)
}

// atWorks is the maker's rows of one works, with those that name none.
func (m *maker) atWorks(works string) *maker {
	key := names.MakerKey(works)
	if key == "" {
		return m
	}
	part := &maker{name: m.name, key: m.key, files: m.files, forms: m.forms}
	for _, r := range m.numbered {
		if own := names.MakerKey(r.Works); own == "" || own == key {
			part.numbered = append(part.numbered, r)
		}
	}
	part.lay()
	return part
}

// unformed reports rows that no form of their maker can have stamped.
func (c *checker) unformed(m *maker) {
	if len(m.forms) == 0 {
		return
	}
	for _, r := range m.rows {
		last := r.First
		if r.Last.Known {
			last = r.Last.N
		}
		fits := func(f *grammar.Form) bool { return f.Holds(r.Prefix, r.First) && f.Holds(r.Prefix, last) }
		if !r.ModelOnly && !slices.ContainsFunc(m.forModel(r.Model), fits) {
			c.add(r, table.AgainstForm,
				"%s is not written as %s wrote its numbers (%s): mend the prefix or the numbers, or add "+
					"the form", strings.TrimSuffix(r.Numbers(), " onwards"), m.name,
				m.writes(r.Model))
		}
	}
}
