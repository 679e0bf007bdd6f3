package main

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"pitman/cmd/pitman/meanwhile"
	"pitman/registry"
	"pitman/registry/intake"
	"pitman/registry/stock"
)

func (a *app) redateCommand() *cobra.Command {
	var apply bool
	cmd := &cobra.Command{
		Use:   "redate",
		Short: "List machines that today's tables would date otherwise",
		Long: `Lists the machines whose year would change by today's tables, and with --apply changes them.

A machine whose table is not here, such as one that came from another house, keeps its year. Those
are listed apart.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			list := func(stale []intake.Redating) error {
				return a.print(stale, func(w io.Writer) { printRedatings(w, stale, apply) })
			}
			if apply {
				return a.withActor(func(d *workplace, by registry.Initials) error {
					bar := meanwhile.NewProgress(a.stderr, "dating machines", 0)
					d.Tick = bar.At
					stale, err := d.Redate(cmd.Context(), by)
					bar.Done()
					if err != nil {
						return err
					}
					return list(stale)
				})
			}
			return a.with(func(d *workplace) error {
				bar := meanwhile.NewProgress(a.stderr, "dating machines", 0)
				d.Tick = bar.At
				stale, err := d.Stale(cmd.Context())
				bar.Done()
				if err != nil {
					return err
				}
				return list(stale)
			})
		},
	}
	cmd.Flags().BoolVar(&apply, "apply", false, "give them the new estimate")
	return cmd
}

// printRedatings lists what changes, and apart from it what stays although no table here has its row.
func printRedatings(w io.Writer, stale []intake.Redating, applied bool) {
	var changed, kept []intake.Redating
	for _, s := range stale {
		if s.Kept {
			kept = append(kept, s)
		} else {
			changed = append(changed, s)
		}
	}
	switch {
	case len(stale) == 0:
		fmt.Fprintln(w, "Every machine is dated as the tables say today.")
		return
	case len(changed) > 0:
		columns(w, func(w io.Writer) {
			for _, s := range changed {
				fmt.Fprintf(w, "%s\t%s\t%s\t%s\n", s.Tag, s.Maker, s.Serial, change(s))
			}
		})
		if applied {
			fmt.Fprintf(w, "%s redated.\n", plural(len(changed), "machine"))
		} else {
			fmt.Fprintf(w, "%s would change: pitman redate --apply changes them.\n",
				plural(len(changed), "machine"))
		}
	default:
		fmt.Fprintln(w, "No year changes.")
	}
	if len(kept) > 0 {
		fmt.Fprintf(w, "No table here has the row that dated %s; the year stays:\n",
			plural(len(kept), "machine"))
		columns(w, func(w io.Writer) {
			for _, s := range kept {
				fmt.Fprintf(w, "%s\t%s\t%s\t%s\n", s.Tag, s.Maker, s.Serial, s.Was)
			}
		})
	}
}

// change is the years before and after, with what lies behind them where they look alike.
func change(s intake.Redating) string {
	behind := func(e stock.Estimate) string {
		switch {
		case s.Was != s.Now:
			return ""
		case e.Best == nil:
			return " (" + e.Basis + ")"
		default:
			return fmt.Sprintf(" (%s, best %d)", e.Basis, *e.Best)
		}
	}
	return s.Was + behind(s.Before) + " → " + s.Now + behind(s.After)
}
