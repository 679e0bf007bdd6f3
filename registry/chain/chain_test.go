package chain_test

import (
	"crypto/sha256"
	"encoding/hex"
	"testing"

	"github.com/stretchr/testify/require"

	"pitman/registry/chain"
)

// The form is written out here by hand, so that another program can be held against it.
func TestLinkIsTheSumOfItsCanonicalForm(t *testing.T) {
	h := chain.New("")
	h.Action(7, "2031-05-04T09:30:00.000Z", "QX", "log", "", 0, "", "")
	h.Change(12, 7, "machine", 3, "PM13S", `{"maker":[null,"Tamarisk"]}`, "")
	sum := sha256.Sum256([]byte("13:house chain 1,0:," +
		"6:action,1:7,24:2031-05-04T09:30:00.000Z,2:QX,3:log,0:,1:0,0:," +
		`6:change,2:12,1:7,7:machine,1:3,5:PM13S,27:{"maker":[null,"Tamarisk"]},` +
		"4:link,1:2,0:,"))
	require.Equal(t, hex.EncodeToString(sum[:]), h.Sum(2, ""))
}

// Texts that are cut elsewhere are another link.
func TestNoTwoRowsLookAlike(t *testing.T) {
	sum := func(verb, why string) string {
		h := chain.New("")
		h.Action(1, "", "QX", verb, why, 0, "", "")
		return h.Sum(1, "")
	}
	seen := map[string]bool{}
	for _, texts := range [][2]string{{"log", ""}, {"", "log"}, {"lo", "g"}, {"log,0:", ""}, {"3:log,", ""}} {
		s := sum(texts[0], texts[1])
		require.False(t, seen[s], texts)
		seen[s] = true
	}
	require.NotEqual(t, chain.New("").Sum(1, ""), chain.New("").Sum(2, ""))
	require.NotEqual(t, chain.New("").Sum(1, ""), chain.New(sum("log", "")).Sum(1, ""))
	require.NotEqual(t, chain.New("").Sum(1, ""), chain.New("").Sum(1, "restored"))
}
