package orders

import (
	"slices"

	"pitman/registry"
	"pitman/registry/money"
)

// PurchasePrice is one row of purchase.csv: what a machine costs where orders go, for what stock cannot fill.
type PurchasePrice struct {
	Wanted   Wanted  `csv:"kind" json:"kind"`
	Currency string  `csv:"currency" json:"currency"`
	Price    float64 `csv:"price" json:"price"`
}

// Key keeps one price for each kind and currency.
func (p PurchasePrice) Key() string { return string(p.Wanted) + " in " + p.Currency }

// Check says what is wrong with the row.
func (p PurchasePrice) Check() error {
	if !slices.Contains(WantedKinds, p.Wanted) {
		return registry.Errorf(registry.Invalid, "kind %q is not known: type treadle-set, hand or electric",
			string(p.Wanted))
	}
	if code, err := money.ParseCurrency(p.Currency); err != nil || code != p.Currency {
		return registry.Errorf(registry.Invalid,
			"currency %q is not a code: type its three capitals, such as EUR", p.Currency)
	}
	if !(p.Price >= 0 && p.Price < 1e9) {
		return registry.Errorf(registry.Invalid, "price %v is no price: type a number such as 120 or 89.50",
			p.Price)
	}
	return nil
}
