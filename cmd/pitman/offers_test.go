package main

import (
	"testing"

	"github.com/spf13/cobra"
	"github.com/stretchr/testify/assert"
)

// What each command that takes a tag or an order does by the table of moves, written out by hand; completion
// offers the tags by it. Every command that is not here takes every tag.
func TestCommandsOfActions(t *testing.T) {
	want := map[string][]string{
		"triage":       {"triage to refurbish", "triage to parts", "triage to sale", "triage to scrap"},
		"bench start":  {"bench start", "bench start after a failed safety test"},
		"bench note":   {"bench note"},
		"bench finish": {"bench finish"},
		"test":         {"a passed function test", "a failed function test"},
		"safety": {"a passed safety test", "a passed safety test after a failed one",
			"a failed safety test"},
		"convert":     {"convert"},
		"hold":        {"hold"},
		"release":     {"release"},
		"report-back": {"report back"},
		"spare take":  {"spare take"},
		"spare fit":   {"spare fit"},
		"spare need":  {"spare need"},
		"base ready":  {"make ready"},

		"order release": {"give back"},
		"order pack":    {"pack"},
		"order unpack":  {"unpack"},
		"order ship":    {"ship"},
	}
	found := map[string][]string{}
	var walk func(*cobra.Command)
	walk = func(c *cobra.Command) {
		if actions := actionsOf(commandPath(c)); c.Runnable() && len(actions) > 0 {
			found[commandPath(c)] = actions
		}
		for _, sub := range c.Commands() {
			walk(sub)
		}
	}
	walk((&app{}).root())
	assert.Equal(t, want, found)
}
