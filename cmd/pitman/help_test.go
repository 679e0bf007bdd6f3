package main

import (
	"bytes"
	"io"
	"regexp"
	"strings"
	"testing"

	"github.com/rivo/uniseg"
	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
)

var (
	typed     = regexp.MustCompile(`(?m)^  pitman (.*)$`)
	likeATag  = regexp.MustCompile(`\b(?:PM|LR|EL)\d+[A-Z]?\b`)
	aFlagName = regexp.MustCompile(`^--([a-z-]+)`)
)

// understood asks of each command that text says to type whether it is there with its flags, and of each tag
// whether it is one.
func understood(t *testing.T, name, text string) {
	for _, found := range typed.FindAllStringSubmatch(text, -1) {
		a := &app{out: io.Discard, err: io.Discard}
		words := strings.Fields(found[1])
		root := a.rootFor(words)
		cmd, rest, err := root.Find(words)
		if !assert.NoError(t, err, "%s: %s", name, found[0]) ||
			!assert.NotEqual(t, root, cmd, "%s: %s", name, found[0]) {
			continue
		}
		for _, word := range rest {
			if flag := aFlagName.FindStringSubmatch(word); flag != nil {
				assert.True(t, cmd.Flag(flag[1]) != nil || cmd.InheritedFlags().Lookup(flag[1]) != nil,
					"%s: %s", name, found[0])
			}
		}
	}
	for _, tag := range likeATag.FindAllString(text, -1) {
		_, err := registry.ParseTag(tag)
		assert.NoError(t, err, name)
	}
}

// What the handbook says to type is what the program understands.
func TestTheHandbookNamesRealCommands(t *testing.T) {
	for _, name := range topicNames {
		heading, text, ok := topic(name)
		require.True(t, ok)
		assert.NotEmpty(t, heading)
		understood(t, name, text)
		for see := range strings.SplitSeq(text, "pitman help ") {
			if see = strings.Trim(strings.Fields(see + " .")[0], ".:,;()"); see != "" &&
				strings.Contains(text, "pitman help "+see) {
				_, _, ok := topic(see)
				assert.True(t, ok, "%s leads to %s", name, see)
			}
		}
	}
}

func TestHelpFitsTheScreen(t *testing.T) {
	for _, width := range []int{40, 60, 80, 100} {
		for _, name := range topicNames {
			_, text, _ := topic(name)
			for line := range strings.Lines(fill(text, width)) {
				if !strings.HasPrefix(line, " ") {
					assert.LessOrEqual(t, uniseg.StringWidth(strings.TrimRight(line, "\n")), width, line)
				}
			}
			assert.Equal(t, strings.Fields(text), strings.Fields(fill(text, width)), "no word is lost")
		}
	}
	for _, c := range []struct {
		name, text, want string
		width            int
	}{
		{"a long line flows on into the next", "one two three four\nfive six\n\nseven",
			"one two\nthree four\nfive six\n\nseven\n", 10},
		{"short lines stay", "one\ntwo", "one\ntwo\n", 10},
		{"items hang", "- one two three four\n- five", "- one two\n  three\n  four\n- five\n", 9},
		{"examples stay", "  one two three four", "  one two three four\n", 9},
	} {
		assert.Equal(t, c.want, fill(c.text, c.width), c.name)
	}
}

// A table that is too wide for its terminal breaks between cells; elsewhere it stays a table.
func TestTablesOnNarrowScreens(t *testing.T) {
	rows := func(w io.Writer) {
		io.WriteString(w, "tag\tmaker\tplace\nPM16\tWillcox & Gibbs\tunder the stairs\n")
	}
	for _, c := range []struct {
		width int
		want  string
	}{
		{0, "tag   maker            place\nPM16  Willcox & Gibbs  under the stairs\n"},
		{80, "tag   maker            place\nPM16  Willcox & Gibbs  under the stairs\n"},
		{30, "tag  maker  place\nPM16  Willcox & Gibbs  under\n    the stairs\n"},
	} {
		var out bytes.Buffer
		columns(&plainWriter{w: &out, width: c.width}, rows)
		assert.Equal(t, c.want, out.String(), c.width)
	}
}

// Each command says in one line what it does, and takes no flag that nothing is said of, or whose value has
// only a programmer's name.
func TestEveryCommandIsExplained(t *testing.T) {
	a := &app{out: io.Discard, err: io.Discard}
	var walk func(cmd *cobra.Command)
	walk = func(cmd *cobra.Command) {
		if cmd.Hidden {
			return
		}
		assert.NotEmpty(t, cmd.Short, cmd.CommandPath())
		assert.Less(t, len(cmd.Short), 100, cmd.CommandPath())
		cmd.LocalFlags().VisitAll(func(f *pflag.Flag) {
			value, usage := pflag.UnquoteUsage(f)
			assert.NotEmpty(t, usage, "%s --%s", cmd.CommandPath(), f.Name)
			assert.NotContains(t, []string{"string", "stringArray", "strings", "int", "float"}, value,
				"%s --%s", cmd.CommandPath(), f.Name)
		})
		understood(t, cmd.CommandPath(), cmd.Long+"\n"+cmd.Example)
		for _, sub := range cmd.Commands() {
			walk(sub)
		}
	}
	walk(a.root())
}
