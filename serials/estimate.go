package serials

import (
	"slices"
	"strconv"

	"pitman/serials/years"
)

// minYear and maxYear bound the years that a table can give.
const minYear, maxYear = years.First, years.Last

// Year is a calendar year; 0 stands for one that is not known and is written as null.
type Year int

// MarshalJSON writes the year, or null when it is not known.
func (y Year) MarshalJSON() ([]byte, error) {
	if y == 0 {
		return []byte("null"), nil
	}
	return strconv.AppendInt(nil, int64(y), 10), nil
}

func (y Year) String() string {
	if y == 0 {
		return ""
	}
	return strconv.Itoa(int(y))
}

// Basis says what an estimate rests on. The package comment tells when each is used.
type Basis string

const (
	Range        Basis = "range"
	Interpolated Basis = "interpolated"
	Between      Basis = "between"
	After        Basis = "after"
	Before       Basis = "before"
	Overlap      Basis = "overlap"
	Pattern      Basis = "pattern"
	Evidence     Basis = "evidence"
	Told         Basis = "told" // a person says so, with a reason
	NoBasis      Basis = "none"
)

// Estimate is the year of a machine as it is stored and listed: made From at the earliest and To at the
// latest.
type Estimate struct {
	From  Year  `json:"from"`
	To    Year  `json:"to"`
	Best  Year  `json:"best"`
	Basis Basis `json:"basis"`
}

// Contradicted says that no year remains: what is known of the machine cannot all be right.
func (e Estimate) Contradicted() bool {
	return e.From == 0 && e.To == 0 && e.Best == 0 && !slices.Contains(OpenBases, e.Basis)
}

// OpenBases are those under which an estimate without any year is unknown, and no contradiction.
var OpenBases = []Basis{"", NoBasis, Pattern}

// span is a stretch of years, both ends included; 0 is an open end.
type span struct{ from, to Year }

// hull is the smallest span that holds both.
func (a span) hull(b span) span {
	a.from = min(a.from, b.from) // an open end is 0, and lower than any year
	if a.to == 0 || b.to == 0 {
		a.to = 0
	} else {
		a.to = max(a.to, b.to)
	}
	return a
}

// meet is what two spans have in common; ok is false when that is nothing.
func (a span) meet(b span) (both span, ok bool) {
	both.from = max(a.from, b.from)
	switch {
	case a.to == 0:
		both.to = b.to
	case b.to == 0:
		both.to = a.to
	default:
		both.to = min(a.to, b.to)
	}
	return both, both.to == 0 || both.from <= both.to
}

// hullOf is the smallest span that holds all of them.
func hullOf(spans []span) span {
	all := spans[0]
	for _, s := range spans[1:] {
		all = all.hull(s)
	}
	return all
}

// meetAll is what all of them have in common.
func meetAll(spans []span) (both span, ok bool) {
	both, ok = spans[0], true
	for _, s := range spans[1:] {
		if both, ok = both.meet(s); !ok {
			return span{}, false
		}
	}
	return both, true
}
