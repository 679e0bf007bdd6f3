package main

import (
	"context"
	"fmt"
	"io"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"pitman/registry"
	"pitman/registry/makers"
	"pitman/registry/stock"
)

func (a *app) makersCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "makers",
		Short: "List the makers of the house's machines, and which of them may be spelt two ways",
		Args:  cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return a.with(func(d *workplace) error {
				list, err := d.MakersHere(cmd.Context())
				if err != nil {
					return err
				}
				return a.print(list, func(w io.Writer) {
					columns(w, func(w io.Writer) {
						fmt.Fprintln(w, "maker\tmachines\t")
						for _, m := range list {
							hint := ""
							if m.Near != "" {
								hint = fmt.Sprintf("pitman makers merge %q %q", m.Maker, m.Near)
							}
							fmt.Fprintf(w, "%s\t%d\t%s\n", m.Maker, m.Machines, hint)
						}
					})
				})
			})
		},
	}
	cmd.AddCommand(a.makersMergeCommand())
	return cmd
}

func (a *app) makersMergeCommand() *cobra.Command {
	var why string
	cmd := &cobra.Command{
		Use:   "merge FROM INTO",
		Short: "Give all that bears one spelling of a maker the other, in one action",
		Long: `Gives each machine whose maker is FROM the maker INTO, and dates it under that name; so it goes
with bases, spare parts and what orders ask for. It is one action: pitman undo takes it back. What
another house holds keeps what it has, and your own lists and tables are yours to mend.`,
		Example: `  pitman makers merge "Harow & Finch" "Harrow & Finch" --by QX`,
		Args:    cobra.ExactArgs(2),
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.withActor(func(d *workplace, by registry.Initials) error {
				done, err := d.MergeMakers(cmd.Context(), by, args[0], args[1], why)
				if err != nil {
					return err
				}
				return a.print(done, func(w io.Writer) {
					fmt.Fprintf(w, "%s of %s now of %s\n", mergedWhat(done), done.From, done.Into)
					for _, t := range done.Twins {
						fmt.Fprintf(w, "%s and %s have one serial number now, %s: look whether they are one "+
							"machine\n", t.Tag, t.Other, t.Serial)
					}
				})
			})
		},
	}
	cmd.Flags().StringVar(&why, "why", "", "`REASON`, for the history")
	return cmd
}

// mergedWhat counts what bears another name; machines always, the rest where there is any.
func mergedWhat(done *makers.Merged) string {
	what := []string{plural(len(done.Tags), "machine")}
	for _, one := range []struct {
		n    int
		name string
	}{{len(done.Bases), "base"}, {done.Spares, "spare part"}, {done.Lines, "order line"}} {
		if one.n > 0 {
			what = append(what, plural(one.n, one.name))
		}
	}
	return strings.Join(what, ", ")
}

// settleMaker asks of a maker's name that is probably another; off a terminal the typed word counts, and the
// other is named.
func (a *app) settleMaker(q *asker, hint func(string) (makers.Hint, bool), typed string) (string, error) {
	h, ask := hint(typed)
	if !ask {
		return typed, nil
	}
	fmt.Fprintln(a.err, h.Says())
	if !a.onTerminal() {
		return typed, nil
	}
	var keys []string
	for i, name := range h.Choices() {
		keys = append(keys, fmt.Sprintf("%d %s", i+1, name))
	}
	for {
		answer, err := q.line(fmt.Sprintf("  %s; Enter keeps %s:", strings.Join(keys, ", "), typed))
		if err != nil || answer == "" {
			return typed, err
		}
		if n, err := strconv.Atoi(answer); err == nil && 1 <= n && n <= len(h.Choices()) {
			return h.Choices()[n-1], nil
		}
	}
}

// settleMakerHere is settleMaker with what the house knows. What was not typed is not asked.
func (a *app) settleMakerHere(ctx context.Context, d *workplace, typed string) (string, error) {
	hint, err := d.Hinting(ctx)
	if err != nil || strings.TrimSpace(typed) == "" {
		return typed, err
	}
	return a.settleMaker(a.asker(), hint, typed)
}

// settleCorrected asks of the maker that a correction gives a machine, before anything is held for writing.
// What stood there already, or is not corrected, is not asked.
func (a *app) settleCorrected(ctx context.Context, d *workplace, tag registry.Tag,
	correct func(*stock.Machine) error) (func(*stock.Machine) error, error) {
	var typed stock.Machine
	if err := correct(&typed); err != nil {
		return nil, err
	}
	m, err := d.Machine(ctx, tag)
	if err != nil || typed.Maker == "" || typed.Maker == m.Maker {
		return correct, err
	}
	meant, err := a.settleMakerHere(ctx, d, typed.Maker)
	return func(m *stock.Machine) error {
		err := correct(m)
		m.Maker = meant
		return err
	}, err
}
