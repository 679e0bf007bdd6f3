package schema

import (
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
)

func FuzzQuoted(f *testing.F) {
	for _, s := range []string{"", "CREATE TABLE shelf (\n\tname TEXT DEFAULT 'K\"1')", `a \ b`, "\r",
		"~\x7f", "caf\u00e9", "\xff", "\u2028\ufeff"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		assert.Equal(t, "shelf "+strconv.Quote(s), string(appendQuoted([]byte("shelf "), s)))
	})
}
