package serials

import "strconv"

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
	NoBasis      Basis = "none"
)

// Estimate is the year of a machine as it is stored and listed: made From at the earliest and To at the latest.
type Estimate struct {
	From  Year  `json:"from"`
	To    Year  `json:"to"`
	Best  Year  `json:"best"`
	Basis Basis `json:"basis"`
}

// Year is the estimate in a few plain words, for labels and lists.
func (e Estimate) Year() string {
	switch {
	case e.From == 0 && e.To == 0:
		return "year unknown"
	case e.To == 0:
		return "after " + e.From.String() // the words of a label; date itself says "not before", which is exact
	case e.From == 0:
		return "before " + e.To.String()
	case e.From == e.To:
		return e.From.String()
	case e.Basis == Overlap && e.To == e.From+1:
		return e.From.String() + " or " + e.To.String()
	}
	return e.From.String() + "–" + e.To.String()
}

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
