package main

import (
	"fmt"
	"io"
	"strconv"

	"github.com/spf13/cobra"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/spares"
)

func (a *app) spareCommand() *cobra.Command {
	cmd := &cobra.Command{Use: "spare", Short: "Spare parts: take, fit, list, need, count, sell",
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() }}
	cmd.AddCommand(a.spareTakeCommand(), a.spareFitCommand(), a.spareListCommand(), a.spareNeedCommand(),
		a.spareCountCommand(), a.spareSellCommand())
	return cmd
}

// spareView is a part as it is printed, with the code that people use for it.
type spareView struct {
	ID string `json:"id"`
	*spares.Spare
}

func (a *app) spareTakeCommand() *cobra.Command {
	var place string
	cmd := &cobra.Command{
		Use:     "take TAG PART",
		Short:   "Take a part off a stripped machine and put it on the shelf",
		Example: `  pitman spare take PM16 handwheel --by QX --place "drawer 4"`,
		Args:    cobra.ExactArgs(2),
		RunE: func(cmd *cobra.Command, args []string) error {
			tag, err := registry.ParseTag(args[0])
			if err != nil {
				return err
			}
			return a.withActor(func(d *workplace, by registry.Initials) error {
				m, s, err := d.TakeSpare(cmd.Context(), by, tag, args[1], place)
				if err != nil {
					return err
				}
				return a.print(spareView{s.Code(), s}, func(w io.Writer) {
					for _, warning := range d.Warnings(m) {
						fmt.Fprintf(w, "%s: %s\n", m.Tag, warning)
					}
					fmt.Fprintf(w, "%s  %s from %s. Write %s on it.\n", s.Code(), s.Part, s.TakenFrom,
						s.Code())
					if came := s.Came(); came != "" {
						fmt.Fprintf(w, "! it %s\n", came)
					}
					printCautions(w, bench.CautionsFor(m, nil)...)
				})
			})
		},
	}
	cmd.Flags().StringVar(&place, "place", "", "`PLACE` where it lies")
	return cmd
}

func (a *app) spareFitCommand() *cobra.Command {
	var use spares.PartUse
	cmd := &cobra.Command{
		Use:   "fit TAG PART",
		Short: "Fit a part to a machine on the bench: from the shelf, or bought",
		Example: `  pitman spare fit PM16 handwheel --by QX --from S12
  pitman spare fit PM16 needle --by QX --bought`,
		Args: cobra.ExactArgs(2),
		RunE: func(cmd *cobra.Command, args []string) error {
			tag, err := registry.ParseTag(args[0])
			if err != nil {
				return err
			}
			use.Part = args[1]
			return a.withActor(func(d *workplace, by registry.Initials) error {
				m, fitted, err := d.FitSpare(cmd.Context(), by, tag, use)
				if err != nil {
					return err
				}
				v := struct {
					machineView
					Fitted string `json:"fitted"`
				}{d.view(m), fitted}
				return a.printActed(d, m, v, func(w io.Writer) {
					fmt.Fprintf(w, "Fitted: %s\n", fitted)
					printCautions(w, bench.CautionsFor(m, nil)...)
				})
			})
		},
	}
	cmd.Flags().StringVar(&use.From, "from", "",
		"`CODE` of the part on the shelf, such as S12 (else the one that lay there longest)")
	cmd.Flags().BoolVar(&use.Bought, "bought", false, "it was bought for this machine")
	return cmd
}

