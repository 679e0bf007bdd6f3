package statistics_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"pitman/registry/statistics"
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
		lower, upper := statistics.Wilson(c.passed, c.of)
		assert.InDelta(t, c.lower, lower, 0.00005, "%d of %d", c.passed, c.of)
		assert.InDelta(t, c.upper, upper, 0.00005, "%d of %d", c.passed, c.of)
	}
}

func TestWilsonShape(t *testing.T) {
	lower, upper := statistics.Wilson(0, 0)
	assert.Equal(t, []float64{0, 1}, []float64{lower, upper})
	for of := 1; of <= 60; of++ {
		before := -1.0
		for passed := 0; passed <= of; passed++ {
			lower, upper := statistics.Wilson(passed, of)
			share := float64(passed) / float64(of)
			assert.True(t, 0 <= lower && lower <= share && share <= upper && upper <= 1, "%d of %d", passed,
				of)
			assert.Greater(t, lower, before, "one more pass raises the bound")
			before = lower
			mirrored, _ := statistics.Wilson(of-passed, of)
			assert.InDelta(t, 1-upper, mirrored, 1e-12, "passes and fails are alike")
		}
	}
}

func TestPassRateShowsItsPrior(t *testing.T) {
	fresh := statistics.NewPassRate(0, 0, statistics.PriorPassed, statistics.PriorTested)
	lower, _ := statistics.Wilson(8, 10)
	assert.Equal(t, statistics.PassRate{PriorPassed: 8, PriorTested: 10, Lower: lower}, fresh)
	seasoned := statistics.NewPassRate(45, 50, statistics.PriorPassed, statistics.PriorTested)
	assert.Greater(t, seasoned.Lower, fresh.Lower)
}
