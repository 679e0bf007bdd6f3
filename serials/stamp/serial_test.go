package stamp_test

import (
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/serials/stamp"
)

// ParseNumber takes what strconv takes, within its digits and without a sign.
func FuzzParseNumber(f *testing.F) {
	for _, s := range []string{"0", "007", "12345", "+1", "１", "", "18446744073709551616"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		n, ok := stamp.ParseNumber(s)
		want, err := strconv.ParseUint(s, 10, 64)
		if len(s) > stamp.MaxDigits {
			require.False(t, ok, "%q", s)
			return
		}
		require.Equal(t, err == nil, ok, "%q", s)
		require.Equal(t, want, n, "%q", s)
	})
}

func TestOrdinals(t *testing.T) {
	for n, want := range map[int]string{1: "1st", 2: "2nd", 3: "3rd", 4: "4th", 11: "11th", 12: "12th",
		13: "13th", 21: "21st", 22: "22nd"} {
		assert.Equal(t, want, stamp.Ordinal(n))
	}
}
