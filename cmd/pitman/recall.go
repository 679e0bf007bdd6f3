package main

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"pitman/registry"
	"pitman/registry/recall"
)

func (a *app) recallCommand() *cobra.Command {
	var which recall.Which
	var tester, why string
	var confirm bool
	cmd := &cobra.Command{
		Use:   "recall",
		Short: "Withdraw the safety passes of an instrument, a person or a time; --confirm does it",
		Long: `Lists the machines whose safety pass comes from an instrument, a tester or a time that
turned out wrong: what is in the house, and what left, with its order and partner. With --confirm and
--why the passes are withdrawn and what is in the house is held. Whoever takes that back with undo gets
the machines untested: no withdrawn pass counts again.`,
		Example: `  pitman recall --instrument MT1 --from 2031-03-01
  pitman recall --instrument MT1 --from 2031-03-01 --why "MT1 read low" --confirm --by QX`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) (err error) {
			if tester != "" {
				if which.Tester, err = registry.ParseInitials(tester); err != nil {
					return err
				}
			}
			if !confirm {
				return a.with(func(d *workplace) error {
					found, err := d.Recalled(cmd.Context(), which)
					if err != nil {
						return err
					}
					return a.printRecall(d, found, false)
				})
			}
			return a.withActor(func(d *workplace, by registry.Initials) error {
				found, err := d.Withdraw(cmd.Context(), by, which, why)
				if err != nil {
					return err
				}
				return a.printRecall(d, found, true)
			})
		},
	}
	flags := cmd.Flags()
	flags.StringVar(&which.Instrument, "instrument", "", "passes made with the instrument `ID`")
	flags.StringVar(&tester, "tester", "", "passes by the person with these `INITIALS`")
	flags.StringVar(&which.From, "from", "", "passes from this `DAY` on, as 2031-03-31")
	flags.StringVar(&which.To, "to", "", "passes up to this `DAY`, itself too")
	flags.StringVar(&why, "why", "", "`WHAT` is wrong with them")
	flags.BoolVar(&confirm, "confirm", false, "withdraw them, and hold what is in the house")
	return cmd
}

// printRecall lists what a recall reaches.
func (a *app) printRecall(d *workplace, found *recall.Found, confirmed bool) error {
	v := struct {
		*recall.Found
		Confirmed bool `json:"confirmed"`
	}{found, confirmed}
	return a.print(v, func(w io.Writer) {
		list := func(title string, n int, rows func(io.Writer)) {
			if n > 0 {
				fmt.Fprintf(w, "%s:\n", title)
				columns(w, rows)
			}
		}
		row := func(w io.Writer, h recall.Here) {
			fmt.Fprintf(w, "  %s\t%s\ttested %s by %s\t%s", h.Tag, h.Stage, d.localDate(h.Tested), h.By,
				orDash(h.With))
		}
		title := "In the house, to be held"
		if confirmed {
			title = "In the house, held now; do not plug in"
		}
		list(title, len(found.Here), func(w io.Writer) {
			for _, h := range found.Here {
				row(w, h)
				fmt.Fprintf(w, "\t%s\n", orDash(h.Place))
			}
		})
		list("Left with such a pass; tell whoever has it now", len(found.Left), func(w io.Writer) {
			for _, l := range found.Left {
				row(w, l.Here)
				switch {
				case l.House != "":
					fmt.Fprintf(w, "\tin the house %s\n", l.House)
				case l.Order != "":
					fmt.Fprintf(w, "\t%s for %s\n", l.Order, l.Partner)
				default:
					fmt.Fprintln(w, "\tits history says where to")
				}
			}
		})
		fmt.Fprintf(w, "Passes reached: %d. Machines that stand on one: %d in the house, %d that left.\n",
			found.Passes, len(found.Here), len(found.Left))
		if !confirmed && found.Passes > 0 {
			fmt.Fprintln(w, "Nothing is changed yet: add --why and --confirm.")
		}
	})
}
