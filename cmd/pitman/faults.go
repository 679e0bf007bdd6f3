package main

import (
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"pitman/registry/faults"
)

func (a *app) faultsCommand() *cobra.Command {
	var from, point string
	var hands bool
	cmd := &cobra.Command{
		Use: "faults",
		Short: "Tell which points of the tests keep failing: on which models, after which jobs, in which " +
			"months",
		Long: `Counts the faults of all function and safety tests by point, with the models on which each
failed, the jobs that were done before, and how often it failed again at the next test. It names no
person: a fault that keeps coming back asks for a better way, a part, or somebody to show it.

--hands tells a coordinator of the house, and nobody else, who might like a hand with what: where a
point failed on two machines or more that somebody had mended. It counts and ranks nobody.`,
		Example: `  pitman faults --from 2031-01-01
  pitman faults --point tension
  pitman faults --hands --by KC`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return a.with(func(d *workplace) error {
				if hands {
					return a.tellHands(cmd, d, from)
				}
				told, err := d.Faulty.Since(cmd.Context(), from, strings.ToLower(strings.TrimSpace(point)))
				if err != nil {
					return err
				}
				return a.print(told, func(w io.Writer) { printFaults(w, told) })
			})
		},
	}
	cmd.Flags().StringVar(&from, "from", "", "tests from this `DAY` on, as 2031-03-31")
	cmd.Flags().StringVar(&point, "point", "",
		"only the faults of this `POINT`, such as tension or \"safety: earth\"")
	cmd.Flags().BoolVar(&hands, "hands", false,
		"who might like a hand with what; for a coordinator of the house alone")
	cmd.MarkFlagsMutuallyExclusive("hands", "point")
	return cmd
}

// tellHands says who might like a hand with what, in the order of the alphabet.
func (a *app) tellHands(cmd *cobra.Command, d *workplace, from string) error {
	by, err := a.actor()
	if err != nil {
		return err
	}
	told, err := d.Faulty.Hands(cmd.Context(), by, from)
	if err != nil {
		return err
	}
	return a.print(told, func(w io.Writer) {
		if len(told) == 0 {
			fmt.Fprintln(w, "Nothing came back often enough to ask anybody.")
			return
		}
		for _, h := range told {
			var who []string
			for _, one := range h.Who {
				who = append(who, string(one))
			}
			fmt.Fprintf(w, "%s: perhaps %s would like somebody beside them\n", h.Point,
				strings.Join(who, " and "))
		}
		fmt.Fprintln(w, "Ask them yourself, and kindly: it may be the machine, the part or the list as well.")
	})
}

// maxNamed models and jobs stand beside a point; --json has all.
const maxNamed = 3

func printFaults(w io.Writer, told *faults.Told) {
	if len(told.Points) > 0 {
		columns(w, func(w io.Writer) {
			fmt.Fprintln(w, "point\tfailed\tasked\tagain\tmodels\tafter")
			for _, p := range told.Points {
				fmt.Fprintf(w, "%s\t%d\t%d\t%d\t%s\t%s\n", p.Point, p.Failed, p.Asked, p.Repeats,
					faultWords(p.Models), faultWords(p.Jobs))
			}
		})
		fmt.Fprintln(w)
	}
	columns(w, func(w io.Writer) {
		for _, m := range told.Months {
			fmt.Fprintf(w, "%s\t%d of %s with a fault\t%s\n", m.Month, m.Failed, plural(m.Tests, "test"),
				faultWords(m.Points))
		}
	})
	fmt.Fprintf(w, "%d of %s found a fault.\n", told.Failed, plural(told.Tests, "test"))
}

// faultWords names what a fault was found with most often.
func faultWords(names []faults.Named) string {
	var words []string
	for _, n := range names[:min(len(names), maxNamed)] {
		words = append(words, fmt.Sprintf("%s %d", n.Name, n.Failed))
	}
	return orDash(strings.Join(words, ", "))
}
