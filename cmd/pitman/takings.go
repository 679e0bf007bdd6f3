package main

import (
	"context"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"pitman/registry"
	"pitman/registry/spares"
	"pitman/registry/stock"
	"pitman/registry/takings"
)

var wayBrought = map[takings.Way]string{takings.Sale: "sales brought", takings.Parts: "lots of parts brought",
	takings.Scrap: "scrap brought"}

func (a *app) takingsCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "takings",
		Short: "List what sold machines, lots of parts and scrap brought",
		Long: `Lists what was entered when something left by another way than an order: machines and bases that were
sold, lots of parts, scrap by metal and weight. Nobody has to enter it.`,
		Example: `  pitman triage PM16 --to sale --why "collectors want it" --brought "45.00 EUR" --by QX
  pitman spare sell "a box of bobbin cases" --brought 12.50 --by QX
  pitman takings`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return a.with(func(d *workplace) error {
				list, err := d.ListTakings(cmd.Context())
				if err != nil {
					return err
				}
				return a.print(list, func(w io.Writer) { d.printTakings(w, list...) })
			})
		},
	}
	cmd.AddCommand(a.takingsAmendCommand())
	return cmd
}

// takingLine names what other ways out came to, for a report.
type takingLine struct{ name, is string }

func takingLines(brought []takings.Sum, scrap []takings.Metal) (lines []takingLine) {
	for _, sum := range brought {
		lines = append(lines, takingLine{wayBrought[sum.Way],
			fmt.Sprintf("%s %s, as entered for %d", sum.Brought, sum.Currency, sum.Entries)})
	}
	for _, metal := range scrap {
		weight := metal.Weight.String()
		if metal.Unweighed > 0 {
			weight += fmt.Sprintf(", and %s not weighed", plural(metal.Unweighed, "load"))
		}
		lines = append(lines, takingLine{"scrap of " + metal.Metal, weight})
	}
	return lines
}

func (d *workplace) printTakings(w io.Writer, list ...takings.Taking) {
	if len(list) == 0 {
		fmt.Fprintln(w, "Nothing was entered that other ways out brought.")
		return
	}
	columns(w, func(w io.Writer) {
		fmt.Fprintln(w, "what left\tday\tway\tbrought\tmetal\tweight\tmore about it")
		for _, t := range list {
			brought, weight := "not said", "-"
			if t.Brought != nil {
				brought = t.Brought.String() + " " + t.Currency
			}
			if t.Weight > 0 {
				weight = t.Weight.String()
			}
			fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\t%s\t%s\n", t.Subject(),
				d.localDate(t.At), t.Way, brought, orDash(t.Metal), weight,
				orDash(t.What))
		}
	})
}

func (a *app) takingsAmendCommand() *cobra.Command {
	var given *fieldFlags[takings.Taking]
	var why string
	cmd := &cobra.Command{
		Use:   "amend TAG or TAKING",
		Short: "Correct what something brought, or enter it when nobody did as it left",
		Example: `  pitman takings amend PM16 --brought 40 --by QX
  pitman takings amend TAKING1 --brought "12.50 EUR" --by QX`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			if !given.given() {
				return registry.Errorf(registry.Invalid,
					"nothing is given to correct: give --brought, or another")
			}
			return a.withActor(func(d *workplace, by registry.Initials) error {
				t, err := d.AmendTaking(cmd.Context(), by, args[0], why, given.apply)
				if err != nil {
					return err
				}
				return a.print(t, func(w io.Writer) { d.printTakings(w, *t) })
			})
		},
	}
	given = addFieldFlags(cmd.Flags(), takings.Fields)
	cmd.Flags().StringVar(&why, "why", "", "`REASON`, for the history")
	return cmd
}

func (a *app) spareSellCommand() *cobra.Command {
	var given *fieldFlags[takings.Taking]
	var codes []string
	cmd := &cobra.Command{
		Use:   "sell [WHAT]",
		Short: "Keep that parts were sold, or went as scrap by its metal, and what they brought",
		Long: `Keeps that a lot left, and what it brought. Parts with a code leave the shelf when you name their
codes; small things that are counted do not: count them again afterwards (pitman spare count).`,
		Example: `  pitman spare sell --code S12 --code S15 --brought 9 --by QX
  pitman spare sell "a box of bobbin cases" --brought 12.50 --by QX
  pitman spare sell "arms and beds" --metal "cast iron" --weight 120 --brought "24 EUR" --by QX`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			var t takings.Taking
			if err := given.apply(&t); err != nil {
				return err
			}
			what := strings.Join(args, "")
			return a.withActor(func(d *workplace, by registry.Initials) error {
				sold, err := d.SellSpares(cmd.Context(), by, &t, what, codes)
				if err != nil {
					return err
				}
				return a.printLot(cmd.Context(), d, t, sold)
			})
		},
	}
	given = addFieldFlags(cmd.Flags(), takings.Fields)
	cmd.Flags().StringSliceVar(&codes, "code", nil,
		"`CODE` of a part that leaves the shelf, such as S12 (repeat it)")
	return cmd
}

// printLot prints a lot, what such parts brought before where nobody said what these did, and the caution
// where one of them takes the mains.
func (a *app) printLot(ctx context.Context, d *workplace, t takings.Taking, sold []spares.Spare) error {
	v := struct {
		takings.Taking
		Spares  []spareView       `json:"spares,omitempty"`
		Earlier []takings.Earlier `json:"earlier_sales,omitempty"`
	}{Taking: t}
	for i := range sold {
		v.Spares = append(v.Spares, spareView{sold[i].Code(), &sold[i]})
	}
	live, err := d.MainsAmong(sold)
	if err == nil && t.Part != "" && t.Way == takings.Parts && t.Brought == nil {
		v.Earlier, err = d.EarlierLots(ctx, t.Part)
	}
	if err != nil {
		return err
	}
	return a.print(v, func(w io.Writer) {
		d.printTakings(w, t)
		for _, e := range v.Earlier {
			fmt.Fprintln(w, e.Said())
		}
		if live {
			fmt.Fprintln(w, "A part that takes the mains went untested by itself: tell whoever takes it.")
			printCautions(w, registry.CautionMains.Text())
		}
	})
}

// printSold prints a machine that was sold without a price, and what such machines brought before.
func (a *app) printSold(ctx context.Context, d *workplace, m *stock.Machine) error {
	earlier, err := d.EarlierSales(ctx, m)
	if err != nil {
		return err
	}
	v := struct {
		machineView
		Earlier []takings.Earlier `json:"earlier_sales,omitempty"`
	}{d.view(m), earlier}
	return a.printActed(d, m, v, func(w io.Writer) {
		for _, e := range earlier {
			fmt.Fprintln(w, e.Said())
		}
	})
}
