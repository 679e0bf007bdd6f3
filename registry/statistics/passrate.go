// Package statistics is the arithmetic of counts and stays, for reports and plans. It knows no record.
package statistics

import "math"

// PassRate is how many of the machines that leave the bench pass their first function test, by the house's
// own records. It starts from a stated prior, counted as if those tests had been made here, so that a new
// house plans with something and an old one with its own figures.
type PassRate struct {
	Passed      int `json:"passed"`
	Tested      int `json:"tested"`
	PriorPassed int `json:"prior_passed"`
	PriorTested int `json:"prior_tested"`
	// Wilson 95 % lower bound of both together: what the house can count on
	Lower float64 `json:"lower"`
}

// The prior of a new house: 8 of 10 pass (common practice, not published; house.toml can set another).
const (
	PriorPassed = 8
	PriorTested = 10
)

// NewPassRate counts the prior and the house's records together.
func NewPassRate(passed, tested, priorPassed, priorTested int) PassRate {
	lower, _ := Wilson(passed+priorPassed, tested+priorTested)
	return PassRate{passed, tested, priorPassed, priorTested, lower}
}

// z is the 97.5 % point of the normal distribution, so that the interval holds 95 %.
const z = 1.959963984540054

// Wilson returns the 95 % score interval for a proportion, without continuity correction: E. B. Wilson,
// "Probable Inference, the Law of Succession, and Statistical Inference", Journal of the American Statistical
// Association 22 (1927) 209–212. With nothing counted nothing is known: 0 to 1.
func Wilson(passed, of int) (lower, upper float64) {
	if of <= 0 {
		return 0, 1
	}
	passed = min(max(passed, 0), of)
	n := float64(of)
	p := float64(passed) / n
	middle := p + z*z/(2*n)
	half := z * math.Sqrt(p*(1-p)/n+z*z/(4*n*n))
	scale := 1 + z*z/n
	lower, upper = (middle-half)/scale, (middle+half)/scale
	// At the ends the exact value is 0 or 1; rounding must not put it on the wrong side.
	if passed == 0 {
		lower = 0
	}
	if passed == of {
		upper = 1
	}
	return lower, upper
}
