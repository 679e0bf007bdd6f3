package orders

import (
	"slices"

	"pitman/registry"
	"pitman/registry/money"
)

// OrderConfig is the [order] section: how orders are filled here.
type OrderConfig struct {
	// of local purchases, unless an order says another
	Currency       string  `toml:"currency"`
	VoltsTolerance float64 `toml:"volts_tolerance_percent"` // how far a nameplate may be from the supply

	// each set is tried on its base before it is packed, not only those that needed work
	TryEverySet bool `toml:"try_every_set"`

	// value of one place for the customs, in this currency
	Declared map[Wanted]float64 `toml:"declared"`
}

// DefaultConfig: ± 10 % is how far a public mains may stray at the house's supply terminals for 95 % of a
// week (EN 50160). Wiring takes some of it on the way to the socket, and off-grid supplies promise nothing.
func DefaultConfig() OrderConfig {
	return OrderConfig{Currency: "EUR", VoltsTolerance: 10}
}

// Validate refuses settings that no order could be filled by.
func (c OrderConfig) Validate() error {
	if _, err := money.ParseCurrency(c.Currency); err != nil {
		return registry.Errorf(registry.Invalid, "[order] %v", err)
	}
	if t := c.VoltsTolerance; !(t >= 0 && t <= 20) {
		return registry.Errorf(registry.Invalid,
			"volts_tolerance_percent %v in [order] is no tolerance: type percent from 0 to 20", t)
	}
	for kind, value := range c.Declared {
		if !slices.Contains(WantedKinds, kind) || !(value >= 0 && value < 1e6) {
			return registry.Errorf(registry.Invalid,
				"declared value %v for %q in [order] is none: type a number for treadle-set, hand or "+
					"electric",
				value, string(kind))
		}
	}
	return nil
}
