package exchange

import (
	"pitman/registry"
	"pitman/registry/stock"
)

// Exchange is the room through which machines come from sheets and other houses, and go to them.
type Exchange struct {
	*stock.Stock
	Kinds []func() registry.Record // makes an empty record of each kind that is stored
	Lists *Lists
}

// Lists are the house's lists that bear on sheets.
type Lists struct {
	Columns func() ([]ColumnName, error)
}
