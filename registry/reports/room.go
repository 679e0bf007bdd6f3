// Package reports says how the work stands: what to do next and for whom, what came in and went out in a
// time, and how often a machine passes its first test.
package reports

import (
	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/orders"
	"pitman/registry/packing"
	"pitman/registry/planning"
	"pitman/registry/spares"
	"pitman/registry/statistics"
	"pitman/registry/stock"
)

// Reports is the room that looks at all others.
type Reports struct {
	*stock.Stock
	Bench    *bench.Bench
	Spares   *spares.Spares
	Orders   *orders.Orders
	Packing  *packing.Packing // which weighs what left
	Planning *planning.Planning
	Config   *WorklistConfig
}

// WorklistConfig is the [worklist] section.
type WorklistConfig struct {
	HeldDays    int `toml:"held_days"`    // a machine held for longer shows up for the coordinator
	PriorPassed int `toml:"prior_passed"` // the pass rate that a new house starts from
	PriorTested int `toml:"prior_tested"`

	// How long before its due day an order's work begins: minutes of promised work that a day gets done, and
	// days for packing and the way out.
	DayMinutes int `toml:"day_minutes"`
	PackDays   int `toml:"pack_days"`
	// a centre is asked so many days after a delivery how it came; 0 = never
	ReportBackDays int `toml:"report_back_days"`

	// what each person does; who is not named here may do all that asks for no competent person
	Skills map[string][]string `toml:"skills"`
}

// DefaultConfig (minutes, days: common practice, not published) is the [worklist] section of a house that
// decided nothing yet.
func DefaultConfig() WorklistConfig {
	return WorklistConfig{HeldDays: 14, PriorPassed: statistics.PriorPassed,
		PriorTested: statistics.PriorTested, DayMinutes: 240, PackDays: 3, ReportBackDays: 60}
}

// Validate refuses days and a pass rate that are none.
func (c WorklistConfig) Validate() error {
	if c.HeldDays < 0 || c.PriorTested < 0 || c.PriorPassed < 0 || c.PriorPassed > c.PriorTested {
		return registry.Errorf(registry.Invalid,
			"[worklist] asks for held_days and prior_tested of 0 or more, and prior_passed of at most "+
				"prior_tested: correct them")
	}
	if c.DayMinutes < 1 || c.PackDays < 0 || c.ReportBackDays < 0 {
		return registry.Errorf(registry.Invalid,
			"[worklist] asks for day_minutes of 1 or more, and pack_days and report_back_days of 0 or more: "+
				"correct them")
	}
	for who, skills := range c.Skills {
		if by, err := registry.ParseInitials(who); err != nil || string(by) != who {
			return registry.Errorf(registry.Invalid,
				"skills in [worklist] names %q: type initials in capitals, such as QX", who)
		}
		for _, skill := range skills {
			if _, err := registry.OneOf("skills", skill, Skills); err != nil {
				return registry.Errorf(registry.Invalid, "[worklist] %v", err)
			}
		}
	}
	return nil
}
