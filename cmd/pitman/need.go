package main

import (
	"fmt"
	"io"
	"strconv"
	"time"

	"github.com/spf13/cobra"

	"pitman/labels"
	"pitman/registry"
	"pitman/registry/appeals"
	"pitman/registry/fields"
)

func (a *app) needCommand() *cobra.Command {
	var to paperFlags
	var withHouses, poster bool
	cmd := &cobra.Command{
		Use:   "need",
		Short: "Say what all open orders lack, for a sheet to supporters",
		Long: `Sums up what open orders lack once stock has filled what it can: places by drive, bases by bed
pattern with their measures, kit items, money for local purchases, and timber. Each pattern of base is counted
alone: what it would fill if as many came as treadle places are empty. A PDF has a drawing of each pattern's
opening with its measures; --poster makes a sheet for the wall of them, A3.`,
		Example: `  pitman need
  pitman need -o need.pdf
  pitman need --poster -o wanted.pdf
  pitman need pledge "treadle bases: Elm" 3 --from "the Fern Hill group" --by QX`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if err := to.check(a.json); err != nil {
				return err
			}
			return a.with(func(d *workplace) error {
				n, err := d.Appeal(cmd.Context(), withHouses)
				if err != nil {
					return err
				}
				if poster {
					return a.writeWanted(to, n, d)
				}
				return a.printPaper(needPaper(n, d), n, to)
			})
		},
	}
	to.add(cmd)
	cmd.Flags().BoolVar(&poster, "poster", false,
		"make a sheet for the wall, A3: the bases that are wanted, drawn, and the rest in words")
	withHousesFlag(cmd, &withHouses, "count what other houses have first, and say what to drive here")
	cmd.AddCommand(a.needPledgeCommand(), a.needPledgesCommand(),
		a.needEndCommand("arrived PLEDGE", "Note that a pledge came; log or count what it is",
			appeals.PledgeArrived),
		a.needEndCommand("dropped PLEDGE", "Note that a pledge will not come", appeals.PledgeDropped))
	return cmd
}

// needPaper is the sheet for supporters: what is lacking, how many, and how many of them are pledged.
func needPaper(n *appeals.Appeal, d *workplace) *paper {
	p := &paper{title: "What open orders still lack",
		before: []string{fmt.Sprintf("%s, as of %s.", d.Config.House.Name,
			d.Now().In(d.Location()).Format(time.DateOnly))},
		header: []string{"what", "how many", "more about it", "pledged"},
		wide:   []float64{0.3, 0.15, 0.45, 0.1}}
	var lines []string
	add := func(what, many, why string) {
		pledged := "-"
		if sum := n.Pledged(what); sum > 0 {
			pledged = strconv.FormatFloat(sum, 'f', -1, 64)
		}
		lines = append(lines, what)
		p.rows = append(p.rows, []string{what, many, why, pledged})
	}
	for _, h := range n.Heads {
		why := "due from " + h.Due
		if h.Coming > 0 {
			why += fmt.Sprintf("; %d of them on the bench or before a test", h.Coming)
		}
		if h.NoBase > 0 {
			why += fmt.Sprintf("; %d of them without a base", h.NoBase)
		}
		add(string(h.Drive)+" machines", fmt.Sprint(h.Empty), why)
	}
	for _, b := range n.Bases {
		add("treadle bases: "+b.Pattern, fmt.Sprintf("up to %d", b.Fill),
			fmt.Sprintf("opening %s × %s, hinge sockets %s apart, such as %s", b.OpeningLength,
				b.OpeningWidth,
				b.Pins, b.Like))
	}
	for _, k := range n.Kits {
		add("for kits: "+k.Part, fmt.Sprint(k.Short), fmt.Sprintf("%d wanted, %d in stock", k.Want, k.Stock))
	}
	for _, m := range n.Money {
		why := fmt.Sprintf("for %s bought locally", plural(m.Places-m.NoPrice, "place"))
		if m.NoPrice > 0 {
			why += fmt.Sprintf("; no price is known for %d more", m.NoPrice)
		}
		amount := fmt.Sprintf("%.2f %s", m.Amount, m.Currency)
		if m.NoPrice == m.Places {
			amount = "some " + m.Currency
			why = fmt.Sprintf("no price is known for %s bought locally", plural(m.Places, "place"))
		}
		add("money", amount, why)
	}
	for _, t := range n.Timber {
		why := fmt.Sprintf("%.1f m for the crates of all open orders", t.Total.MM()/1000)
		if t.Proved {
			why += "; no plan needs less"
		} else {
			why += fmt.Sprintf("; no plan can need less than %.1f m", t.Least.MM()/1000)
		}
		add("timber: "+t.Timber, fmt.Sprintf("%d × %s", t.Boards, t.Length), why)
	}
	p.after = append(p.after, noTimber(n)...)
	p.after = append(p.after, roundLines(n.Rounds, n.Driving)...)
	for _, pledge := range n.Unasked(lines) {
		p.after = append(p.after, fmt.Sprintf("Pledged beside these: %s × %s, from %s.",
			strconv.FormatFloat(pledge.Quantity, 'f', -1, 64), pledge.What, pledge.Who))
	}
	if len(n.Bases) > 0 {
		p.drawn = func() ([]*labels.Drawing, error) { return drawBeds(n, d) }
	}
	if len(p.rows) == 0 && n.NoTimber == "" {
		p.before = append(p.before, "Open orders lack nothing that stock does not have.")
	}
	return p
}

