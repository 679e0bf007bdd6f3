package main

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pitman/registry"
)

// A pin is two tags, which read back as they are written; all else is refused.
func FuzzParsePin(f *testing.F) {
	for _, seed := range []string{"PM16=PM24", "pm16 = pm24", "PM16", "=", "PM16=", "PM16=PM24=PM32",
		"PM17=PM24", "PMI6=PM24"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		pair, err := parsePin(text)
		if err != nil {
			require.Equal(t, registry.Invalid, registry.CodeOf(err), err)
			return
		}
		require.Equal(t, 1, strings.Count(text, "="))
		for _, tag := range []registry.Tag{pair.Head, pair.Base} {
			same, err := registry.ParseTag(string(tag))
			require.NoError(t, err)
			require.Equal(t, same, tag)
		}
		again, err := parsePin(string(pair.Head) + "=" + string(pair.Base))
		require.NoError(t, err)
		require.Equal(t, pair, again)
	})
}