func (a *app) spareListCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "list [TAG]",
		Short: "List the shelf, or what is left on a machine",
		Args:  cobra.MaximumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) == 1 {
				tag, err := registry.ParseTag(args[0])
				if err != nil {
					return err
				}
				return a.with(func(d *workplace) error { return a.printLeft(cmd, d, tag) })
			}
			return a.with(func(d *workplace) error {
				shelf, err := d.SpareShelf(cmd.Context())
				if err != nil {
					return err
				}
				v := struct {
					Spares   []spareView     `json:"spares"`
					Supplies []spares.Supply `json:"supplies"`
				}{[]spareView{}, shelf.Supplies}
				for i := range shelf.SpareShelf {
					v.Spares = append(v.Spares, spareView{shelf.SpareShelf[i].Code(), &shelf.SpareShelf[i]})
				}
				return a.print(v, func(w io.Writer) {
					if len(v.Spares)+len(v.Supplies) == 0 {
						fmt.Fprintln(w, "Nothing is on the shelf.")
						return
					}
					columns(w, func(w io.Writer) {
						fmt.Fprintln(w, "code\tpart\tfrom\tmaker and model\tplace")
						for _, s := range v.Spares {
							fmt.Fprintf(w, "%s\t%s\t%s\t%s %s\t%s\n", s.ID, s.Part,
								orDash(string(s.TakenFrom)), s.Maker, s.Model, orDash(s.Place))
						}
					})
					for _, s := range v.Spares {
						if came := s.Came(); came != "" {
							fmt.Fprintf(w, "! %s %s\n", s.ID, came)
						}
					}
					for _, s := range v.Supplies {
						fmt.Fprintf(w, "%d × %s\n", s.Count, s.Part)
					}
				})
			})
		},
	}
}

func (a *app) printLeft(cmd *cobra.Command, d *workplace, tag registry.Tag) error {
	m, left, err := d.LeftOn(cmd.Context(), tag)
	if err != nil {
		return err
	}
	v := struct {
		Tag   registry.Tag      `json:"tag"`
		Stage registry.Stage    `json:"stage"`
		Left  []spares.PartKind `json:"left"`
	}{tag, m.Stage, left}
	return a.print(v, func(w io.Writer) {
		fmt.Fprintf(w, "%s  %s, %s. Still on it, by the house's list:\n", tag, machineName(m), m.Stage)
		for _, warning := range d.Warnings(m) {
			fmt.Fprintf(w, "  %s\n", warning)
		}
		columns(w, func(w io.Writer) {
			for _, p := range left {
				fmt.Fprintf(w, "  %s\t%s\n", p.Part, p.What)
			}
		})
	})
}

func (a *app) spareNeedCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "need [TAG PART]",
		Short: "Note that a machine waits for a part, or list what machines wait for",
		Example: `  pitman spare need
  pitman spare need PM16 feed-dog --by QX`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 0 && len(args) != 2 {
				return registry.Errorf(registry.Invalid,
					"give a tag and a part, or nothing to list what machines wait for")
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) == 2 {
				tag, err := registry.ParseTag(args[0])
				if err != nil {
					return err
				}
				return a.withActor(func(d *workplace, by registry.Initials) error {
					m, err := d.NeedSpare(cmd.Context(), by, tag, args[1])
					if err != nil {
						return err
					}
					return a.printActed(d, m, d.view(m), nil)
				})
			}
			return a.with(func(d *workplace) error {
				needs, err := d.Needs(cmd.Context())
				if err != nil {
					return err
				}
				return a.print(needs, func(w io.Writer) {
					if len(needs) == 0 {
						fmt.Fprintln(w, "No machine waits for a part.")
					}
					columns(w, func(w io.Writer) {
						for _, n := range needs {
							fmt.Fprintf(w, "%s\t%s\tsince %s\t%d on the shelf\n", n.Tag, n.Part,
								d.localDate(n.Since), n.OnShelf)
						}
					})
				})
			})
		},
	}
}

func (a *app) spareCountCommand() *cobra.Command {
	return &cobra.Command{
		Use:     "count PART NUMBER",
		Short:   "Set how many of a small thing are there: needles, belts, bobbins, tyres, oil",
		Example: `  pitman spare count needle 120 --by QX`,
		Args:    cobra.ExactArgs(2),
		RunE: func(cmd *cobra.Command, args []string) error {
			n, err := strconv.Atoi(args[1])
			if err != nil {
				return registry.Errorf(registry.Invalid,
					"number %q is not a quantity: type a whole number such as 20", args[1])
			}
			return a.withActor(func(d *workplace, by registry.Initials) error {
				s, err := d.CountSupply(cmd.Context(), by, args[0], n)
				if err != nil {
					return err
				}
				return a.print(s, func(w io.Writer) { fmt.Fprintf(w, "%d × %s\n", s.Count, s.Part) })
			})
		},
	}
}
