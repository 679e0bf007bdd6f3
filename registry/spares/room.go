// Package spares is what goes from machine to machine and along with one: real parts that are taken off and
// fitted, small things that are counted, what a machine waits for, the kit that goes with it, and the
// conversion to another drive, which moves parts.
package spares

import (
	"pitman/registry/bench"
	"pitman/registry/orders"
	"pitman/registry/stock"
	"pitman/registry/takings"
)

// Spares is the room of the shelves.
type Spares struct {
	*stock.Stock
	Bench  *bench.Bench
	Orders *orders.Orders
	Lists  *Lists

	Takings *takings.Takings
}

// Lists are the house's lists of parts and kits.
type Lists struct {
	Kits  func() ([]KitRow, error)
	Parts func() ([]PartKind, error)
}
