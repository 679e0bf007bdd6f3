package electrical

import (
	"strings"

	"pitman/registry"
)

// extraLowVolts is the most that class III runs on, a.c. Source: IEC 61140, extra-low voltage (from memory).
const extraLowVolts = 50

// extraLow judges a class III machine: nothing on it is above 50 V a.c., so there is neither earth nor
// leakage to measure. What takes the mains is its adapter, which is looked at like a plug.
func (r SafetyResult) extraLow() (SafetyResult, error) {
	f := r.Form
	for _, reading := range f.readings() {
		return SafetyResult{}, registry.Errorf(registry.Conflict,
			"%s is not accepted: class III is not measured so, leave it out, or type class I or II if it "+
				"takes the mains itself", reading).On(reading)
	}
	volts := r.Nameplate.Volts
	if f.Adapter == "fail" {
		r.Hold = "adapter failed its look"
		return r, nil
	}
	if len(volts) == 0 {
		return SafetyResult{}, registry.Errorf(registry.Invalid,
			"volts are missing for class III: type what its plate says, at most %d V a.c.", extraLowVolts).
			On("volts")
	}
	for _, v := range volts {
		if v.High > extraLowVolts {
			return SafetyResult{}, registry.Errorf(registry.Conflict,
				"class III runs on at most %d V a.c., and the plate says %s V: type class I or II",
				extraLowVolts,
				volts).On("class")
		}
	}
	if f.Adapter == "" {
		return SafetyResult{}, registry.Errorf(registry.Invalid,
			"adapter is missing for class III: look at it (its case and cord whole, two squares on its "+
				"plate, its output what the machine takes), and type pass or fail").On("adapter")
	}
	r.Pass = true
	r.Notes = append(r.Notes, "class III by its plate of "+strings.TrimSpace(volts.String())+
		" V: what takes the mains is its adapter, which goes with it")
	return r, nil
}
