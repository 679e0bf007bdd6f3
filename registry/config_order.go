package registry

import "slices"

// OrderConfig is the [order] section: how orders are filled here.
type OrderConfig struct {
	Currency       string  `toml:"currency"`                // of local purchases, unless an order says another
	VoltsTolerance float64 `toml:"volts_tolerance_percent"` // how far a nameplate may be from the supply

	Declared map[Wanted]float64 `toml:"declared"` // value of one place for the customs, in the order's currency
}

// setOrderDefaults: ± 10 % is how far the mains itself may stray at the socket (EN 50160; from memory).
func (c *Config) setOrderDefaults() {
	c.Order = OrderConfig{Currency: "EUR", VoltsTolerance: 10}
}

func (c Config) validateOrder() error {
	if _, err := ParseCurrency(c.Order.Currency); err != nil {
		return Errorf(Invalid, "[order] %v", err)
	}
	if t := c.Order.VoltsTolerance; !(t >= 0 && t <= 20) {
		return Errorf(Invalid, "volts_tolerance_percent %v in [order] is no tolerance: type percent from 0 to 20", t)
	}
	for kind, value := range c.Order.Declared {
		if !slices.Contains(wantedKinds, kind) || !(value >= 0 && value < 1e6) {
			return Errorf(Invalid, "declared value %v for %q in [order] is none: type a number for treadle-set, hand or electric", value, string(kind))
		}
	}
	return nil
}
