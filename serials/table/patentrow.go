package table

import (
	"strings"

	"pitman/serials/stamp"
	"pitman/serials/years"
)

// PatentRow is a row of a table of patents: the office's first number of a year, or one number whose year is
// known.
type PatentRow struct {
	Office string // US, German, British
	Kind   string // utility, design, reissue
	Year   years.Year
	N      uint64
	Single bool // one dated patent; otherwise the first number of the year
	File   string
	Line   int
}

// The offices and kinds that a number can be told to be of.
var (
	offices = map[string]bool{"US": true, "German": true, "British": true}
	Kinds   = map[string]string{"utility": "", "design": "D", "reissue": "RE"}
)

func patentRow(p *reader, line int, f []string) {
	r := PatentRow{Office: f[0], Kind: strings.ToLower(f[1]), File: p.table.Name, Line: line}
	for name := range offices {
		if strings.EqualFold(name, f[0]) {
			r.Office = name
		}
	}
	var ok bool
	switch _, known := Kinds[r.Kind]; {
	case !offices[r.Office]:
		p.fault(line, Missing, "office %s is not known: type US, German or British", stamp.Quoted(f[0]))
		return
	case !known:
		p.fault(line, Missing, "kind %s is not known: type utility, design or reissue", stamp.Quoted(f[1]))
		return
	}
	if r.Year, ok = Year(f[2]); !ok {
		p.fault(line, BadYear, "year %s is not a year: type four digits, %d to %d", stamp.Quoted(f[2]),
			years.First,
			years.Last)
		return
	}
	typed, column := f[3], "first"
	if typed == "" {
		typed, column, r.Single = f[4], "number", true
	}
	if r.N, ok = stamp.ParseNumber(typed); !ok {
		p.fault(line, BadNumber,
			"%s %s is not a number: type the first number of the year under first, or a single patent "+
				"under number",
			column, stamp.Quoted(typed))
		return
	}
	p.table.Patents = append(p.table.Patents, r)
}

// patentMaker is the name under which patent numbers stand in the tables.
const PatentMaker = "US patent"
