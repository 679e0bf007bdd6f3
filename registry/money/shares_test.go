package money_test

import (
	"math/big"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry/money"
)

// By hand: a hundred parted in three equal shares leaves a hundredth, which the first gets.
func TestSharesAddUp(t *testing.T) {
	assert.Equal(t, []money.Amount{3334, 3333, 3333}, money.Shares(10_000, []int64{1, 1, 1}))
	assert.Equal(t, []money.Amount{0, 1}, money.Shares(1, []int64{1, 2}))
	assert.Equal(t, []money.Amount{0, 0}, money.Shares(500, []int64{0, 0}))
	dice := rand.New(rand.NewPCG(1, 1))
	for range 500 {
		whole := money.Amount(dice.Int64N(1_000_000_000_000))
		weights := make([]int64, 1+dice.IntN(12))
		sum := new(big.Int)
		for i := range weights {
			weights[i] = dice.Int64N(1 << (1 + dice.IntN(50)))
			sum.Add(sum, big.NewInt(weights[i]))
		}
		if sum.Sign() == 0 {
			continue
		}
		total := money.Amount(0)
		for i, share := range money.Shares(whole, weights) {
			total += share
			// share × sum lies within one sum of whole × weight
			off := new(big.Int).Mul(big.NewInt(int64(share)), sum)
			off.Sub(off, new(big.Int).Mul(big.NewInt(int64(whole)), big.NewInt(weights[i])))
			require.Negative(t, off.CmpAbs(sum))
		}
		require.Equal(t, whole, total)
	}
}
