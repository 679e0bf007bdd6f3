package reports_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"pitman/registry/reports"
)

// By hand.
func TestDemand(t *testing.T) {
	type demand = reports.Demand
	for _, c := range []struct {
		name  string
		d     demand
		short float64
		start int
	}{
		{"nothing asked", demand{Open: 0, Ready: 0, InHand: 0, Rate: 0.5, More: 0}, 0, 0},
		{"shelf is enough", demand{Open: 10, Ready: 12, InHand: 0, Rate: 0.5, More: 10}, 0, 0},
		{"in hand is enough", demand{Open: 10, Ready: 5, InHand: 10, Rate: 0.5, More: 10}, 0, 0},
		{"in hand is exactly enough", demand{Open: 9, Ready: 0, InHand: 30, Rate: 0.3, More: 9}, 0, 0},
		{"20 − 4 − 10 × 0.8 = 8, so 10 to start", demand{Open: 20, Ready: 4, InHand: 10, Rate: 0.8, More: 20},
			8, 10},
		{"20 − 4 − 9 × 0.8 = 8.8, so 11 to start", demand{Open: 20, Ready: 4, InHand: 9, Rate: 0.8, More: 20},
			8.8, 11},
		{"a spare on the shelf counts against work, not twice",
			demand{Open: 5, Ready: 4, InHand: 1, Rate: 0.5, More: 5}, 0.5, 1},
		{"(3 − 0.3) / 0.3 = 9, which binary fractions put a hair above",
			demand{Open: 3, Ready: 0, InHand: 1, Rate: 0.3, More: 3}, 2.7, 9},
		{"of 20 − 4, 10 lack a base: 6 to be filled", demand{Open: 20, Ready: 4, NoBase: 10, Rate: 0.5}, 16,
			12},
		{"all lack a base", demand{Open: 13, NoBase: 13, Rate: 0}, 13, 0},
		{"of 10 in hand 1 finds a base", demand{Open: 13, InHand: 10, More: 1, NoBase: 12, Rate: 0.5}, 12, 2},
		{"nothing passes", demand{Open: 3, Ready: 0, InHand: 5, Rate: 0, More: 3}, 3, -1},
	} {
		assert.InDelta(t, c.short, c.d.Short(), 1e-9, c.name)
		start, known := c.d.Start()
		assert.Equal(t, []any{max(0, c.start), c.start >= 0}, []any{start, known}, c.name)
	}
}
