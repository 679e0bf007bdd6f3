package registry

import (
	"slices"
	"strings"
	"time"
)

// TestConfig is the [test] section: how function tests are made here.
type TestConfig struct {
	// SecondPerson lists the drives whose function test is made by another person than every refurbisher.
	SecondPerson    []Drive `toml:"second_person"`
	StitchTolerance float64 `toml:"stitch_tolerance_mm"` // how far stitch length may stray from the dial
}

// HeritageConfig is the [heritage] section: which old machines are looked at twice, before what.
type HeritageConfig struct {
	Years int     `toml:"years"`     // age at which a second look is asked; 0 = never
	Asked []Stage `toml:"asked_for"` // ways out for which it is asked
}

// WorklistConfig is the [worklist] section.
type WorklistConfig struct {
	HeldDays    int `toml:"held_days"`    // a machine held for longer shows up for the coordinator
	PriorPassed int `toml:"prior_passed"` // the pass rate that a new house starts from
	PriorTested int `toml:"prior_tested"`
}

func (c *Config) setGateDefaults() {
	c.Test = TestConfig{SecondPerson: []Drive{Hand, Treadle}, StitchTolerance: 0.3}
	c.Safety = SafetyRules{ValidDays: 365}
	c.Heritage = HeritageConfig{Years: 100, Asked: []Stage{Scrapped, Parts, Shipped}}
	c.Worklist = WorklistConfig{HeldDays: 14, PriorPassed: priorPassed, PriorTested: priorTested}
}

// validateGates refuses gate settings that the rules could not work with.
func (c Config) validateGates() error {
	for _, d := range c.Test.SecondPerson {
		if !slices.Contains(Drives, d) {
			return Errorf(Invalid, "second_person %q in [test] is no drive: type hand, treadle or electric", d)
		}
	}
	if t := c.Test.StitchTolerance; !(t >= 0 && t <= 5) {
		return Errorf(Invalid, "stitch_tolerance_mm %v in [test] is no tolerance: type millimetres from 0 to 5, such as 0.3", t)
	}
	for _, s := range c.Heritage.Asked {
		if !slices.Contains([]Stage{Scrapped, Parts, Sold, Shipped}, s) {
			return Errorf(Invalid, "asked_for %q in [heritage] is no way out: type scrapped, parts, sold or shipped", s)
		}
	}
	if c.Heritage.Years < 0 {
		return Errorf(Invalid, "years %d in [heritage] is no age: type years such as 100, or 0 to ask never", c.Heritage.Years)
	}
	for i, by := range c.Safety.Competent {
		parsed, err := ParseInitials(by)
		if err != nil {
			return Errorf(Invalid, "competent in [safety]: %v", err)
		}
		c.Safety.Competent[i] = string(parsed)
	}
	if c.Safety.ValidDays < 0 {
		return Errorf(Invalid, "valid_days %d in [safety] is negative: type days such as 365, or 0 for no end", c.Safety.ValidDays)
	}
	for i, in := range c.Safety.Instruments {
		if in.ID == "" {
			return Errorf(Invalid, "an instrument in [safety] has no id: type id = \"MT1\" or what stands on it")
		}
		if slices.ContainsFunc(c.Safety.Instruments[:i], func(o Instrument) bool { return strings.EqualFold(o.ID, in.ID) }) {
			return Errorf(Invalid, "instrument %s in [safety] stands twice, and only one of its dates can be right: take one out", in.ID)
		}
		for _, day := range []string{in.Calibrated, in.Due} {
			if _, err := time.Parse(time.DateOnly, day); day != "" && err != nil {
				return Errorf(Invalid, "instrument %s in [safety] has the date %q: type it as 2026-03-31", in.ID, day)
			}
		}
		if in.Calibrated == "" {
			return Errorf(Invalid, "instrument %s in [safety] has no calibration date: type calibrated = \"2026-03-31\"", in.ID)
		}
	}
	if _, err := c.Safety.Limits.Tightened(); err != nil {
		return err
	}
	if wl := c.Worklist; wl.HeldDays < 0 || wl.PriorTested < 0 || wl.PriorPassed < 0 || wl.PriorPassed > wl.PriorTested {
		return Errorf(Invalid, "[worklist] asks for held_days and prior_tested of 0 or more, and prior_passed of at most prior_tested: correct them")
	}
	return nil
}
