package exchange

import (
	"pitman/registry/intake"
	"pitman/registry/stock"
)

// Exchange is the room through which machines come from sheets and other houses, and go to them.
type Exchange struct {
	*stock.Stock
	Intake *intake.Intake
	Lists  *Lists
}

// Lists are the house's lists that bear on sheets.
type Lists struct {
	Columns func() ([]ColumnName, error)
}
