package hash

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var cheap = Cost{Passes: 1, MemoryKiB: 8, Lanes: 1}

func TestMatches(t *testing.T) {
	kept := cheap.Hash("482911").String()
	assert.True(t, Matches(kept, "482911"))
	assert.False(t, Matches(kept, "482912"))
	assert.NotEqual(t, kept, cheap.Hash("482911").String(), "each has a salt of its own")
	for name, damaged := range map[string]string{
		"nothing": "", "a byte less": kept[:len(kept)-1],
		"another way":                         strings.Replace(kept, "argon2id", "argon2i", 1),
		"a version of which nothing is known": strings.Replace(kept, "v=19", "v=18", 1),
		"more memory than there is":           strings.Replace(kept, "m=8", "m=4294967295", 1),
		"no pass":                             strings.Replace(kept, "t=1", "t=0", 1),
		"no lane":                             strings.Replace(kept, "p=1", "p=0", 1),
		"an hour":                             strings.Replace(kept, "t=1", "t=4000000", 1),
		"more behind it":                      kept + "$",
		"a plus":                              strings.Replace(kept, "m=8", "m=+8", 1),
		"zeros":                               strings.Replace(kept, "m=8", "m=008", 1),
	} {
		assert.NotEqual(t, kept, damaged, name)
		assert.False(t, Matches(damaged, "482911"), name)
	}
}

// The lines are what the reference implementation (libargon2 20171227, argon2id_hash_encoded) makes of this
// PIN and salt: a house's PINs can be checked by any other program that knows argon2.
func TestKeptAsTheReferenceImplementationDoes(t *testing.T) {
	assert.Equal(t, Cost{3, 65536, 4}, Usual, "RFC 9106, section 4, second recommended option")
	for _, line := range []string{
		"$argon2id$v=19$m=8,t=1,p=1$YSBzYWx0LCAxNiBieXRlcw$Rsh4gSCVctMTW9fFfOOdCVituOSMjblS8d49wp6Gmxo",
		"$argon2id$v=19$m=64,t=3,p=4$YSBzYWx0LCAxNiBieXRlcw$6RXans8j/qrOGqUL5hx9Y7OdwoVQ6zNirkDLkmFUH/c",
	} {
		assert.True(t, Matches(line, "482911"))
		assert.False(t, Matches(line, "482912"))
	}
}

// A file that anybody may have written costs no more than the dearest PIN, and is read as it is written.
func FuzzParse(f *testing.F) {
	f.Add(cheap.Hash("482911").String())
	f.Add("$argon2id$v=19$m=65536,t=3,p=4$AAAAAAAAAAAAAAAAAAAAAA$")
	f.Fuzz(func(t *testing.T, kept string) {
		h, ok := parse(kept)
		if ok {
			require.Equal(t, kept, h.String())
			require.LessOrEqual(t, h.MemoryKiB, dearest.MemoryKiB)
			require.LessOrEqual(t, h.Passes, dearest.Passes)
		}
	})
}
