// Package orders is what partners ask for: orders and their lines, which head and base is promised to which
// place, and what a machine must be so that a line takes it.
package orders

import "pitman/registry/stock"

// Orders is the room where orders are kept and their places filled.
type Orders struct {
	*stock.Stock
	Config *OrderConfig
	Lists  *Lists
}

// Lists are the house's lists that bear on orders.
type Lists struct {
	Prices func() ([]PurchasePrice, error)
}
