package imports_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/imports"
)

func FuzzParseMap(f *testing.F) {
	for _, seed := range []string{"Made by=maker", "Colour=-", "a=b=maker", "=maker", "maker", "#=tag",
		"x=colour"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, pair string) {
		given, err := imports.ParseMap([]string{pair}, imports.ImportFields())
		if err != nil {
			require.Equal(t, registry.Invalid, registry.CodeOf(err))
			return
		}
		require.Len(t, given, 1)
		for column, field := range given {
			require.NoError(t, imports.ColumnName{Column: column, Field: field}.Check())
			require.True(t, strings.HasPrefix(strings.TrimSpace(pair), column))
			again, err := imports.ParseMap([]string{column + "=" + field}, imports.ImportFields())
			require.NoError(t, err)
			require.Equal(t, given, again)
		}
	})
}
