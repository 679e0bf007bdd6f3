package electrical

import (
	"encoding/hex"
	"slices"
	"strings"
	"time"

	"pitman/registry"
)

// DefaultRules is the [safety] section of a house that decided nothing yet.
func DefaultRules() SafetyRules { return SafetyRules{ValidDays: 365, NotElectrical: []string{}} }

// Validate refuses rules that no test could be made by, and writes the initials of competent people as they
// are kept.
func (rules SafetyRules) Validate() error {
	if err := registry.ParsePeople("competent in [safety]", rules.Competent); err != nil {
		return err
	}
	for i, text := range rules.PassesFrom {
		key, err := registry.KeyOf(text)
		if err != nil {
			return registry.Errorf(registry.Invalid, "passes_from in [safety]: %v", err)
		}
		rules.PassesFrom[i] = hex.EncodeToString(key)
	}
	if rules.ValidDays < 0 {
		return registry.Errorf(registry.Invalid,
			"valid_days %d in [safety] is negative: type days such as 365, or 0 for no end", rules.ValidDays)
	}
	for i, in := range rules.Instruments {
		if in.ID == "" {
			return registry.Errorf(registry.Invalid,
				"an instrument in [safety] has no id: type id = \"MT1\" or what stands on it")
		}
		same := func(o Instrument) bool { return strings.EqualFold(o.ID, in.ID) }
		if slices.ContainsFunc(rules.Instruments[:i], same) {
			return registry.Errorf(registry.Invalid,
				"instrument %s in [safety] stands twice, and only one of its dates can be right: "+
					"take one out",
				in.ID)
		}
		for _, day := range []string{in.Calibrated, in.Due} {
			if _, err := time.Parse(time.DateOnly, day); day != "" && err != nil {
				return registry.Errorf(registry.Invalid,
					"instrument %s in [safety] has the date %q: type it as 2026-03-31", in.ID, day)
			}
		}
		if in.Calibrated == "" {
			return registry.Errorf(registry.Invalid,
				"instrument %s in [safety] has no calibration date: type calibrated = \"2026-03-31\"", in.ID)
		}
	}
	_, err := rules.Limits.Tightened()
	return err
}
