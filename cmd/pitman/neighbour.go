package main

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"pitman/registry"
	"pitman/registry/archive"
	"pitman/registry/house"
	"pitman/registry/lookup"
	"pitman/registry/neighbours"
	"pitman/registry/planning"
	"pitman/registry/stock"
	"pitman/registry/visit"
)

func (a *app) neighbourCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "neighbour",
		Short: "What other houses have: keep their latest bundle or backup, read only",
		Long: `Keeps what stands in another house, as of the day of its bundle or backup, so that list, base list,
match and need can count it with --with-houses: what should be driven here, and what a lorry round would
bring. Nothing of it is reserved, and none of it has a stage here; verify and backup know of it.
Who gave a machine, who worked on it, and what was noted of it stay out.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(a.neighbourAddCommand(), a.neighbourListCommand(), a.neighbourDropCommand())
	return cmd
}

// neighbourView is a neighbour as it is printed.
type neighbourView struct {
	*neighbours.House
	Heads     int  `json:"heads"` // that count as theirs now
	Bases     int  `json:"bases"`
	Ready     int  `json:"ready"`
	Days      int  `json:"days_ago"`
	Old       bool `json:"old"`
	Confirmed bool `json:"key_known"`
}

func (d *workplace) neighbourViews(cmd *cobra.Command) (views []neighbourView, err error) {
	list, err := d.standing(cmd)
	if err != nil {
		return nil, err
	}
	views = []neighbourView{}
	for i := range list {
		h := &list[i]
		v := neighbourView{House: h, Heads: len(h.Heads), Bases: len(h.Bases), Days: h.Age(d.Now())}
		v.Old = v.Days >= neighbours.Old
		for _, m := range h.Heads {
			if m.Stage == registry.Ready {
				v.Ready++
			}
		}
		for _, b := range h.Bases {
			if b.Stage == registry.Ready {
				v.Ready++
			}
		}
		if h.Key != "" {
			name, err := house.Trusted(cmd.Context(), d.db, h.Key)
			if err != nil {
				return nil, err
			}
			v.Confirmed = name != ""
		}
		views = append(views, v)
	}
	return views, nil
}

// standing reads what counts as the neighbours' now.
func (d *workplace) standing(cmd *cobra.Command) (list []neighbours.House, err error) {
	err = d.Store.View(cmd.Context(), func(r stock.Reader) error {
		list, err = d.Neighbours.Standing(r)
		return err
	})
	return list, err
}

func (d *workplace) printNeighbours(w io.Writer, views []neighbourView) {
	for _, v := range views {
		fmt.Fprintf(w, "%s  %s: %s and %s, %d of them ready\n", v.Letters, v.Said(d.Now(), d.Location()),
			plural(v.Heads, "head"), plural(v.Bases, "base"), v.Ready)
		said := "from a " + v.Source
		if v.To != "" {
			said += " for " + v.To
		}
		switch {
		case v.Source == "backup":
		case v.Key == "":
			said += ", signed by nobody: whose word it is is not proved"
		case !v.Confirmed:
			said += ", signed by a key that this house does not know"
		}
		fmt.Fprintf(w, "    %s; kept %s by %s\n", said, d.localDate(v.AddedAt), v.AddedBy)
	}
}

func (a *app) neighbourAddCommand() *cobra.Command {
	var identity string
	cmd := &cobra.Command{
		Use:   "add FILE",
		Short: "Keep what stands in another house by its bundle or backup FILE",
		Long: `Reads the file as bundle in and restore do, in a folder that is thrown away, and keeps what stands
