package neighbours_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry/neighbours"
)

// Where one far house does as well as two nearer ones, trying every choice finds it; leaving out one after
// the other does not, which is why that is called no proof.
func TestTheFewestHouses(t *testing.T) {
	letters := func(houses []neighbours.House) (s string) {
		for _, h := range houses {
			s += h.Letters
		}
		return s
	}
	all := []neighbours.House{{Letters: "A"}, {Letters: "B"}, {Letters: "C"}}
	enough := func(houses []neighbours.House) (bool, error) {
		has := letters(houses)
		return has == "C" || has == "AC" || has == "BC" || len(has) >= 2, nil
	}
	fewest, err := neighbours.Fewest(all, enough)
	require.NoError(t, err)
	assert.Equal(t, "C", letters(fewest))
	fewer, err := neighbours.Fewer(all, enough)
	require.NoError(t, err)
	assert.Equal(t, "AB", letters(fewer))

	none, err := neighbours.Fewest(all, func([]neighbours.House) (bool, error) { return true, nil })
	require.NoError(t, err)
	assert.Empty(t, none)
}