// noTimber says so where the timber of the crates is not among what is lacking.
func noTimber(n *appeals.Appeal) []string {
	if n.NoTimber == "" {
		return nil
	}
	return []string{"Timber of the crates is not counted: " + n.NoTimber + "."}
}

func (a *app) needPledgeCommand() *cobra.Command {
	var given *fieldFlags[appeals.Pledge]
	cmd := &cobra.Command{
		Use:   "pledge WHAT QUANTITY",
		Short: "Keep what somebody will bring, until it comes; WHAT as pitman need calls it",
		Example: `  pitman need pledge "treadle bases: Elm" 3 --from "the Fern Hill group" --date 2032-02-01 --by QX
  pitman need pledge money 250 --from "Marsh Lane bakery" --by QX`,
		Args: cobra.ExactArgs(2),
		RunE: func(cmd *cobra.Command, args []string) error {
			var p appeals.Pledge
			if err := given.apply(&p); err != nil {
				return err
			}
			return a.withActor(func(d *workplace, by registry.Initials) error {
				if err := d.AddPledge(cmd.Context(), by, &p, args[0], args[1]); err != nil {
					return err
				}
				return a.print(&p, func(w io.Writer) { printPledges(w, []appeals.Pledge{p}) })
			})
		},
	}
	given = addFieldFlags(cmd.Flags(), appeals.Fields)
	return cmd
}

func (a *app) needPledgesCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "pledges",
		Short: "List what was pledged, and what became of it",
		Args:  cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return a.with(func(d *workplace) error {
				list, err := d.ListPledges(cmd.Context())
				if err != nil {
					return err
				}
				return a.print(list, func(w io.Writer) { printPledges(w, list) })
			})
		},
	}
}

func printPledges(w io.Writer, list []appeals.Pledge) {
	if len(list) == 0 {
		fmt.Fprintln(w, "Nothing is pledged.")
		return
	}
	columns(w, func(w io.Writer) {
		fmt.Fprintln(w, "pledge\twhat\thow many\tfrom\texpected\tstate")
		for _, p := range list {
			state := string(p.State)
			if p.Ended != "" {
				state += " " + p.Ended
			}
			fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\t%s\n", p.ID, p.What,
				strconv.FormatFloat(p.Quantity, 'f', -1, 64), p.Who, orDash(p.Day), state)
		}
	})
}

func (a *app) needEndCommand(use, short string, state appeals.PledgeState) *cobra.Command {
	var day, why string
	cmd := &cobra.Command{
		Use:   use,
		Short: short,
		Args:  cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.withActor(func(d *workplace, by registry.Initials) (err error) {
				if day != "" {
					if day, err = fields.ParseDay("date", day); err != nil {
						return err
					}
				}
				p, err := d.EndPledge(cmd.Context(), by, args[0], day, why, state)
				if err != nil {
					return err
				}
				return a.print(p, func(w io.Writer) { printPledges(w, []appeals.Pledge{*p}) })
			})
		},
	}
	cmd.Flags().StringVar(&day, "date", "", "`DATE` of it (today unless said)")
	cmd.Flags().StringVar(&why, "why", "", "`REASON`, for the history")
	return cmd
}
