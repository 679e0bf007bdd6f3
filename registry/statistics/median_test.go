package statistics_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"pitman/registry/statistics"
)

// By hand.
func TestMedian(t *testing.T) {
	_, ok := statistics.Median(nil)
	assert.False(t, ok)
	for _, c := range []struct {
		values []float64
		want   float64
	}{{[]float64{4}, 4}, {[]float64{9, 1, 5}, 5}, {[]float64{4, 1, 3, 2}, 2.5}, {[]float64{1, 1, 100}, 1}} {
		before := append([]float64(nil), c.values...)
		got, ok := statistics.Median(c.values)
		assert.True(t, ok)
		assert.Equal(t, c.want, got)
		assert.Equal(t, before, c.values, "the caller's order stays")
	}
	start := time.Date(2031, 3, 4, 12, 0, 0, 0, time.UTC)
	assert.InDelta(t, 1.5, statistics.DaysBetween(start, start.Add(36*time.Hour)), 1e-9)
}
