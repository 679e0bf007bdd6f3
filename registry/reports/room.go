// Package reports says how the work stands: what to do next and for whom, what came in and went out in a
// time, and how often a machine passes its first test.
package reports

import (
	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/orders"
	"pitman/registry/spares"
	"pitman/registry/stock"
)

// Reports is the room that looks at all others.
type Reports struct {
	*stock.Stock
	Bench  *bench.Bench
	Spares *spares.Spares
	Orders *orders.Orders
	Config *WorklistConfig
}

// WorklistConfig is the [worklist] section.
type WorklistConfig struct {
	HeldDays    int `toml:"held_days"`    // a machine held for longer shows up for the coordinator
	PriorPassed int `toml:"prior_passed"` // the pass rate that a new house starts from
	PriorTested int `toml:"prior_tested"`
}

// DefaultConfig is the [worklist] section of a house that decided nothing yet.
func DefaultConfig() WorklistConfig {
	return WorklistConfig{HeldDays: 14, PriorPassed: PriorPassed, PriorTested: PriorTested}
}

// Validate refuses days and a pass rate that are none.
func (c WorklistConfig) Validate() error {
	if c.HeldDays < 0 || c.PriorTested < 0 || c.PriorPassed < 0 || c.PriorPassed > c.PriorTested {
		return registry.Errorf(registry.Invalid,
			"[worklist] asks for held_days and prior_tested of 0 or more, and prior_passed of at most "+
				"prior_tested: correct them")
	}
	return nil
}
