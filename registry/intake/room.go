// Package intake is how a head or base comes into the records, and how what is known of it is corrected: from
// what a person types to a record with a tag, filled from the house's lists and dated by its tables.
//
// Whoever brings a machine in, by the command line, a form, a sheet or a bundle, ends in Enter, and whoever
// corrects one ends in Correct; so each is filled, dated and asked the gates in one way. A year is only ever
// what the tables say today of what is recorded, which Stale and Redate hold against what stands there.
package intake

import (
	"pitman/registry/stock"
	"pitman/serials"
)

// Intake takes heads and bases in, and corrects what is known of them.
type Intake struct {
	Stock  *stock.Stock
	Tables func() (*serials.Tables, error) // read when something is to be dated, not before
}
