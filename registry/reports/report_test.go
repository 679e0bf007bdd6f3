package reports

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"pitman/registry/planning"
)

// By hand.
func TestMedian(t *testing.T) {
	_, ok := planning.Median(nil)
	assert.False(t, ok)
	for _, c := range []struct {
		values []float64
		want   float64
	}{{[]float64{4}, 4}, {[]float64{9, 1, 5}, 5}, {[]float64{4, 1, 3, 2}, 2.5}, {[]float64{1, 1, 100}, 1}} {
		before := append([]float64(nil), c.values...)
		got, ok := planning.Median(c.values)
		assert.True(t, ok)
		assert.Equal(t, c.want, got)
		assert.Equal(t, before, c.values, "the caller's order stays")
	}
	start := time.Date(2031, 3, 4, 12, 0, 0, 0, time.UTC)
	assert.InDelta(t, 1.5, planning.DaysBetween(start, start.Add(36*time.Hour)), 1e-9)
}

func TestDecades(t *testing.T) {
	year := func(y int) *int { return &y }
	for _, c := range []struct {
		from, to, best *int
		want           int
		ok             bool
	}{
		{year(1921), year(1925), year(1923), 1920, true},
		{year(1921), year(1929), nil, 1920, true},
		{year(1919), year(1920), nil, 0, false},
		{year(1919), year(1920), year(1920), 1920, true},
		{year(1876), nil, nil, 0, false},
		{nil, nil, nil, 0, false},
	} {
		got, ok := decadeOf(c.from, c.to, c.best)
		assert.Equal(t, c.want, got)
		assert.Equal(t, c.ok, ok)
	}
	assert.Equal(t, []Bar{{"1890s", 2}, {"1900s", 0}, {"1910s", 1}, {yearUnknown, 3}},
		byDecade([]int{1910, 1890, 1890}, 3))
	assert.Empty(t, byDecade(nil, 0))
}
