package stamp

import (
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
)

// ParseNumber takes what strconv takes, within its digits and without a sign.
func FuzzParseNumber(f *testing.F) {
	for _, s := range []string{"0", "007", "12345", "+1", "１", "", "18446744073709551616"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		n, ok := ParseNumber(s)
		want, err := strconv.ParseUint(s, 10, 64)
		if len(s) > MaxDigits {
			require.False(t, ok, "%q", s)
			return
		}
		require.Equal(t, err == nil, ok, "%q", s)
		require.Equal(t, want, n, "%q", s)
	})
}
