package main

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"pitman/registry"
)

func FuzzParseSpan(f *testing.F) {
	for _, seed := range []string{"1900-1920", "1900–1920", "1900", "-1920", "1900-", "-", "", "1920-1900",
		"1900--1920", "1900-1910-1920"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, typed string) {
		from, to, err := parseSpan(typed)
		if err != nil {
			require.Equal(t, registry.Invalid, registry.CodeOf(err))
			return
		}
		require.True(t, from != 0 || to != 0)
		require.True(t, to == 0 || from <= to)
		again := "-"
		if from != 0 {
			again = fmt.Sprint(from) + again
		}
		if to != 0 {
			again += fmt.Sprint(to)
		}
		from2, to2, err := parseSpan(again)
		require.NoError(t, err)
		require.Equal(t, [2]int{from, to}, [2]int{from2, to2})
	})
}
