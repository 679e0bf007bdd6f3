package years

import (
	"slices"
	"strconv"
)

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

// Span is a stretch of years, both ends included; 0 is an open end.
type Span struct{ From, To Year }

// Hull is the smallest span that holds both.
func (a Span) Hull(b Span) Span {
	a.From = min(a.From, b.From) // an open end is 0, and lower than any year
	if a.To == 0 || b.To == 0 {
		a.To = 0
	} else {
		a.To = max(a.To, b.To)
	}
	return a
}

// Meet is what two spans have in common; ok is false when that is nothing.
func (a Span) Meet(b Span) (both Span, ok bool) {
	both.From = max(a.From, b.From)
	switch {
	case a.To == 0:
		both.To = b.To
	case b.To == 0:
		both.To = a.To
	default:
		both.To = min(a.To, b.To)
	}
	return both, both.To == 0 || both.From <= both.To
}

// HullOf is the smallest span that holds all of them.
func HullOf(spans []Span) Span {
	all := spans[0]
	for _, s := range spans[1:] {
		all = all.Hull(s)
	}
	return all
}

// MeetAll is what all of them have in common.
func MeetAll(spans []Span) (both Span, ok bool) {
	both, ok = spans[0], true
	for _, s := range spans[1:] {
		if both, ok = both.Meet(s); !ok {
			return Span{}, false
		}
	}
	return both, true
}

// Year is the one way in which an estimate is said: 1901, about 1901, 1897–1899, 1864 or 1865, 1901 or later,
// 1876 or earlier, contradicted, unknown. A range is hard bounds; only "about" rests on likelihood.
func (e Estimate) Year() string { return e.Say(false) }

// Say says the estimate, whose single year may be likely and no more.
func (e Estimate) Say(about bool) string {
	from, to := e.From.String(), e.To.String()
	switch {
	case e.Contradicted():
		return "contradicted"
	case about && e.Best != 0:
		return "about " + e.Best.String()
	case e.From == 0 && e.To == 0:
		return "unknown"
	case e.To == 0:
		return from + " or later"
	case e.From == 0:
		return to + " or earlier"
	case e.From == e.To:
		return from
	case e.Basis == Overlap && e.To == e.From+1:
		return from + " or " + to
	}
	return from + "–" + to
}
