package main

import (
	"fmt"
	"io"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"pitman/registry"
	"pitman/registry/fields"
	"pitman/registry/partners"
	"pitman/registry/reports"
)

func (a *app) partnerCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "partner",
		Short: "Whom orders are for: add, amend, list, show",
		Long: `Keeps of each partner its address, whom to ask, its currency and its electricity. An
order goes on naming its partner in words; the record is found by that name, however it is written,
and by its number.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(a.partnerAddCommand(), a.partnerAmendCommand(), a.partnerListCommand(),
		a.partnerShowCommand())
	return cmd
}

func (a *app) partnerAddCommand() *cobra.Command {
	var given *fieldFlags[partners.Partner]
	cmd := &cobra.Command{
		Use:   "add NAME",
		Short: "Keep a new partner; it gets a number",
		Example: `  pitman partner add "Marsh Lane centre" --country Eldland --supply 230V/50Hz/G --by QX
  pitman partner add "Fern Hill school" --by QX --mains-hours 0 --panel-watts 800 ` +
			`--inverter-watts 1000 --battery-wh 2400`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			var p partners.Partner
			name, _ := fields.Named(partners.Fields, "name")
			if err := name.Set(&p, args); err != nil {
				return err
			}
			if err := given.apply(&p); err != nil {
				return err
			}
			return a.withActor(func(d *workplace, by registry.Initials) (err error) {
				if p.Name, err = a.settleWord(cmd.Context(), a.asker(), d.Words(), "partner", "",
					p.Name); err != nil {
					return err
				}
				if err := d.AddPartner(cmd.Context(), by, &p); err != nil {
					return err
				}
				return a.printPartner(cmd, d, p.ID)
			})
		},
	}
	given = addFieldFlags(cmd.Flags(), partners.Fields, "address", "contact", "country", "language",
		"currency", "supply",
		"mains-hours", "panel-watts", "inverter-watts", "battery-wh", "battery-kind", "sun-hours", "note")
	return cmd
}

func (a *app) partnerAmendCommand() *cobra.Command {
	var given *fieldFlags[partners.Partner]
	var why string
	cmd := &cobra.Command{
		Use:     "amend NAME",
		Short:   "Correct what is known of a partner; the history keeps the old values",
		Example: `  pitman partner amend "Marsh Lane centre" --contact "Ada, by the ferry post" --by QX`,
		Args:    cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.withActor(func(d *workplace, by registry.Initials) error {
				if !given.given() {
					return nothingToAmend(args[0],
						registry.Next(registry.DoAmendPartner, "").With("name", args[0]), "country",
						"Eldland")
				}
				p, err := d.AmendPartner(cmd.Context(), by, args[0], why, given.apply)
				if err != nil {
					return err
				}
				return a.printPartner(cmd, d, p.ID)
			})
		},
	}
	given = addFieldFlags(cmd.Flags(), partners.Fields)
	cmd.Flags().StringVar(&why, "why", "", "`REASON`, for the history")
	return cmd
}

func (a *app) partnerListCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "list",
		Short: "List partners, and those that orders name without a record",
		Args:  cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return a.with(func(d *workplace) error {
				list, err := d.ListPartners(cmd.Context())
				if err != nil {
					return err
				}
				return a.print(list, func(w io.Writer) { printPartners(w, list) })
			})
		},
	}
}

func printPartners(w io.Writer, list []reports.PartnerLine) {
	if len(list) == 0 {
		fmt.Fprintln(w, "No partner is here: the first is kept with pitman partner add NAME")
		return
	}
	columns(w, func(w io.Writer) {
		fmt.Fprintln(w, "partner\tname\tcountry\tsupply\torders")
		for _, p := range list {
			fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%d\n", orDash(p.ID), p.Name, orDash(p.Country),
				orDash(string(p.Supply)), p.Orders)
		}
	})
	fmt.Fprintln(w, plural(len(list), "partner"))
}

func (a *app) partnerShowCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "show NAME",
		Short: "Show a partner: its electricity, what it got, and what it said of that",
		Example: `  pitman partner show "Marsh Lane centre"
  pitman partner show PARTNER1`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.with(func(d *workplace) error { return a.printPartner(cmd, d, args[0]) })
		},
	}
}

func (a *app) printPartner(cmd *cobra.Command, d *workplace, name string) error {
	v, err := d.ViewPartner(cmd.Context(), name)
	if err != nil {
		return err
	}
	return a.print(v, func(w io.Writer) {
		fmt.Fprintf(w, "%s  %s\n", v.ID, v.Name)
		columns(w, func(w io.Writer) {
			row := func(name, value string) {
				if value != "" {
					fmt.Fprintf(w, "  %s\t%s\n", name, value)
				}
			}
			row("address", strings.ReplaceAll(v.Address, "\n", ", "))
			row("contact", v.Contact)
			row("country", v.Country)
			row("currency", v.Currency)
			row("supply", orDash(string(v.Supply)))
			row("mains", figure(v.Hours, "h a day"))
			row("panels", figure(v.Panel, "W"))
			row("inverter", figure(v.Inverter, "W"))
			row("battery", strings.TrimSpace(figure(v.Battery, "Wh")+" "+string(v.BatteryIs)))
			row("full sun", figure(v.Sun, "h a day"))
			row("note", v.Note)
		})
		for _, o := range v.Orders {
			fmt.Fprintf(w, "%s  %s, due %s: %s\n", o.Number, o.State, o.Due, orWord(strings.Join(o.Got, ", "),
				"nothing yet"))
		}
		for _, said := range v.Said {
			fmt.Fprintf(w, "%s  %s  %s\n", d.localDate(said.At), said.Tag, arrivalWords(said))
		}
	})
}

// figure is a number with its unit, or nothing where nobody knows it.
func figure[N int | float64](n *N, unit string) string {
	if n == nil {
		return ""
	}
	return strconv.FormatFloat(float64(*n), 'f', -1, 64) + " " + unit
}
