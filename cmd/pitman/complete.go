package main

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"pitman/registry"
	"pitman/registry/orders"
	"pitman/registry/promise"
	"pitman/registry/stock"
)

// completed is how many tags are offered: more than anyone reads, few enough to be found at once in a big
// house.
const completed = 50

// completeFromHouse lets the shell complete what the house knows: tags, orders and places wherever a command
// takes one, and the values of flags that have the same meaning in every command.
func (a *app) completeFromHouse(cmd *cobra.Command) {
	if mentions(cmd.Use, "TAG", "HEAD", "ORDER", "PLACE") && cmd.ValidArgsFunction == nil &&
		cmd.ValidArgs == nil {
		cmd.ValidArgsFunction = func(cmd *cobra.Command, args []string, typed string) ([]string,
			cobra.ShellCompDirective) {
			return a.offerArgument(cmd, args, typed)
		}
	}
	for name, values := range map[string]func(context.Context, *workplace) ([]string, error){
		"maker": func(ctx context.Context, d *workplace) ([]string, error) {
			return d.names(ctx, stock.ColumnMaker)
		},
		"place": func(ctx context.Context, d *workplace) ([]string, error) {
			return d.names(ctx, stock.ColumnPlace)
		},
		"stage": func(context.Context, *workplace) ([]string, error) { return words(registry.Stages), nil },
		"order": func(ctx context.Context, d *workplace) ([]string, error) { return d.orders(ctx, "") },
		"drive": func(context.Context, *workplace) ([]string, error) { return words(registry.Drives), nil },
		"stitch": func(context.Context, *workplace) ([]string, error) {
			return words(registry.Stitches),
				nil
		},
	} {
		if cmd.Flags().Lookup(name) == nil {
			continue
		}
		// An error says that the command completes this flag itself.
		_ = cmd.RegisterFlagCompletionFunc(name,
			func(cmd *cobra.Command, _ []string, typed string) ([]string, cobra.ShellCompDirective) {
				return a.offer(cmd.Context(), func(d *workplace) ([]string, error) {
					all, err := values(cmd.Context(), d)
					return closest(all, typed), err
				})
			})
	}
	for _, sub := range cmd.Commands() {
		a.completeFromHouse(sub)
	}
}

// addCompletion adds cobra's command before the others are looked through, so that it, too, refuses what it
// does not understand.
func addCompletion(root *cobra.Command) {
	root.InitDefaultCompletionCmd()
	for _, cmd := range root.Commands() {
		if cmd.Name() == "completion" {
			cmd.Short = "Print the script by which a shell completes commands, tags and makers"
			cmd.Long = cmd.Short + ". The help of each shell's own command tells how to load it."
			cmd.RunE = func(cmd *cobra.Command, _ []string) error { return cmd.Help() }
		}
	}
}

// mentions says whether a usage line has one of the words in it.
func mentions(usage string, words ...string) bool {
	return slices.ContainsFunc(words, func(word string) bool { return strings.Contains(usage, word) })
}

// argumentsOf lists the arguments of a command as its usage line names them, such as ORDER and [TAG...].
func argumentsOf(cmd *cobra.Command) []string {
	return strings.Fields(strings.ReplaceAll(cmd.Use, " or ", "|"))[1:]
}

// offerArgument offers what may stand behind these arguments.
func (a *app) offerArgument(cmd *cobra.Command, behind []string, typed string) ([]string,
	cobra.ShellCompDirective) {
	ctx, takes := cmd.Context(), argumentsOf(cmd)
	at := min(len(behind), len(takes)-1)
	if strings.Contains(takes[at], "FILE") {
		return nil, cobra.ShellCompDirectiveDefault
	}
	what := takes[at]
	for _, word := range takes[:at] {
		if strings.Contains(word, "...") { // it may go on
			what += word
		}
	}
	return a.offer(ctx, func(d *workplace) (names []string, err error) {
		add := func(found []string, wrong error) {
			names, err = append(names, found...),
				errors.Join(err, wrong)
		}
		if mentions(what, "TAG", "HEAD", "BASE") {
			order := ""
			if at > 0 && takes[0] == "ORDER" {
				order = behind[0]
			}
			add(d.tagsFor(ctx, commandPath(cmd), order, typed))
		}
		if mentions(what, "ORDER") {
			add(d.orders(ctx, typed))
		}
		if mentions(what, "PLACE") {
			places, wrong := d.names(ctx, stock.ColumnPlace)
			add(closest(places, typed), wrong)
		}
		return names, err
	})
}

// completeWords completes a flag that takes one of a few words.
func completeWords(cmd *cobra.Command, flag string, words ...string) {
	if err := cmd.RegisterFlagCompletionFunc(flag,
		cobra.FixedCompletions(words, cobra.ShellCompDirectiveNoFileComp)); err != nil {
		panic(err) // there is no such flag: a slip in the code
	}
}

// offer asks the house. Where there is none, or it cannot be read, nothing is offered: a shell is no place
// for an error.
func (a *app) offer(ctx context.Context, fn func(*workplace) ([]string, error)) ([]string,
	cobra.ShellCompDirective) {
	var names []string
	err := a.with(func(d *workplace) (err error) {
		names, err = fn(d)
		return err
	})
	if err != nil {
		return nil, cobra.ShellCompDirectiveNoFileComp
	}
	return names, cobra.ShellCompDirectiveNoFileComp
}

// tags offers tags that begin so, each with its machine beside it.
func (d *workplace) tags(ctx context.Context, typed string, most int) (names []string, err error) {
	err = d.Store.View(ctx, func(r stock.Reader) error {
		return r.TagsFrom(strings.ToUpper(typed), most, func(tag registry.Tag, what string) {
			names = append(names, cobra.CompletionWithDesc(string(tag), what))
		})
	})
	return names, err
}

// tagsOn is tags of what fills the places of an order.
func (d *workplace) tagsOn(ctx context.Context, order, typed string) (names []string, err error) {
	err = d.Store.View(ctx, func(r stock.Reader) error {
		sets, err := promise.OrderSets(r, strings.ToUpper(order))
		for _, s := range sets {
			for _, tag := range s.Tags() {
				u, wrong := stock.UnitByTag(r, tag)
				if err = errors.Join(err, wrong); strings.HasPrefix(string(tag), strings.ToUpper(typed)) {
					names = append(names, cobra.CompletionWithDesc(string(tag), u.Name))
				}
			}
		}
		return err
	})
	return names, err
}

// orders offers numbers that begin so, each with its partner beside it; of very many the latest.
func (d *workplace) orders(ctx context.Context, typed string) (names []string, err error) {
	err = d.Store.View(ctx, func(r stock.Reader) error {
		all, err := orders.All(r, "")
		for _, o := range all {
			if strings.HasPrefix(o.Number, strings.ToUpper(typed)) {
				names = append(names,
					cobra.CompletionWithDesc(o.Number,
						fmt.Sprintf("%s, due %s, %s", o.Partner, o.Due, o.State)))
			}
		}
		return err
	})
	return names[max(0, len(names)-completed):], err
}

// names offers what stands in a column, without counting how often.
func (d *workplace) names(ctx context.Context, column stock.Column) (names []string, err error) {
	err = d.Store.View(ctx, func(r stock.Reader) error {
		names, err = r.Names(column, maxNames)
		return err
	})
	return names, err
}

// maxNames is how many makers or places are looked through.
const maxNames = 500

func words[T ~string](list []T) []string {
	names := make([]string, len(list))
	for i, w := range list {
		names[i] = string(w)
	}
	return names
}
