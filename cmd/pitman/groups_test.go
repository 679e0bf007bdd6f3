package main

import (
	"io"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestEveryCommandStandsInOneGroup(t *testing.T) {
	a := &app{out: io.Discard, err: io.Discard}
	root := a.root()
	var all []string
	for _, g := range groups {
		all = append(all, g.commands...)
	}
	for _, name := range all {
		cmd, _, err := root.Find([]string{name})
		assert.NoError(t, err)
		assert.Equal(t, name, cmd.Name())
	}
	for _, cmd := range root.Commands() {
		if cmd.IsAvailableCommand() && !slices.Contains([]string{"completion", "help", "man"}, cmd.Name()) {
			assert.Contains(t, all, cmd.Name(), "it has no group")
		}
	}
	slices.Sort(all)
	assert.Len(t, slices.Compact(all), len(all), "a command stands in two groups")
}

func TestWhatPeopleTryLeadsToACommand(t *testing.T) {
	a := &app{out: io.Discard, err: io.Discard}
	root := a.root()
	for word, meant := range meantBy {
		at, _, err := root.Find([]string{word})
		assert.True(t, err != nil || at == root, "%s is a command itself", word)
		if strings.HasPrefix(meant, "--") {
			continue
		}
		cmd, _, err := root.Find(strings.Fields(meant))
		assert.NoError(t, err, meant)
		assert.NotEqual(t, root, cmd, meant)
	}
	assert.Equal(t, `list --text "harrow 1922"`, withWords(meantBy["find"], []string{"harrow", "1922"}))
	assert.Equal(t, "triage TAG --to sale", withWords(meantBy["sell"], nil))
}

func TestACallMakesItsCommandAlone(t *testing.T) {
	a := &app{out: io.Discard, err: io.Discard}
	made := func(typed string) (names []string) {
		for _, cmd := range a.rootFor(strings.Fields(typed)).Commands() {
			names = append(names, cmd.Name())
		}
		return names
	}
	for _, c := range a.commands() {
		assert.Equal(t, c.name, c.make().Name())
	}
	assert.Equal(t, []string{"completion", "list"}, made("--house list list --place shelf"))
	all := made("")
	assert.Greater(t, len(all), len(a.commands()))
	for _, typed := range []string{"help list", "lst --text label", "__complete list --maker", "man pages",
		"init"} {
		assert.Equal(t, all, made(typed), typed)
	}
}
