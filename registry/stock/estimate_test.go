package stock

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestSameEstimate(t *testing.T) {
	y := func(n int) *int { return &n }
	e := Estimate{From: y(1900), To: y(1904), Best: y(1902), Basis: "interpolated"}
	assert.True(t, e.Same(Estimate{From: y(1900), To: y(1904), Best: y(1902), Basis: "interpolated"}))
	assert.True(t, Estimate{Basis: "none"}.Same(Estimate{Basis: "none"}))
	for what, other := range map[string]Estimate{
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
