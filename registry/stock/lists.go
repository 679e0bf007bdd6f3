package stock

import (
	"slices"
	"strings"

	"pitman/registry"
)

// Reason is one line of the pick-list for --why, from reasons.csv.
type Reason struct {
	Way string `csv:"way" json:"way"` // refurbish, parts, sale, scrap or hold
	Why string `csv:"why" json:"why"`
}

var reasonWays = []string{"refurbish", "parts", "sale", "scrap", "hold"}

func (r Reason) Key() string { return r.Way + " " + strings.ToLower(r.Why) }

// Check says what is wrong with the row.
func (r Reason) Check() error {
	if !slices.Contains(reasonWays, r.Way) {
		return registry.Errorf(registry.Invalid, "way %q is not known: type one of %s", r.Way,
			strings.Join(reasonWays, ", "))
	}
	if r.Why == "" {
		return registry.Errorf(registry.Invalid, "why is empty: type the reason")
	}
	return nil
}
