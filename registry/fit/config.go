package fit

import "pitman/registry"

// FitConfig is the [fit] section: what may differ between a head and a base, and what work the house offers
// where more does.
type FitConfig struct {
	Pins         float64 `toml:"pins_mm"`
	ClearanceMin float64 `toml:"opening_clearance_min_mm"`
	ClearanceMax float64 `toml:"opening_clearance_max_mm"`
	PackingMax   float64 `toml:"packing_max_mm"` // 0 = not offered
	DrillMax     float64 `toml:"drill_max_mm"`   // 0 = not offered

	SwapWheelMinutes int `toml:"swap_wheel_minutes"`
	PackingMinutes   int `toml:"packing_minutes"`
	DrillMinutes     int `toml:"drill_minutes"`
	NewTopMinutes    int `toml:"new_top_minutes"`
}

// BeltConfig is the [belt] section.
type BeltConfig struct {
	Section float64 `toml:"section_mm"` // diameter of the round belt in stock
	// added to the cut length for the joint; negative for leather that stretches
	Joint float64 `toml:"joint_mm"`
}

// DefaultConfig holds figures of common practice, not of any standard.
func DefaultConfig() (FitConfig, BeltConfig) {
	return FitConfig{Pins: 1, ClearanceMin: 1, ClearanceMax: 6, SwapWheelMinutes: 30, PackingMinutes: 20,
		DrillMinutes: 30, NewTopMinutes: 180}, BeltConfig{Section: 5}
}

// CheckConfig refuses figures that no head and base could be judged by.
func CheckConfig(fit FitConfig, belt BeltConfig) error {
	for _, s := range []struct {
		name      string
		value     float64
		low, high float64
	}{
		{"pins_mm in [fit]", fit.Pins, 0, 50},
		{"opening_clearance_min_mm in [fit]", fit.ClearanceMin, 0, 100},
		{"opening_clearance_max_mm in [fit]", fit.ClearanceMax, 0, 100},
		{"packing_max_mm in [fit]", fit.PackingMax, 0, 200},
		{"drill_max_mm in [fit]", fit.DrillMax, 0, 200},
		{"section_mm in [belt]", belt.Section, 1, 20},
		{"joint_mm in [belt]", belt.Joint, -200, 200},
	} {
		if !(s.value >= s.low && s.value <= s.high) { // so that no NaN passes
			return registry.Errorf(registry.Invalid, "%s is %v: type millimetres from %v to %v", s.name,
				s.value, s.low, s.high)
		}
	}
	if fit.ClearanceMin > fit.ClearanceMax {
		return registry.Errorf(registry.Invalid,
			"opening_clearance_min_mm %v in [fit] is above opening_clearance_max_mm %v: swap them",
			fit.ClearanceMin, fit.ClearanceMax)
	}
	for _, m := range []struct {
		name  string
		value int
	}{
		{"swap_wheel_minutes", fit.SwapWheelMinutes}, {"packing_minutes", fit.PackingMinutes},
		{"drill_minutes", fit.DrillMinutes}, {"new_top_minutes", fit.NewTopMinutes},
	} {
		if m.value < 0 || m.value > 100_000 {
			return registry.Errorf(registry.Invalid,
				"%s %d in [fit] is no time: type minutes from 0 to 100000", m.name, m.value)
		}
	}
	return nil
}
