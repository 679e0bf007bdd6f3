package main

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"pitman/registry"
)

// sayUsage makes every command tell, when it is given too few words or too many, how it is typed.
func sayUsage(cmd *cobra.Command) {
	if check := cmd.Args; check != nil {
		cmd.Args = func(cmd *cobra.Command, args []string) error {
			err := check(cmd, args)
			if err == nil || registry.CodeOf(err) != "" { // a sentence of our own
				return err
			}
			tooFew := slices.ContainsFunc([]int{1, 2, 3}, func(more int) bool {
				return check(cmd, append(slices.Clone(args), make([]string, more)...)) == nil
			})
			return wrongWords(cmd, args, tooFew)
		}
	}
	for _, child := range cmd.Commands() {
		sayUsage(child)
	}
}

func wrongWords(cmd *cobra.Command, args []string, tooFew bool) error {
	path := cmd.CommandPath()
	if cmd.HasAvailableSubCommands() && len(args) > 0 {
		if meant, ok := meantBy[strings.ToLower(args[0])]; ok && !cmd.HasParent() {
			return fmt.Errorf("unknown command %q: type %s %s; %s --help lists them all", args[0], path,
				withWords(meant, args[1:]), path)
		}
		// slips of the finger; a short word with two is any word
		cmd.SuggestionsMinimumDistance = 1 + len(args[0])/5
		if near := cmd.SuggestionsFor(args[0]); len(near) > 0 {
			return fmt.Errorf("unknown command %q: did you mean %s %s? %s --help lists them all", args[0],
				path, strings.Join(near, " or "), path)
		}
		return fmt.Errorf("unknown command %q: %s --help lists them", args[0], path)
	}
	name := strings.TrimPrefix(path, cmd.Root().Name()+" ")
	_, takes, some := strings.Cut(cmd.Use, " ")
	given := strings.Join(args, " ")
	switch {
	case name == "list" && len(args) > 0:
		return fmt.Errorf("list takes nothing but flags: to find machines by words, type %s --text %s", path,
			quotedWords(args))
	case !some:
		return fmt.Errorf("%s takes nothing but flags, and %q is none: %s --help lists them", name, given,
			path)
	case tooFew:
		return fmt.Errorf("%s needs more behind it: type %s %s", name, path, takes)
	}
	return fmt.Errorf("%s goes with %s, not with %q: type %s %s, with quotes around words that belong "+
		"together", name, takes, given, path, takes)
}

// withWords puts what was typed where a command takes it.
func withWords(meant string, args []string) string {
	before, after, takes := strings.Cut(meant, "%s")
	switch {
	case !takes:
		return meant
	case len(args) == 0 && strings.HasSuffix(before, "--text "):
		return before + "WORDS"
	case len(args) == 0:
		return before + "TAG" + after
	}
	return before + quotedWords(args) + after
}

// quotedWords is how several words are typed as one.
func quotedWords(args []string) string {
	typed := strings.Join(args, " ")
	if strings.Trim(typed, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-") != "" {
		return strconv.Quote(typed)
	}
	return typed
}

// wrongFlag says what a flag takes, or where the flags are listed.
func wrongFlag(cmd *cobra.Command, err error) error {
	if none := (*pflag.NotExistError)(nil); errors.As(err, &none) {
		if number := none.GetSpecifiedShortnames(); number != "" &&
			strings.Trim(number, "0123456789.,") == "" {
			return fmt.Errorf("-%s looks like a flag, and no number here is below 0: type one from 0 up",
				number)
		}
	}
	bad := (*pflag.InvalidValueError)(nil)
	if !errors.As(err, &bad) {
		return fmt.Errorf("%w: %s --help lists the flags", err, cmd.CommandPath())
	}
	name, value := bad.GetFlag().Name, bad.GetValue()
	if bad.GetFlag().Value.Type() == "bool" {
		return fmt.Errorf("%s is given or left out: type --%s alone, without %q", name, name, value)
	}
	return fmt.Errorf("%s %q is not a whole number: type one, such as 5", name, value)
}
