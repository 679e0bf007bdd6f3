// Package bench is the work on a head and its tests: what is done at the bench, the function test by another
// person, and the electrical safety test by a competent one. A test that stands is on the machine; every test
// ever made is a record of its own.
package bench

import (
	"slices"

	"pitman/registry"
	"pitman/registry/stock"
)

// Bench is the room where heads are worked on and tested.
type Bench struct {
	*stock.Stock
	Config *TestConfig
	Lists  *Lists
	// Lacking names the parts that a head was stripped of and its drive needs; the house gives it, since
	// another room knows of spares.
	Lacking func(r stock.Reader, m *stock.Machine) ([]string, error)
	// Retested writes the work anew that its order asks for, once a pass told what the machine has now; the
	// house gives it, since another room knows of orders.
	Retested func(tx stock.Tx, m *stock.Machine) error
}

// Lists are the house's lists of jobs and test points.
type Lists struct {
	Jobs   func() ([]BenchJob, error)
	Points func() ([]TestPoint, error)
}

// TestConfig is the [test] section: how function tests are made here.
type TestConfig struct {
	// SecondPerson lists the drives whose function test is made by another person than every refurbisher.
	SecondPerson []registry.Drive `toml:"second_person"`
	// how far stitch length may stray from the dial
	StitchTolerance float64 `toml:"stitch_tolerance_mm"`
	// built-in points that the house's own list may do without; "all" for any
	WithoutPoints []string `toml:"without_points"`
}

// DefaultConfig is the [test] section of a house that decided nothing yet.
func DefaultConfig() TestConfig {
	return TestConfig{SecondPerson: []registry.Drive{registry.Hand, registry.Treadle, registry.Electric},
		StitchTolerance: 0.3,
		WithoutPoints:   []string{}}
}

// Validate refuses settings that no test could be made by.
func (c TestConfig) Validate() error {
	for _, d := range c.SecondPerson {
		if !slices.Contains(registry.Drives, d) {
			return registry.Errorf(registry.Invalid,
				"second_person %q in [test] is no drive: type hand, treadle or electric", d)
		}
	}
	if t := c.StitchTolerance; !(t >= 0 && t <= 5) {
		return registry.Errorf(registry.Invalid,
			"stitch_tolerance_mm %v in [test] is no tolerance: type millimetres from 0 to 5, such as 0.3", t)
	}
	return nil
}
