package electrical

import (
	"errors"
	"fmt"
	"slices"
	"time"

	"pitman/registry"
)

// judgedBy numbers the rules of this package: it goes up when a form that passed before would pass no longer,
// so that each house looks at its passes again.
const judgedBy = 3

// Mark is by what a house judges: it changes with the program's rules, with the house's limits and with the
// houses whose passes count.
func (rules SafetyRules) Mark() (string, error) {
	limits, err := rules.Limits.Tightened()
	mark := fmt.Sprintf("rules %d, limits %+v", judgedBy, limits)
	if len(rules.PassesFrom) > 0 {
		mark += fmt.Sprintf(", passes of %v", slices.Sorted(slices.Values(rules.PassesFrom)))
	}
	return mark, err
}

// Outdated says why a form that was recorded as a pass would be none today, or nothing. The instrument is one
// of its day, and is not asked about.
func (rules SafetyRules) Outdated(form SafetyForm, plate Nameplate) string {
	rules.Instruments = nil
	result, err := rules.Judge(form, plate, time.Time{})
	var refused *registry.Error
	switch {
	case errors.As(err, &refused):
		return refused.Message
	case err != nil:
		return err.Error()
	}
	return result.Hold
}
