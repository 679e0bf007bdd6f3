// Package packing takes what an order was promised to its crate and out of the house: the gates asked once
// more, the crates and the papers that go along, and what those say who got it.
package packing

import (
	"pitman/registry/fit"
	"pitman/registry/orders"
	"pitman/registry/spares"
	"pitman/registry/stock"
)

// Packing is the room where crates are closed.
type Packing struct {
	*stock.Stock
	Orders *orders.Orders
	Spares *spares.Spares
	Config Config
	Lists  *Lists
}

// Config is what of house.toml bears on packing.
type Config struct {
	Crates *CrateConfig
	Fit    *fit.FitConfig
	Belt   *fit.BeltConfig
}

// Lists are the house's lists that bear on crates and papers.
type Lists struct {
	Boards    func() ([]BoardRow, error)
	Countries func() ([]MakerCountry, error)
	Tariff    func() ([]TariffAge, error)
	Gift      func() ([]GiftRow, error)
	Care      func() ([]CareRow, error)
}
