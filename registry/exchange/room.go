package exchange

import (
	"pitman/registry/stock"
)

// Exchange is the room through which machines come from sheets and other houses, and go to them.
type Exchange struct {
	*stock.Stock
	Lists *Lists
}

// Lists are the house's lists that bear on sheets.
type Lists struct {
	Columns func() ([]ColumnName, error)
}
