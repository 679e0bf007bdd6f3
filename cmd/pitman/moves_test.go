package main

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
)

// Every action that the registry can name as a next step has a command that is there, with the flags that are
// written with it.
func TestEveryActionHasACommand(t *testing.T) {
	root := (&app{}).root()
	for _, action := range registry.Actions() {
		typed, _, _ := strings.Cut(command(registry.Next(action, "")), ", then ")
		words := strings.Fields(typed)
		require.NotEmpty(t, words, action)
		// the import is typed again with it
		if action == registry.DoMapColumn || action == registry.DoLeaveColumn {
			assert.Equal(t, "--map", words[0])
			continue
		}
		require.Equal(t, "pitman", words[0], typed)
		if words[1] == "--house" {
			words = words[2:]
		}
		cmd, args, err := root.Find(words[1:])
		require.NoError(t, err, typed)
		assert.True(t, cmd != root && cmd.Runnable(), typed)
		if len(args) > 0 && !strings.HasPrefix(args[0], "--") {
			assert.Equal(t, strings.ToUpper(args[0]), args[0], "%s: there is no such command", typed)
		}
		for _, arg := range args {
			if flag, ok := strings.CutPrefix(arg, "--"); ok {
				assert.True(t, cmd.Flags().Lookup(flag) != nil || cmd.InheritedFlags().Lookup(flag) != nil,
					"%s: no flag --%s", typed, flag)
			}
		}
	}
	for action := range commandOf {
		assert.Contains(t, registry.Actions(), action, "nothing does this")
	}
}

// What a step knows stands in its command, what it lacks in capitals.
func TestAStepIsTypedAsACommand(t *testing.T) {
	for want, step := range map[string]registry.NextStep{
		"pitman bench note PM16 --job JOB":                   registry.Next("bench note", "PM16"),
		"pitman triage TAG --to refurbish --why WHY":         registry.Next("triage to refurbish", ""),
		"pitman safety PM16 --class CLASS --visual pass ...": registry.Next("a passed safety test", "PM16"),
		"pitman spare fit PM16 winder-tyre": registry.Next("spare fit", "PM16").With("part",
			"winder-tyre"),
		"pitman order release ORD1 PM16": registry.Next("give back", "PM16").Of("ORD1"),
		"pitman amend PM16 --needle NEEDLE": registry.Next(registry.DoAmend,
			"PM16").Asking("needle"),
		"pitman order line ORD1 KIND QTY": registry.Next(registry.DoOrderLine,
			"").Of("ORD1"),
		"pitman kit put PM16 --as hand --plug G": registry.Next(registry.DoPutKit,
			"PM16").With("as", "hand").With("plug", "G"),
		`pitman move PM16 "bay 2"`: registry.Next(registry.DoMove,
			"PM16").With("place", "bay 2"),
	} {
		assert.Equal(t, want, command(step))
	}
}
