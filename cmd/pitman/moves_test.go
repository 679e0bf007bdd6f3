package main

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
)

// Every command that the table of moves names is there, with the flags that the table writes.
func TestTheTableOfMovesNamesRealCommands(t *testing.T) {
	root := (&app{}).root()
	for _, m := range registry.Moves {
		words := strings.Fields(m.Command)
		require.Equal(t, "pitman", words[0], m.Command)
		cmd, args, err := root.Find(words[1:])
		require.NoError(t, err, m.Command)
		assert.True(t, cmd != root && cmd.Runnable(), m.Command)
		if len(args) > 0 && !strings.HasPrefix(args[0], "--") {
			assert.Equal(t, strings.ToUpper(args[0]), args[0], "%s: there is no such command", m.Command)
		}
		for _, arg := range args {
			if flag, ok := strings.CutPrefix(arg, "--"); ok {
				assert.NotNil(t, cmd.Flags().Lookup(flag), "%s: no flag --%s", m.Command, flag)
			}
		}
	}
}
