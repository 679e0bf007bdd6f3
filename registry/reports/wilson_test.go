package reports

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// Source: R. G. Newcombe, "Two-sided confidence intervals for the single proportion", Statistics in Medicine
// 17 (1998) 857–872, Table I, method 3 (score without continuity correction). 13 of 16: Fagerland, Lydersen
// and Laake, Statistical Analysis of Contingency Tables, chapter 2.
func TestWilsonPublished(t *testing.T) {
	for _, c := range []struct {
		passed, of   int
		lower, upper float64
	}{
		{81, 263, 0.2553, 0.3662},
		{15, 148, 0.0624, 0.1605},
		{0, 20, 0.0000, 0.1611},
		{1, 29, 0.0061, 0.1718},
		{13, 16, 0.5699, 0.9341},
	} {
		lower, upper := wilson(c.passed, c.of)
		assert.InDelta(t, c.lower, lower, 0.00005, "%d of %d", c.passed, c.of)
		assert.InDelta(t, c.upper, upper, 0.00005, "%d of %d", c.passed, c.of)
	}
}

func TestWilsonShape(t *testing.T) {
	lower, upper := wilson(0, 0)
	assert.Equal(t, []float64{0, 1}, []float64{lower, upper})
	for of := 1; of <= 60; of++ {
		before := -1.0
		for passed := 0; passed <= of; passed++ {
			lower, upper := wilson(passed, of)
			share := float64(passed) / float64(of)
			assert.True(t, 0 <= lower && lower <= share && share <= upper && upper <= 1, "%d of %d", passed,
				of)
			assert.Greater(t, lower, before, "one more pass raises the bound")
			before = lower
			mirrored, _ := wilson(of-passed, of)
			assert.InDelta(t, 1-upper, mirrored, 1e-12, "passes and fails are alike")
		}
	}
}

func TestPassRateShowsItsPrior(t *testing.T) {
	fresh := newPassRate(0, 0, PriorPassed, PriorTested)
	lower, _ := wilson(8, 10)
	assert.Equal(t, PassRate{0, 0, 8, 10, lower}, fresh)
	assert.Greater(t, newPassRate(45, 50, PriorPassed, PriorTested).Lower, fresh.Lower)
}

// By hand.
func TestDemand(t *testing.T) {
	for _, c := range []struct {
		name  string
		d     Demand
		short float64
		start int
	}{
		{"nothing asked", Demand{Open: 0, Ready: 0, InHand: 0, Rate: 0.5, More: 0}, 0, 0},
		{"shelf is enough", Demand{Open: 10, Ready: 12, InHand: 0, Rate: 0.5, More: 10}, 0, 0},
		{"in hand is enough", Demand{Open: 10, Ready: 5, InHand: 10, Rate: 0.5, More: 10}, 0, 0},
		{"in hand is exactly enough", Demand{Open: 9, Ready: 0, InHand: 30, Rate: 0.3, More: 9}, 0, 0},
		{"20 − 4 − 10 × 0.8 = 8, so 10 to start", Demand{Open: 20, Ready: 4, InHand: 10, Rate: 0.8, More: 20},
			8, 10},
		{"20 − 4 − 9 × 0.8 = 8.8, so 11 to start", Demand{Open: 20, Ready: 4, InHand: 9, Rate: 0.8, More: 20},
			8.8, 11},
		{"a spare on the shelf counts against work, not twice",
			Demand{Open: 5, Ready: 4, InHand: 1, Rate: 0.5, More: 5}, 0.5, 1},
		{"(3 − 0.3) / 0.3 = 9, which binary fractions put a hair above",
			Demand{Open: 3, Ready: 0, InHand: 1, Rate: 0.3, More: 3}, 2.7, 9},
		{"of 20 − 4, 10 lack a base: 6 to be filled", Demand{Open: 20, Ready: 4, NoBase: 10, Rate: 0.5}, 16,
			12},
		{"all lack a base", Demand{Open: 13, NoBase: 13, Rate: 0}, 13, 0},
		{"of 10 in hand 1 finds a base", Demand{Open: 13, InHand: 10, More: 1, NoBase: 12, Rate: 0.5}, 12, 2},
		{"nothing passes", Demand{Open: 3, Ready: 0, InHand: 5, Rate: 0, More: 3}, 3, -1},
	} {
		assert.InDelta(t, c.short, c.d.Short(), 1e-9, c.name)
		start, known := c.d.Start()
		assert.Equal(t, []any{max(0, c.start), c.start >= 0}, []any{start, known}, c.name)
	}
}
