package exchange

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pitman/registry"
)

func FuzzParseMap(f *testing.F) {
	for _, seed := range []string{"Made by=maker", "Colour=-", "a=b=maker", "=maker", "maker", "#=tag",
		"x=colour"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, pair string) {
		given, err := ParseMap([]string{pair}, ImportFields())
		if err != nil {
			require.Equal(t, registry.Invalid, registry.CodeOf(err))
			return
		}
		require.Len(t, given, 1)
		for column, field := range given {
			require.NoError(t, ColumnName{Column: column, Field: field}.Check())
			require.True(t, strings.HasPrefix(strings.TrimSpace(pair), column))
			again, err := ParseMap([]string{column + "=" + field}, ImportFields())
			require.NoError(t, err)
			require.Equal(t, given, again)
		}
	})
}
