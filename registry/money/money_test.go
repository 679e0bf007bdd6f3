package money

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
)

// Shares add up to the cent, and none is a cent or more from its exact due.
func TestSharesAddUp(t *testing.T) {
	dice := rand.New(rand.NewPCG(14, 1))
	for range 2000 {
		weights := make([]float64, 1+dice.IntN(9))
		total := 0.0
		for i := range weights {
			weights[i] = float64(dice.IntN(4)) * dice.Float64()
			total += weights[i]
		}
		sum, whole := Amount(dice.IntN(1_000_000)), Amount(0)
		for i, part := range Share(sum, weights) {
			whole += part
			if total > 0 {
				assert.InDelta(t, float64(sum)*weights[i]/total, float64(part), 1.0)
			}
		}
		assert.Equal(t, sum, whole, "%v by %v", sum, weights)
	}
	assert.Equal(t, []Amount{34, 33, 33}, Share(100, []float64{1, 1, 1}))
	assert.Equal(t, []Amount{51, 50}, Share(101, []float64{0, 0}), "no weights: alike")
}

func TestAmountsAreRead(t *testing.T) {
	for typed, want := range map[string]Amount{"120": 12_000, " 89.50": 8950, "89,5": 8950, "0": 0} {
		got, err := Parse("freight", typed)
		assert.NoError(t, err, typed)
		assert.Equal(t, want, got, typed)
	}
	for _, typed := range []string{"", "-1", "1 000", "1.005", "1e3", "NaN", "9999999999"} {
		_, err := Parse("freight", typed)
		assert.ErrorContains(t, err, "freight", typed)
	}
}
