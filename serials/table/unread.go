package table

import "fmt"

// Unread is a table file of which something was left out, since it could not be understood. Whoever answers
// by the tables says so: what the file holds may be the very thing that was asked for.
type Unread struct {
	File  string
	Whole bool  // nothing that the file says counts, or nobody knows how much more it says
	Rows  int   // that were left out
	Why   Fault // the first reason
}

func (u Unread) String() string {
	switch {
	case u.Whole:
		return fmt.Sprintf("the table %s is not read: line %d: %s", u.File, u.Why.Line, u.Why.Message)
	case u.Rows == 1:
		return fmt.Sprintf("the table %s is read without line %d: %s", u.File, u.Why.Line, u.Why.Message)
	}
	return fmt.Sprintf("the table %s is read without %d rows, the first being line %d: %s", u.File, u.Rows,
		u.Why.Line, u.Why.Message)
}

// left says what of a file was left out.
func LeftOut(table *Table, faults []Fault) (Unread, bool) {
	if table != nil && table.withheld == 0 && !table.cut {
		return Unread{}, false
	}
	u := Unread{Whole: table == nil || table.cut || len(table.Rows) == 0}
	if table != nil {
		u.Rows = table.withheld
	}
	for _, f := range faults {
		if f.Kind != UnknownColumn { // a column that is not known keeps no row out
			u.File, u.Why = f.File, f
			break
		}
	}
	return u, true
}
