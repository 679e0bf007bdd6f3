package main

import (
	"context"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"pitman/registry"
	"pitman/registry/electrical"
	"pitman/registry/house"
	"pitman/registry/spares"
)

func (a *app) kitCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "kit",
		Short: "What goes with each machine: needles, bobbins, belt, oil, care sheet; and the stock of it",
		Long: `Every machine leaves with a kit, by the house's list lists/kits.csv. Small things
come out of a stock that is counted; real parts, such as a shuttle or a foot control, are on the
machine itself.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(a.kitListCommand(), a.kitShowCommand(), a.kitPutCommand(), a.kitBackCommand(),
		a.kitStockCommand())
	return cmd
}

func (a *app) kitListCommand() *cobra.Command {
	var drive string
	cmd := &cobra.Command{
		Use:   "list",
		Short: "Print the house's list of what goes with each kind of machine",
		Args:  cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			var as registry.Drive
			if drive != "" {
				var err error
				if as, err = registry.ParseDrive(drive); err != nil {
					return err
				}
			}
			return a.with(func(d *workplace) error {
				all, err := d.Lists.Spares.Kits()
				if err != nil {
					return err
				}
				list := []spares.KitRow{}
				for _, k := range all {
					if as == "" || k.Drives.Has(as) {
						list = append(list, k)
					}
				}
				return a.print(list, func(w io.Writer) {
					columns(w, func(w io.Writer) {
						fmt.Fprintln(w, "part\teach\tdrive\tneedle\tbobbin\tplug")
						for _, k := range list {
							var drives []string
							for _, drive := range k.Drives {
								drives = append(drives, string(drive))
							}
							if len(drives) == 0 {
								drives = []string{"any"}
							}
							fmt.Fprintf(w, "%s\t%d\t%s\t%s\t%s\t%s\n", k.Part, k.Quantity,
								strings.Join(drives, " "), orDash(k.Needle), orDash(k.Bobbin), orDash(k.Plug))
						}
					})
				})
			})
		},
	}
	cmd.Flags().StringVar(&drive, "drive", "",
		"only what goes with machines of this `DRIVE`: hand, treadle or electric")
	return cmd
}

// leavingFlags add how a machine goes out to a command.
func leavingFlags(cmd *cobra.Command) func() (spares.Leaving, error) {
	var as, plug string
	cmd.Flags().StringVar(&as, "as", "",
		"`DRIVE` as which it leaves: hand, treadle or electric (else as its order says, or its drive)")
	cmd.Flags().StringVar(&plug, "plug", "",
		"plug of where it goes to, by its `LETTER` in IEC World Plugs, such as G (else its order's)")
	return func() (out spares.Leaving, err error) {
		if as != "" {
			if out.As, err = registry.ParseDrive(as); err != nil {
				return out, err
			}
		}
		out.Plug, err = electrical.ParsePlug(plug)
		return out, err
	}
}

func (a *app) kitShowCommand() *cobra.Command {
	cmd := &cobra.Command{Use: "show TAG",
		Short: "Show what goes with a machine, and what its kit still lacks"}
	leaving := leavingFlags(cmd)
	return a.lookAtTag(cmd, func(d *workplace, tag registry.Tag) error {
		out, err := leaving()
		if err != nil {
			return err
		}
		kit, err := d.Kit(cmd.Context(), tag, out)
		if err != nil {
			return err
		}
		return a.printKit(kit, out)
	})
}

func (a *app) kitPutCommand() *cobra.Command {
	cmd := &cobra.Command{Use: "put TAG", Short: "Put with a machine what its kit lacks, out of the stock"}
	leaving := leavingFlags(cmd)
	return a.onTag(cmd, func(d *workplace, by registry.Initials, tag registry.Tag) error {
		out, err := leaving()
		if err != nil {
			return err
		}
		kit, err := d.PutKit(cmd.Context(), by, tag, out)
		if err != nil {
			return err
		}
		return a.printKit(kit, out)
	})
}

// printKit prints a kit, and the command that fills it for a machine that leaves so.
func (a *app) printKit(kit spares.Kit, out spares.Leaving) error {
	return a.print(kit, func(w io.Writer) {
		fmt.Fprintf(w, "%s leaves as %s machine with:\n", kit.Tag, kit.As)
		columns(w, func(w io.Writer) {
			for _, l := range kit.Lines {
				fmt.Fprintf(w, "  %d of %d\t%s\t%s\t%d in stock\n", min(l.Have, l.Want), l.Want, l.Part,
					l.What, l.Stock)
			}
		})
		printCautions(w, kit.Warnings...)
		if len(kit.Lacks) == 0 {
			fmt.Fprintln(w, "The kit is whole.")
		}
		put := false
		for _, lack := range kit.Lacks {
			i := slices.IndexFunc(kit.Lines, func(l spares.KitLine) bool { return l.Part == lack.Part })
			switch {
			case i < 0:
				fmt.Fprintf(w, "  lacks: %s\n", withCommands(lack.Why, lack.Next))
			case kit.Lines[i].Own:
				fmt.Fprintf(w, "  lacks: %s, a part of its own: on the bench, pitman spare fit %s %s\n",
					lack.Why, kit.Tag, lack.Part)
			case kit.Lines[i].Stock < lack.Count:
				fmt.Fprintf(w, "  lacks: %s, %d in stock\n", lack.Why, kit.Lines[i].Stock)
			default:
				put = true
			}
		}
		if put {
			fmt.Fprintf(w, "Put the rest with it: pitman kit put %s%s\n", kit.Tag, leavingWords(out))
		}
	})
}

func leavingWords(out spares.Leaving) (flags string) {
	if out.As != "" {
		flags += " --as " + string(out.As)
	}
	if out.Plug != "" {
		flags += " --plug " + out.Plug
	}
	return flags
}

func (a *app) kitBackCommand() *cobra.Command {
	cmd := &cobra.Command{Use: "back TAG", Short: "Put the small things of a machine's kit back into stock"}
	return a.onTag(cmd, func(d *workplace, by registry.Initials, tag registry.Tag) error {
		back, err := d.TakeKitBack(cmd.Context(), by, tag)
		if err != nil {
			return err
		}
		return a.print(back, func(w io.Writer) {
			for _, item := range back {
				fmt.Fprintf(w, "%d × %s\n", item.Count, item.Part)
			}
			if len(back) == 0 {
				fmt.Fprintf(w, "Nothing was with %s.\n", tag)
			}
		})
	})
}

func (a *app) kitStockCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "stock",
		Short: "Show how many small things there are; add, take or count them",
		Args:  cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return a.with(func(d *workplace) error {
				labelStock, err := d.KitStock(cmd.Context())
				if err != nil {
					return err
				}
				return a.print(labelStock, func(w io.Writer) {
					columns(w, func(w io.Writer) {
						for _, s := range labelStock {
							fmt.Fprintf(w, "%d\t%s\t%s\n", s.Count, s.Part, s.What)
						}
					})
				})
			})
		},
	}
	take := func(w *house.Workshop, ctx context.Context, by registry.Initials, part string,
		n int) (*spares.Supply, error) {
		return w.ChangeSupply(ctx, by, part, -n)
	}
	cmd.AddCommand(a.stockStep("add", "Add small things that came in", 1, (*house.Workshop).ChangeSupply),
		a.stockStep("take", "Take small things out, for use or because they are no good", 1, take),
		a.stockStep("count", "Say how many there are, after counting them", 0, (*house.Workshop).CountSupply))
	return cmd
}

// stockAction changes how many of a small thing there are.
type stockAction func(w *house.Workshop, ctx context.Context, by registry.Initials, part string,
	n int) (*spares.Supply, error)

func (a *app) stockStep(name, short string, least int, do stockAction) *cobra.Command {
	return &cobra.Command{
		Use:   name + " PART NUMBER",
		Short: short,
		Args:  cobra.ExactArgs(2),
		RunE: func(cmd *cobra.Command, args []string) error {
			n, err := strconv.Atoi(args[1])
			if err != nil || n < least || n > 1_000_000 {
				return registry.Errorf(registry.Invalid,
					"number %q is not a quantity: type a whole number from %d, such as 20", args[1], least)
			}
			return a.withActor(func(d *workplace, by registry.Initials) error {
				s, err := do(d.Workshop, cmd.Context(), by, args[0], n)
				if err != nil {
					return err
				}
				return a.print(s, func(w io.Writer) { fmt.Fprintf(w, "%d × %s\n", s.Count, s.Part) })
			})
		},
	}
}
