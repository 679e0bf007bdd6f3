package main

import (
	"context"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"pitman/registry"
	"pitman/registry/measure"
	"pitman/registry/orders"
	"pitman/registry/stock"
)

func (a *app) baseCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "base",
		Short: "Treadle bases: add, show, list, amend, note, ready",
		Long: `A treadle base is the cast-iron stand with its treadle plate, pitman and flywheel,
and the wooden top with the opening that a head drops into. It has a tag of its own. pitman fit says
which head fits which base.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(a.baseAddCommand(), a.baseShowCommand(), a.baseListCommand(), a.baseAmendCommand(),
		a.baseNoteCommand(),
		a.baseReadyCommand(), a.basePartsCommand())
	return cmd
}

func (a *app) baseAddCommand() *cobra.Command {
	var fields *fieldFlags[stock.Base]
	var tag string
	cmd := &cobra.Command{
		Use:   "add",
		Short: "Take a base in, with what is measured on it; it gets a tag",
		Long: `Takes a base in and gives it a tag for good. Whatever is not measured yet can follow
with pitman base amend; but until opening, hinge sockets and flywheel are known, no head can be said
to fit it.`,
		Example: `  pitman base add --by QX --opening 374x181 --pins 241 --flywheel 305 --parts all
  pitman base add --by QX --pattern "Alder, narrow" --opening "14 3/4 x 7 1/8 in" --parts legs,flywheel`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			var b stock.Base
			if err := fields.apply(&b); err != nil {
				return err
			}
			hangs := cmd.Flags().Changed("tag")
			if hangs {
				var err error
				if b.Tag, err = registry.ParseTag(tag); err != nil {
					return err
				}
			}
			return a.withActor(func(d *workplace, by registry.Initials) error {
				if err := settleTyped(cmd.Context(), a, d, stock.BaseFields, &b); err != nil {
					return err
				}
				if err := d.AddBase(cmd.Context(), by, &b); err != nil {
					return err
				}
				return a.print(&b, func(w io.Writer) { printBaseLogged(w, &b, hangs) })
			})
		},
	}
	fields = addFieldFlags(cmd.Flags(), stock.BaseFields)
	addTagFlag(cmd, &tag)
	return cmd
}

func printBaseLogged(w io.Writer, b *stock.Base, hangs bool) {
	fmt.Fprintf(w, "%s  %s\n", b.Tag, b.Name())
	printCautions(w, measure.LiftCaution(b.Weight, true))
	tieOn(w, b.Tag, hangs)
}

func (a *app) baseShowCommand() *cobra.Command {
	cmd := &cobra.Command{Use: "show TAG", Short: "Show one base"}
	return a.lookAtTag(cmd, func(d *workplace, tag registry.Tag) error {
		b, err := d.Base(cmd.Context(), tag)
		if err != nil {
			return err
		}
		return a.printBase(d, b)
	})
}

// printBase prints a base; every command that acts on one ends so.
// baseView is a base as it is printed.
type baseView struct {
	*stock.Base
	orders.Going
}

func (a *app) printBase(d *workplace, b *stock.Base) error {
	going := d.going(b.Tag)
	return a.print(baseView{b, going}, func(w io.Writer) {
		fmt.Fprintf(w, "%s  %s\n", b.Tag, b.Name())
		columns(w, func(w io.Writer) {
			row := func(name, value string) {
				if value != "" {
					fmt.Fprintf(w, "  %s\t%s\n", name, value)
				}
			}
			stage := fmt.Sprintf("%s since %s", b.Stage, d.localDate(b.Since))
			if b.HeldWhy != "" {
				stage += ": " + b.HeldWhy
			}
			row("stage", stage)
			row("order", goingWords(going))
			row("off order", d.lostWords(b.Tag, b.Since))
			row("handed to", b.HandedTo)
			row("opening", byWidth(b.OpeningLength, b.OpeningWidth))
			row("hinge sockets", b.Pins.String())
			row("flywheel", b.Flywheel.String())
			row("centre", b.Centre.String())
			row("shaft to top", ifKnown(b.ShaftToTop))
			row("belt", ifKnown(b.Belt))
			row("side", string(b.Side))
			row("top", string(b.Top))
			row("parts", orDash(strings.Join(b.Parts, ", ")))
			row("weight", b.Weight.String())
			row("stored", string(b.Form))
			row("condition", b.Condition)
			row(placeName(b.Here()), b.Place)
			row("donor", b.Donor)
			row("arrived with", string(b.ArrivedWith))
			row("note", b.Note)
			row("logged", fmt.Sprintf("%s by %s", d.localDate(b.LoggedAt), b.LoggedBy))
		})
		printCautions(w, measure.LiftCaution(b.Weight, true))
	})
}

// printCautions shows the sentences that keep people whole where they meet the danger; empty ones are left
// out.
func printCautions(w io.Writer, cautions ...string) {
	for _, text := range cautions {
		if text != "" {
			fmt.Fprintf(w, "! %s\n", text)
		}
	}
}

func byWidth(length, width measure.Length) string {
	if !length.Known() && !width.Known() {
		return "unknown"
	}
	return fmt.Sprintf("%s × %s", length, width)
}

func ifKnown(l measure.Length) string {
	if !l.Known() {
		return ""
	}
	return l.String()
}

func (a *app) baseListCommand() *cobra.Command {
	var stage, place string
	var withHouses bool
	cmd := &cobra.Command{
		Use:   "list",
		Short: "List bases",
		Args:  cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			var at registry.Stage
			if stage != "" {
				var err error
				if at, err = registry.ParseStage(stage); err != nil {
					return err
				}
			}
			return a.with(func(d *workplace) error {
				wanted := func(b *stock.Base) bool {
					return (at == "" || b.Stage == at) && (place == "" || strings.EqualFold(b.Place, place))
				}
				bases, err := d.Bases(cmd.Context(), wanted)
				if err != nil {
					return err
				}
				if withHouses {
					return a.printBasesOfAll(cmd, d, bases, wanted)
				}
				return a.print(bases, func(w io.Writer) { printBases(w, bases) })
			})
		},
	}
	cmd.Flags().StringVar(&stage, "stage", "", "only bases at this `STAGE`")
	cmd.Flags().StringVar(&place, "place", "", "only bases at this `PLACE`")
	withHousesFlag(cmd, &withHouses,
		"list the bases of other houses behind those of this one, with the day of "+
			"which that is")
	return cmd
}

func printBases(w io.Writer, bases []stock.Base) {
	if len(bases) == 0 {
		fmt.Fprintln(w, "No base is like that.")
		return
	}
	columns(w, func(w io.Writer) {
		fmt.Fprintln(w, "tag\tbase\topening\tpins\tflywheel\ttop\tweight\tstage\tplace")
		for i := range bases {
			b := &bases[i]
			fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\n", b.Tag, b.Name(),
				byWidth(b.OpeningLength, b.OpeningWidth), b.Pins, b.Flywheel,
				b.Top, b.Weight, b.Stage, orDash(b.Place))
		}
	})
	fmt.Fprintln(w, plural(len(bases), "base"))
}

func (a *app) baseAmendCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:     "amend TAG",
		Short:   "Correct what is known of a base; the history keeps the old values",
		Example: `  pitman base amend PM24 --by QX --pins 244 --why "measured again, with callipers"`,
	}
	return amends(a, cmd, stock.BaseFields, registry.DoAmendBase, "pins", "241",
		func(d *workplace, by registry.Initials, tag registry.Tag, why string,
			correct func(*stock.Base) error) error {
			was, err := d.Base(cmd.Context(), tag)
			if err != nil {
				return err
			}
			correct, err = settleCorrected(cmd.Context(), a, d, stock.BaseFields, was, correct)
			if err != nil {
				return err
			}
			b, err := d.AmendBase(cmd.Context(), by, tag, why, correct)
			if err != nil {
				return err
			}
			return a.printBase(d, b)
		})
}

func (a *app) baseReadyCommand() *cobra.Command {
	cmd := &cobra.Command{Use: "ready TAG", Short: "Put a base into stock, once every needed part is there"}
	return a.onTag(cmd, func(d *workplace, by registry.Initials, tag registry.Tag) error {
		b, err := d.ReadyBase(cmd.Context(), by, tag)
		if err != nil {
			return err
		}
		return a.printBase(d, b)
	})
}

// onBase does to a base what a command does to machines, if the tag is a base's.
func (a *app) onBase(ctx context.Context, d *workplace, tag registry.Tag,
	do func() (*stock.Base, error)) (done bool, err error) {
	is, err := d.IsBase(ctx, tag)
	if err != nil || !is {
		return false, err
	}
	b, err := do()
	if err != nil {
		return true, err
	}
	return true, a.printBase(d, b)
}

func (a *app) baseNoteCommand() *cobra.Command {
	return &cobra.Command{
		Use:     "note TAG TEXT",
		Short:   "Note something about a base; the history keeps earlier notes",
		Example: `  pitman base note PM24 "left leg brazed" --by QX`,
		Args:    cobra.MinimumNArgs(2),
		RunE: func(cmd *cobra.Command, args []string) error {
			tag, err := registry.ParseTag(args[0])
			if err != nil {
				return err
			}
			return a.withActor(func(d *workplace, by registry.Initials) error {
				b, err := d.NoteBase(cmd.Context(), by, tag, strings.Join(args[1:], " "))
				if err != nil {
					return err
				}
				return a.printBase(d, b)
			})
		},
	}
}

func (a *app) basePartsCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "parts",
		Short: "Print the list of a base's parts, from the house's base-parts.csv",
		Args:  cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			return a.with(func(d *workplace) error {
				parts, err := d.Lists.Stock.BaseParts()
				if err != nil {
					return err
				}
				return a.print(parts, func(w io.Writer) {
					columns(w, func(w io.Writer) {
						for _, p := range parts {
							needed := ""
							if p.Needed {
								needed = "needed"
							}
							fmt.Fprintf(w, "%s\t%s\t%s\n", p.Part, p.What, needed)
						}
					})
				})
			})
		},
	}
}
