package electrical

import (
	"errors"
	"fmt"
	"time"

	"pitman/registry"
)

// judgedBy numbers the rules of this package: it goes up when a form that passed before would pass no longer,
// so that each house looks at its passes again.
const judgedBy = 1

// Mark is by what a house judges: it changes with the program's rules and with the house's limits.
func (rules SafetyRules) Mark() (string, error) {
	limits, err := rules.Limits.Tightened()
	return fmt.Sprintf("rules %d, limits %+v", judgedBy, limits), err
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
