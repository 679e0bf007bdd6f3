package main

import (
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"pitman/registry"
	"pitman/registry/makers"
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
