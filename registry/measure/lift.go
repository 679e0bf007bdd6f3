package measure

import (
	"fmt"
)

// The guide figures for lifting close to the body at knuckle height, below which no closer look is asked for.
// Source: Health and Safety Executive, Manual Handling Operations Regulations 1992, guidance L23.
const (
	liftWomen = 16 * Kilogram
	liftMen   = 25 * Kilogram
)

// LiftCaution is the sentence shown where something heavy is met; empty when one person may lift it. Cast
// iron that nobody has weighed counts as heavy.
func LiftCaution(weight Mass, castIron bool) string {
	switch {
	case weight == 0 && castIron:
		return "Weight not known, cast iron: weigh it, and lift it with two. Legs first, never by the " +
			"flywheel or the top."
	case weight > liftMen:
		return fmt.Sprintf("%s: more than one person lifts (guide 25 kg for men, 16 kg for women, held "+
			"close, HSE L23). Two people, a trolley, or take it apart first.", weight)
	case weight > liftWomen:
		return fmt.Sprintf("%s: above the guide of 16 kg for women, below 25 kg for men, held close (HSE "+
			"L23). Two people, or take it apart first.", weight)
	}
	return ""
}
