// Package imports takes in the machines of somebody's spreadsheet: what its columns hold, what each row is to
// the house, and all rows or none.
package imports

import (
	"pitman/registry/intake"
	"pitman/registry/stock"
)

// Imports is the room through which machines come from sheets.
type Imports struct {
	*stock.Stock
	Intake *intake.Intake
	Lists  *Lists
	Turns  Turns // the usual ones where it is left out
}

// Lists are the house's lists that bear on sheets.
type Lists struct {
	Columns func() ([]ColumnName, error)
}
