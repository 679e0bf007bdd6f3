package money_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry/money"
)

// An amount that was read is printed as it is read again, with its currency.
func FuzzParseWith(f *testing.F) {
	for _, seed := range []string{"45", "45,50 eur", "0.005", "-1", "NaN", "0x1p3 USD", "12 pounds", " ", "1e99"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, typed string) {
		amount, currency, err := money.ParseWith("brought", typed, 1_000_000)
		if err != nil {
			require.NotContains(t, err.Error(), "\n")
			return
		}
		require.GreaterOrEqual(t, amount, money.Amount(0))
		again, same, err := money.ParseWith("brought", amount.String()+" "+currency, 1_000_000)
		require.NoError(t, err)
		require.Equal(t, amount, again)
		require.Equal(t, currency, same)
	})
}

// What may part thousands is not guessed at, and no hundredth is rounded away.
func TestAmountsAreReadAsTyped(t *testing.T) {
	for typed, want := range map[string]money.Amount{"0": 0, "45": 4500, "45,5": 4550, "2400.50": 240050,
		".5":      50,
		"1000000": 100_000_000} {
		a, err := money.Parse("freight", typed, 1_000_000)
		require.NoError(t, err, typed)
		assert.Equal(t, want, a, typed)
	}
	for typed, says := range map[string]string{"1,200": "thousands without one", "1200.555": "at most two figures",
		"1.200,50": "is no amount", "-1": "is no amount", "1e5": "is no amount", "0x10": "is no amount",
		"NaN": "is no amount", "": "is no amount", ".": "is no amount", "1000001": "from 0 to 1000000"} {
		_, err := money.Parse("freight", typed, 1_000_000)
		assert.ErrorContains(t, err, says, typed)
	}
}
