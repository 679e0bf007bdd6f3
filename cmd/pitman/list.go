package main

import (
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"pitman/registry"
	"pitman/registry/fields"
	"pitman/registry/lookup"
	"pitman/registry/neighbours"
	"pitman/registry/orders"
	"pitman/registry/stock"
)

func (a *app) listCommand() *cobra.Command {
	var stage, drive, made, after string
	var f stock.MachineFilter
	var withHouses bool
	cmd := &cobra.Command{
		Use:   "list",
		Short: "List machines",
		Example: `  pitman list --stage ready --drive hand
  pitman list --maker "Harrow & Finch" --made 1900-1920
  pitman list --text "drawer key"`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) (err error) {
			if stage != "" {
				if f.Stage, err = registry.ParseStage(stage); err != nil {
					return err
				}
			}
			if drive != "" {
				if f.Drive, err = registry.ParseDrive(drive); err != nil {
					return err
				}
			}
			if made != "" {
				if f.MadeFrom, f.MadeTo, err = parseSpan(made); err != nil {
					return err
				}
			}
			if after != "" {
				if f.After, err = registry.ParseTag(after); err != nil {
					return err
				}
			}
			if f.Limit < 0 {
				return registry.Errorf(registry.Invalid,
					"limit %d: give the most machines to list, such as 50", f.Limit)
			}
			return a.with(func(d *workplace) error {
				if _, err := d.Tables(); err != nil && registry.CodeOf(err) != registry.NotFound {
					// the years below stand as they were written; what was unread then may be why one lacks
					return err
				}
				if a.json {
					return d.Store.View(cmd.Context(), func(r stock.Reader) error {
						return a.printArray(func(element func(v any) error) error {
							err := lookup.Machines(r, f,
								func(m *stock.Machine) error { return element(d.view(m)) })
							if err != nil || !withHouses {
								return err
							}
							return d.foreignHeads(cmd, f,
								func(h *neighbours.House, heads []stock.Machine) error {
									for i := range heads {
										if err := element(d.foreign(h, &heads[i])); err != nil {
											return err
										}
									}
									return nil
								})
						})
					})
				}
				list := machineList{d: d, w: a.out}
				err := d.Store.View(cmd.Context(), func(r stock.Reader) error {
					return lookup.Machines(r, f, list.add)
				})
				if err != nil {
					return err
				}
				var bases int
				if f.Place != "" {
					there, err := d.Bases(cmd.Context(),
						func(b *stock.Base) bool { return strings.EqualFold(b.Place, f.Place) })
					if err != nil {
						return err
					}
					bases = len(there)
				}
				list.end()
				if bases > 0 {
					fmt.Fprintf(a.out, "and %s: pitman base list --place %q\n", plural(bases, "base"),
						f.Place)
				}
				if !withHouses {
					return nil
				}
				return d.foreignHeads(cmd, f, func(h *neighbours.House, heads []stock.Machine) error {
					fmt.Fprintf(a.out, "\n%s, in that house:\n", h.Said(d.Now(), d.Location()))
					there := machineList{d: d, w: a.out, waiting: heads}
					there.end()
					return nil
				})
			})
		},
	}
	flags := cmd.Flags()
	flags.StringVar(&stage, "stage", "", "only machines at this `STAGE`")
	flags.StringVar(&drive, "drive", "", "only machines of this `DRIVE`: hand, treadle or electric")
	flags.StringVar(&f.Maker, "maker", "", "only machines of this `MAKER`")
	flags.StringVar(&f.Place, "place", "", "only machines at this `PLACE`")
	flags.StringVar(&made, "made", "", "only machines that may be of these `YEARS`, such as 1900-1920")
	flags.BoolVar(&f.NoYear, "contradicted", false,
		"only machines whose serial number and other evidence exclude each other")
	flags.StringVar(&f.Text, "text", "",
		"only machines with this `TEXT` in any field; else with all of its words in any order, a year or a "+
			"decade among them; else with words a slip away")
	flags.IntVar(&f.Limit, "limit", 0, "list at most this `NUMBER` (0 = all)")
	withHousesFlag(cmd, &withHouses,
		"list the machines of other houses behind those of this one, with the day "+
			"of which that is")
	flags.StringVar(&after, "after", "", "go on behind this `TAG`")
	cmd.MarkFlagsMutuallyExclusive("with-houses", "after")
	cmd.MarkFlagsMutuallyExclusive("with-houses", "limit")
	return cmd
}

// goingAt asks for the order only where the stage says that there is one.
func (d *workplace) goingAt(m *stock.Machine) orders.Going {
	switch m.Stage {
	case registry.Reserved, registry.Packed, registry.Shipped:
		return d.going(m.Tag)
	}
	return orders.Going{}
}

// laidTogether is how many rows have their columns in line: more than anybody reads at once, and few enough
// that a house of any size is listed in little memory.
const laidTogether = 5000

// machineList prints machines as they come.
type machineList struct {
	d       *workplace
	w       io.Writer
	waiting []stock.Machine
	listed  int
}

func (l *machineList) add(m *stock.Machine) error {
	l.waiting = append(l.waiting, *m)
	if len(l.waiting) == laidTogether {
		l.print()
	}
	return nil
}

// end prints what waits, and how many there were.
func (l *machineList) end() {
	l.print()
	if l.listed == 0 {
		fmt.Fprintln(l.w, "No machine is like that.")
		return
	}
	fmt.Fprintln(l.w, plural(l.listed, "machine"))
}

func (l *machineList) print() {
	d := l.d
	columns(l.w, func(w io.Writer) {
		if l.listed == 0 && len(l.waiting) > 0 {
			fmt.Fprintln(w, "tag\tmaker and model\tserial\tyear\tdrive\tstage\tplace")
		}
		for i := range l.waiting {
			m := &l.waiting[i]
			stage := string(m.Stage)
			if g := d.goingAt(m); g.Order != "" {
				stage += " " + g.Order
			}
			fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\t%s\t%s", m.Tag, machineName(m), m.Serial, m.Year(), m.Drive,
				stage, orDash(m.Place))
			for _, warning := range d.Warnings(m) {
				fmt.Fprintf(w, "\t%s", warning)
			}
			fmt.Fprintln(w)
		}
	})
	l.listed += len(l.waiting)
	l.waiting = l.waiting[:0]
}

// parseSpan reads FROM-TO; either side may be left out, and one year stands for itself.
func parseSpan(s string) (from, to int, err error) {
	left, right, dash := strings.Cut(strings.ReplaceAll(s, "–", "-"), "-")
	if left != "" {
		if from, err = fields.ParseYear("made", left); err != nil {
			return 0, 0, err
		}
	}
	if right != "" {
		if to, err = fields.ParseYear("made", right); err != nil {
			return 0, 0, err
		}
	}
	if !dash {
		to = from
	}
	if from == 0 && to == 0 || to != 0 && from > to {
		return 0, 0, registry.Errorf(registry.Invalid,
			"made %q: give years as FROM-TO, the earlier first, such as 1900-1920", s)
	}
	return from, to, nil
}
