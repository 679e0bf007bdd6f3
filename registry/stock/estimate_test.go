package stock_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"pitman/registry/stock"
)

func TestSameEstimate(t *testing.T) {
	y := func(n int) *int { return &n }
	e := stock.Estimate{From: y(1900), To: y(1904), Best: y(1902), Basis: "interpolated"}
	assert.True(t, e.Same(stock.Estimate{From: y(1900), To: y(1904), Best: y(1902), Basis: "interpolated"}))
	assert.True(t, stock.Estimate{Basis: "none"}.Same(stock.Estimate{Basis: "none"}))
	for what, other := range map[string]stock.Estimate{
		"from":       {From: y(1901), To: y(1904), Best: y(1902), Basis: "interpolated"},
		"to":         {From: y(1900), To: y(1905), Best: y(1902), Basis: "interpolated"},
		"best":       {From: y(1900), To: y(1904), Best: y(1903), Basis: "interpolated"},
		"no best":    {From: y(1900), To: y(1904), Basis: "interpolated"},
		"open end":   {From: y(1900), Best: y(1902), Basis: "interpolated"},
		"open start": {To: y(1904), Best: y(1902), Basis: "interpolated"},
		"basis":      {From: y(1900), To: y(1904), Best: y(1902), Basis: "range"},
	} {
		assert.False(t, e.Same(other), what)
		assert.False(t, other.Same(e), what)
	}
}
