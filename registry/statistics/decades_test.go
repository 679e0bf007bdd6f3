package statistics_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"pitman/registry/statistics"
)

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
		got, ok := statistics.DecadeOf(c.from, c.to, c.best)
		assert.Equal(t, c.want, got)
		assert.Equal(t, c.ok, ok)
	}
	assert.Equal(t, []statistics.Bar{{Label: "1890s", Count: 2}, {Label: "1900s", Count: 0},
		{Label: "1910s", Count: 1}, {Label: "unknown", Count: 3}},
		statistics.ByDecade([]int{1910, 1890, 1890}, 3))
	assert.Empty(t, statistics.ByDecade(nil, 0))
}
