package money

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// An amount that was read is printed as it is read again, with its currency.
func FuzzParseWith(f *testing.F) {
	for _, seed := range []string{"45", "45,50 eur", "0.005", "-1", "NaN", "0x1p3 USD", "12 pounds", " ", "1e99"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, typed string) {
		amount, currency, err := ParseWith("brought", typed, 1_000_000)
		if err != nil {
			require.NotContains(t, err.Error(), "\n")
			return
		}
		require.GreaterOrEqual(t, amount, Amount(0))
		again, same, err := ParseWith("brought", amount.String()+" "+currency, 1_000_000)
		require.NoError(t, err)
		require.Equal(t, amount, again)
		require.Equal(t, currency, same)
	})
}
