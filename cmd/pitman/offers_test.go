package main

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
)

// The commands and actions that completion goes by are those of the program and of the table of moves.
func TestCommandsOfActionsAreThere(t *testing.T) {
	known := map[string]bool{}
	for _, m := range registry.Moves {
		known[m.Action] = true
	}
	root := (&app{}).root()
	for command, actions := range commandActions {
		found, _, err := root.Find(strings.Fields(command))
		require.NoError(t, err)
		assert.Equal(t, command, commandPath(found))
		for _, action := range actions {
			assert.True(t, known[action], action)
		}
	}
}
