package main

import (
	"context"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"pitman/registry"
)

// completed is how many tags are offered: more than anyone reads, few enough to be found at once in a big house.
const completed = 50

// completeFromHouse lets the shell complete what the house knows: tags wherever a command takes one, and the values of flags that
// have the same meaning in every command.
func (a *app) completeFromHouse(cmd *cobra.Command) {
	if (strings.Contains(cmd.Use, "TAG") || strings.Contains(cmd.Use, "HEAD")) && cmd.ValidArgsFunction == nil && cmd.ValidArgs == nil {
		files := strings.Contains(cmd.Use, "FILE")
		cmd.ValidArgsFunction = func(cmd *cobra.Command, args []string, typed string) ([]string, cobra.ShellCompDirective) {
			if files && len(args) == 0 {
				return nil, cobra.ShellCompDirectiveDefault
			}
			return a.offer(cmd.Context(), func(d *desk) ([]string, error) { return d.tags(cmd.Context(), typed) })
		}
	}
	for name, values := range map[string]func(context.Context, *desk) ([]string, error){
		"maker":  func(ctx context.Context, d *desk) ([]string, error) { return d.names(ctx, registry.ColumnMaker) },
		"place":  func(ctx context.Context, d *desk) ([]string, error) { return d.names(ctx, registry.ColumnPlace) },
		"stage":  func(context.Context, *desk) ([]string, error) { return words(registry.Stages), nil },
		"drive":  func(context.Context, *desk) ([]string, error) { return words(registry.Drives), nil },
		"stitch": func(context.Context, *desk) ([]string, error) { return words(registry.Stitches), nil },
	} {
		if cmd.Flags().Lookup(name) == nil {
			continue
		}
		// An error says that the command completes this flag itself.
		_ = cmd.RegisterFlagCompletionFunc(name, func(cmd *cobra.Command, _ []string, typed string) ([]string, cobra.ShellCompDirective) {
			return a.offer(cmd.Context(), func(d *desk) ([]string, error) {
				all, err := values(cmd.Context(), d)
				return closest(all, typed), err
			})
		})
	}
	for _, sub := range cmd.Commands() {
		a.completeFromHouse(sub)
	}
}

// completeWords completes a flag that takes one of a few words.
func completeWords(cmd *cobra.Command, flag string, words ...string) {
	if err := cmd.RegisterFlagCompletionFunc(flag, cobra.FixedCompletions(words, cobra.ShellCompDirectiveNoFileComp)); err != nil {
		panic(err) // there is no such flag: a slip in the code
	}
}

// offer asks the house. Where there is none, or it cannot be read, nothing is offered: a shell is no place for an error.
func (a *app) offer(ctx context.Context, fn func(*desk) ([]string, error)) ([]string, cobra.ShellCompDirective) {
	var names []string
	err := a.with(func(d *desk) (err error) {
		names, err = fn(d)
		return err
	})
	if err != nil {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	return names, cobra.ShellCompDirectiveNoFileComp
}

// tags offers tags that begin so, each with its machine beside it.
func (d *desk) tags(ctx context.Context, typed string) (names []string, err error) {
	err = d.Store.View(ctx, func(r registry.Reader) error {
		return r.TagsFrom(strings.ToUpper(typed), completed, func(tag registry.Tag, what string) {
			names = append(names, cobra.CompletionWithDesc(string(tag), what))
		})
	})
	return names, err
}

// names offers what stands in a column, without counting how often.
func (d *desk) names(ctx context.Context, column registry.Column) (names []string, err error) {
	err = d.Store.View(ctx, func(r registry.Reader) error {
		names, err = r.Names(column, mostNames)
		return err
	})
	return names, err
}

// mostNames is how many makers or places are looked through.
const mostNames = 500

func words[T ~string](list []T) []string {
	names := make([]string, len(list))
	for i, w := range list {
		names[i] = string(w)
	}
	return names
}

// visitFlags calls fn with the flags of a command that people see.
func visitFlags(cmd *cobra.Command, fn func(name, value, usage string)) {
	cmd.LocalFlags().VisitAll(func(f *pflag.Flag) {
		if !f.Hidden {
			fn(f.Name, f.DefValue, f.Usage)
		}
	})
}
