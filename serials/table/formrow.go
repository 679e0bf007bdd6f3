package table

import (
	"slices"
	"strconv"
	"strings"
	"time"

	"pitman/serials/names"
	"pitman/serials/stamp"
	"pitman/serials/years"
)

// Form is a row of a table of forms: how a maker's serial numbers are written.
type Form struct {
	Maker, Model string
	Form         string // what stands where: package grammar says how
	Values       []Value
	KeepsCase    bool       // a small letter is another than its capital
	From, To     years.Year // when numbers of this form were stamped; unknown: open
	Source, Note string
	File         string
	Line         int
}

// Value is what a letter or figure of a form spells: one of the three.
type Value struct {
	Written string
	Year    years.Year
	Month   int
	Works   string
}

func formRow(p *reader, line int, f []string) {
	r := Form{Maker: f[0], Form: f[1], Model: f[3], Source: f[7], Note: f[8], File: p.table.Name, Line: line}
	if names.MakerKey(r.Maker) == "" || r.Form == "" {
		p.fault(line, Missing, "maker or form is empty: type the maker's name, and how its numbers are "+
			"written, such as aannnnnn")
		return
	}
	var ok bool
	if r.Values, ok = p.values(line, f[2]); !ok {
		return
	}
	switch strings.ToLower(f[4]) {
	case "", "no":
	case "kept", "yes":
		r.KeepsCase = true
	default:
		p.fault(line, Missing, "case %s is not known: type kept where a small letter is another than its "+
			"capital, or leave it empty", stamp.Quoted(f[4]))
		return
	}
	s, ok := p.span(line, f[5], f[6])
	if !ok && (f[5] != "" || f[6] != "") {
		return
	}
	r.From, r.To = s.From, s.To
	p.table.Forms = append(p.table.Forms, r)
}

// values reads what letters spell: A=1920; B=1921; N=North works.
func (p *reader) values(line int, typed string) (out []Value, ok bool) {
	for _, one := range strings.FieldsFunc(typed, func(r rune) bool { return r == ';' || r == ',' }) {
		if one = strings.TrimSpace(one); one == "" {
			continue
		}
		written, means, two := strings.Cut(one, "=")
		written, means = strings.TrimSpace(written), strings.TrimSpace(means)
		if !two || written == "" || means == "" {
			p.fault(line, Missing, "value %s is not read: type what is stamped, = and what it spells, such "+
				"as A=1920; B=1921", stamp.Quoted(one))
			return nil, false
		}
		out = append(out, valueOf(written, means))
	}
	return out, true
}

func valueOf(written, means string) Value {
	if y, ok := Year(means); ok {
		return Value{Written: written, Year: y}
	}
	if n, err := strconv.Atoi(means); err == nil && 1 <= n && n <= 12 {
		return Value{Written: written, Month: n}
	}
	months := []string{}
	for m := time.January; m <= time.December; m++ {
		months = append(months, strings.ToLower(m.String()))
	}
	if i := slices.Index(months, strings.ToLower(means)); i >= 0 {
		return Value{Written: written, Month: i + 1}
	}
	return Value{Written: written, Works: means}
}
