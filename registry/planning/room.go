package planning

import (
	"pitman/registry/fit"
	"pitman/registry/neighbours"
	"pitman/registry/orders"
	"pitman/registry/spares"
	"pitman/registry/stock"
)

// Planning is the room where stock is held against orders.
type Planning struct {
	*stock.Stock
	Orders *orders.Orders
	Spares *spares.Spares
	// what stands in other houses
	Neighbours *neighbours.Neighbours
	Config     Config
}

// Config is what of house.toml bears on planning.
type Config struct {
	Fit  *fit.FitConfig
	Belt *fit.BeltConfig
}