there. A later file of the same house takes the place of the one before.`,
		Example: `  pitman neighbour add from-nether-quoin.bundle --by QX
  pitman neighbour add nether-quoin-2031-05-04.tar.gz --by QX`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			keys, err := archive.ReadKeys(identity)
			if err != nil {
				return err
			}
			return a.withActor(func(d *workplace, by registry.Initials) error {
				f, err := openFile(args[0])
				if err != nil {
					return err
				}
				f.Close()
				if d.house.Lost != "" {
					return d.house.Halted()
				}
				head, err := d.db.Head(cmd.Context())
				if err != nil {
					return err
				}
				there, err := visit.Read(cmd.Context(), args[0], by, d.house, head.House, keys)
				if err != nil {
					return err
				}
				if err := there.Keep(d.house.Dir); err != nil {
					return err
				}
				return a.printKept(cmd, d, there.Letters)
			})
		},
	}
	cmd.Flags().StringVar(&identity, "identity", "", "the `FILE` with the key of an encrypted backup")
	return cmd
}

func (a *app) printKept(cmd *cobra.Command, d *workplace, letters string) error {
	views, err := d.neighbourViews(cmd)
	if err != nil {
		return err
	}
	for _, v := range views {
		if v.Letters == letters {
			return a.print(v, func(w io.Writer) { d.printNeighbours(w, []neighbourView{v}) })
		}
	}
	return nil
}

func (a *app) neighbourListCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "list",
		Short: "List the houses whose stock is kept here, and of which day it is",
		Args:  cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return a.with(func(d *workplace) error {
				views, err := d.neighbourViews(cmd)
				if err != nil {
					return err
				}
				return a.print(views, func(w io.Writer) {
					if len(views) == 0 {
						fmt.Fprintln(w,
							"Nothing of other houses is kept: pitman neighbour add FILE keeps a bundle or "+
								"backup.")
					}
					d.printNeighbours(w, views)
				})
			})
		},
	}
}

func (a *app) neighbourDropCommand() *cobra.Command {
	return &cobra.Command{
		Use:     "drop LETTERS",
		Short:   "Forget what stands in the house with these LETTERS",
		Example: `  pitman neighbour drop NQ --by QX`,
		Args:    cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.withActor(func(d *workplace, by registry.Initials) error {
				letters := strings.ToUpper(strings.TrimSpace(args[0]))
				if err := neighbours.Drop(d.house.Dir, letters); err != nil {
					return err
				}
				v := struct {
					Letters string `json:"dropped"`
				}{letters}
				return a.print(v, func(w io.Writer) {
					fmt.Fprintf(w, "What was kept of the house with the letters %s is forgotten.\n", letters)
				})
			})
		},
	}
}

// foreign is a machine of another house as it is printed.
type foreign struct {
	machineView
	House string `json:"house"`
	AsOf  string `json:"as_of"`
}

// foreignHeads lists the heads of other houses that a filter lets through, house by house.
func (d *workplace) foreignHeads(cmd *cobra.Command, f stock.MachineFilter,
	each func(h *neighbours.House, heads []stock.Machine) error) error {
	list, err := d.standing(cmd)
	if err != nil {
		return err
	}
	for i := range list {
		if err := each(&list[i], lookup.Among(list[i].Heads, f)); err != nil {
			return err
		}
	}
	return nil
}

func (d *workplace) foreign(h *neighbours.House, m *stock.Machine) foreign {
	return foreign{machineView{Machine: m, Year: m.Year(), Warnings: append([]string{}, d.Warnings(m)...)},
		h.Name,
		d.localDate(h.AsOf)}
}

// foreignBase is a base of another house as it is printed.
type foreignBase struct {
	*stock.Base
	House string `json:"house,omitempty"`
	AsOf  string `json:"as_of,omitempty"`
}

// printBasesOfAll lists the bases of this house, and behind them those of others.
func (a *app) printBasesOfAll(cmd *cobra.Command, d *workplace, own []stock.Base,
	wanted func(*stock.Base) bool) error {
	list, err := d.standing(cmd)
	if err != nil {
		return err
	}
	all := []foreignBase{}
	for i := range own {
		all = append(all, foreignBase{Base: &own[i]})
	}
	for i := range list {
		h := &list[i]
		h.Bases = slices.DeleteFunc(h.Bases, func(b stock.Base) bool { return !wanted(&b) })
		for j := range h.Bases {
			all = append(all, foreignBase{&h.Bases[j], h.Name, d.localDate(h.AsOf)})
		}
	}
	return a.print(all, func(w io.Writer) {
		printBases(w, own)
		for i := range list {
			fmt.Fprintf(w, "\n%s, in that house:\n", list[i].Said(d.Now(), d.Location()))
			printBases(w, list[i].Bases)
		}
	})
}

// withHousesFlag lets a command count what stands in other houses.
func withHousesFlag(cmd *cobra.Command, with *bool, usage string) {
	cmd.Flags().BoolVar(with, "with-houses", false, usage)
}

// roundLines say what a lorry round to each house would bring, and whether less driving might do.
func roundLines(rounds []planning.Round, driving *planning.Driving) (lines []string) {
	for _, r := range rounds {
		if len(r.Pieces) == 0 {
			lines = append(lines, fmt.Sprintf("%s: nothing there fills a place more.", r.Said))
			continue
		}
		line := fmt.Sprintf("A round to %s: %s, %s", r.Said, plural(len(r.Pieces), "piece"), r.Weight)
		if r.Weight == 0 {
			line = fmt.Sprintf("A round to %s: %s", r.Said, plural(len(r.Pieces), "piece"))
		}
		if r.Unweighed > 0 {
			line += fmt.Sprintf(" and %d not weighed", r.Unweighed)
		}
		lines = append(lines,
			fmt.Sprintf("%s; without it, %s more stay empty.", line, plural(r.Fills, "place")))
		for _, p := range r.Pieces {
			what := p.Unit
			if what == registry.UnitMachine {
				what = "head"
			}
			piece := fmt.Sprintf("  %s %s, %s", what, p.Tag, p.Name)
			if p.Place != "" {
				piece += ", at " + p.Place + " there"
			}
			piece += fmt.Sprintf(", for %s line %d", p.Order, p.Line)
			if p.With != "" {
				piece += ", with " + string(p.With)
			}
			lines = append(lines, piece)
		}
	}
	if driving != nil && driving.Pieces > 0 {
		lines = append(lines, drivingSaid(driving))
	}
	if len(lines) > 0 {
		lines = append(lines, "Nothing is reserved there: ask before anybody drives.")
	}
	return lines
}

// drivingSaid says how far it is known that no less driving does.
func drivingSaid(d *planning.Driving) string {
	houses := fmt.Sprintf("No choice of fewer than %s fills as many places: proved",
		plural(d.Houses, "house"))
	if d.Houses == 1 {
		houses = "No choice without another house fills as many places: proved"
	}
	if !d.HousesOptimal {
		houses = fmt.Sprintf("Whether fewer than %s would do is not proved", plural(d.Houses, "house"))
	}
	if d.PiecesLeast == d.Pieces {
		return houses + "; and no choice there brings fewer pieces: proved."
	}
	return fmt.Sprintf("%s; another choice there may do with fewer pieces, and none with fewer than %d.",
		houses,
		d.PiecesLeast)
}
