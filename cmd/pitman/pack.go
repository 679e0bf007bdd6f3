package main

import (
	"fmt"
	"io"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"pitman/registry"
	"pitman/registry/fields"
	"pitman/registry/measure"
	"pitman/registry/money"
	"pitman/registry/orders"
	"pitman/registry/packing"
)

func (a *app) orderPackCommand() *cobra.Command {
	var seenBy string
	cmd := &cobra.Command{
		Use:   "pack ORDER [TAG...]",
		Short: "Scan heads and bases into their crates, in any order; see what is missing",
		Long: `Notes that heads and bases of an order are in their crates: all that are scanned, or
none of them. What is not on the order, not ready for it, or short of its kit is refused with the
reason. Scan the labels, or give tags behind the order.`,
		Example: `  pitman order pack ORD1 --by QX
  pitman order pack ORD1 PM16 PM4Z --by QX`,
		Args: cobra.MinimumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.onOrder(args[0], func(d *workplace, by registry.Initials, number string) error {
				var seen registry.Initials
				if seenBy != "" {
					var err error
					if seen, err = registry.ParseInitials(seenBy); err != nil {
						return err
					}
				}
				tags, err := a.scanUnits(cmd.Context(), d, args[1:], "what goes into the crates of "+number)
				if err != nil {
					return err
				}
				p, err := d.Pack(cmd.Context(), by, number, tags, seen)
				if err != nil {
					return err
				}
				return a.print(p, func(w io.Writer) { printPacking(w, p) })
			})
		},
	}
	cmd.Flags().StringVar(&seenBy, "heritage-seen-by", "",
		"`INITIALS` of who took a second look at an old machine")
	return cmd
}

func printPacking(w io.Writer, p packing.Progress) {
	for _, tag := range p.Packed {
		fmt.Fprintf(w, "%s  packed\n", tag)
	}
	printCautions(w, p.Cautions...)
	if p.Done {
		what, send := "All of "+p.Order+" is packed", "order ship "+p.Order
		if but := p.But(); but != "" {
			what = "All that is on " + p.Order + " is packed; " + but
		}
		if p.Shipment != "" {
			send = "shipment ship " + p.Shipment
		} else if p.Unfilled > 0 {
			send += " --part"
		}
		fmt.Fprintf(w, "%s: pitman order list-pack %s, then pitman %s\n", what, p.Order, send)
		return
	}
	fmt.Fprintf(w, "%s missing:\n", plural(len(p.Missing), "piece"))
	columns(w, func(w io.Writer) {
		for _, u := range p.Missing {
			fmt.Fprintf(w, "  %s\t%s\t%s\t%s\n", u.Tag, u.Name, u.Stage, orDash(u.Place))
		}
	})
}

func (a *app) orderUnpackCommand() *cobra.Command {
	var why string
	cmd := &cobra.Command{
		Use:   "unpack ORDER TAG...",
		Short: "Take heads and bases out of their crates again; they stay reserved",
		Args:  cobra.MinimumNArgs(2),
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.onOrder(args[0], func(d *workplace, by registry.Initials, number string) error {
				tags, err := a.scanUnits(cmd.Context(), d, args[1:], "what comes out of the crates of "+
					number)
				if err != nil {
					return err
				}
				p, err := d.Unpack(cmd.Context(), by, number, why, tags)
				if err != nil {
					return err
				}
				return a.print(p, func(w io.Writer) { printPacking(w, p) })
			})
		},
	}
	cmd.Flags().StringVar(&why, "why", "", "`REASON`, for the history")
	return cmd
}

func (a *app) orderListPackCommand() *cobra.Command {
	var to paperFlags
	var paper string
	cmd := &cobra.Command{
		Use:   "list-pack ORDER",
		Short: "Write the packing list: text, CSV or PDF",
		Long: `Lists every piece with serial number, year, weight, tariff heading and origin, crate
by crate, with totals, pallets and how much of a 20 ft container they fill. What the house does not
know is written "not known"; on a terminal, a missing timber mark is asked for.`,
		Example: `  pitman order list-pack ORD1
  pitman order list-pack ORD1 --out packing.pdf`,
	}
	to.add(cmd)
	addPaperFlag(cmd, &paper)
	return a.lookAtOrder(cmd, func(d *workplace, number string) error {
		if err := to.check(a.json); err != nil { // before anything is asked
			return err
		}
		p, err := d.ListPacking(cmd.Context(), number, paper)
		if err != nil {
			return err
		}
		if p.TimberMark == "" && p.Paper == "" {
			if p.TimberMark, err = a.askTimberMark(cmd, d, number); err != nil {
				return err
			}
		}
		out := packingPaper(p)
		if p.Paper != "" {
			return a.printPaper(out, p, to)
		}
		out.after = append(out.after, "Registry: "+d.Safekeeping(cmd.Context()).History()+".")
		return a.printPaper(out, p, to)
	})
}

// askTimberMark asks for the mark without which customs may burn the crates, and keeps the answer with the
// order.
func (a *app) askTimberMark(cmd *cobra.Command, d *workplace, number string) (string, error) {
	if !a.onTerminal() || a.json || !a.hasActor() {
		fmt.Fprintf(a.err,
			"The crates' timber has no treatment mark (ISPM 15) on record: read it off the wood, and give "+
				"it with pitman order amend %s --timber-mark MARK\n", number)
		return "", nil
	}
	field, _ := fields.Named(orders.OrderFields, "timber-mark")
	var typed orders.Order
	err := a.asker().until("Treatment mark on the crates' timber (ISPM 15), as stamped? (Enter if none)",
		func(answer string) error { return field.Set(&typed, []string{answer}) })
	if err != nil || typed.TimberMark == "" {
		return "", err
	}
	by, err := a.actor()
	if err != nil {
		return "", err
	}
	_, err = d.AmendOrder(cmd.Context(), by, number, "", func(o *orders.Order) error {
		o.TimberMark = typed.TimberMark
		return nil
	})
	return typed.TimberMark, err
}

func packingPaper(p *packing.PackingList) *paper {
	mark := p.TimberMark
	if mark == "" {
		mark = "missing"
	}
	out := &paper{
		title: fmt.Sprintf("Packing list %s", p.Order), made: p.At,
		before: []string{
			issued(p.Issue),
			fmt.Sprintf("From %s, to %s, due %s.", p.House, consignee(p.Partner, p.Issue), p.Due),
			fmt.Sprintf("Supply there: %s. Timber treatment mark (ISPM 15): %s.", orNotKnown(p.Supply), mark),
		},
		header: []string{"crate", "tag", "what", "name", "serial", "year", "drive", "cond.", "heading",
			"origin", "value " + p.Currency,
			"net kg", "gross kg"},
		wide: []float64{.045, .075, .05, .16, .11, .1, .065, .05, .065, .08, .07, .06, .07},
	}
	crate := 0
	for _, i := range p.Items {
		value, gross := "", ""
		if i.Crate != crate { // what is said of a whole crate stands with its first piece
			crate, value, gross = i.Crate, "not known", "not known"
		}
		if i.Value != nil {
			value = strconv.FormatFloat(*i.Value, 'f', 2, 64)
		}
		if i.Gross != nil {
			gross = kilograms(*i.Gross)
		}
		out.rows = append(out.rows,
			[]string{strconv.Itoa(i.Crate), string(i.Tag), i.What, i.Name, i.Serial, i.Year, i.Drive, i.State,
				i.Heading,
				i.Country, value, kilograms(i.Net), gross})
	}
	total := fmt.Sprintf("Total: %s in %s, net %s", plural(len(p.Items), "piece"), plural(p.Crates, "crate"),
		p.Net)
	if p.Unweighed > 0 {
		total += fmt.Sprintf(" without %s whose weight is not known", plural(p.Unweighed, "piece"))
	}
	total += fmt.Sprintf(", gross %s", p.Fill.Gross)
	if p.Fill.Unweighed > 0 {
		total += fmt.Sprintf(" without %s", plural(p.Fill.Unweighed, "crate"))
	}
	if p.Value > 0 {
		total += fmt.Sprintf(", declared value %.2f %s", p.Value, p.Currency)
		if turned, into, ok := orders.Turned(p.Rate, p.Currency, money.Of(p.Value)); ok {
			total += fmt.Sprintf(" (%s %s at %s, as entered)", turned, into, p.Rate)
		}
		if p.NoValue > 0 {
			total += fmt.Sprintf(" without %s of a kind that has none", plural(p.NoValue, "crate"))
		}
	}
	out.after = append(out.after, total+".",
		fmt.Sprintf("Load: %.2f m³, %s; of a 20 ft container (ISO 668) %.0f %% by volume, %.0f %% by weight, "+
			"%.0f %% of its floor (%d pallets side by side).",
			p.Fill.CubicMetres, plural(p.Fill.Pallets, "pallet"), 100*p.Fill.Volume, 100*p.Fill.Weight,
			100*p.Fill.Floor(), p.Fill.PerFloor))
	out.after = append(out.after, p.Notes...)
	for _, c := range p.Cautions {
		out.after = append(out.after, "! "+c)
	}
	out.after = append(out.after, signatures)
	return out
}

// signatures is the line that people sign by hand.
const signatures = "Packed by: ______________________  Date: ____________    Received by: " +
	"______________________  " +
	"Date: ____________"

// issued says which paper it is; a draft says that it is one.
func issued(i packing.Issue) string {
	if i.Paper == "" {
		return "Draft: it is issued, with a number, as the order leaves."
	}
	return fmt.Sprintf("%s, issued %s by %s.", i.Paper, i.Day, i.By)
}

// consignee is who gets it, and where.
func consignee(partner string, i packing.Issue) string {
	words := []string{partner}
	for _, line := range append(strings.Split(i.Address, "\n"), i.Country, i.Contact) {
		if line != "" {
			words = append(words, line)
		}
	}
	return strings.Join(words, ", ")
}

func addPaperFlag(cmd *cobra.Command, paper *string) {
	cmd.Flags().StringVar(paper, "paper", "", "the one with this `NUMBER`, as it was issued")
}

func (a *app) orderPapersCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "papers ORDER",
		Short: "List the papers that were issued as an order left; they stay as they were",
		Example: `  pitman order papers ORD1
  pitman order list-pack ORD1 --paper PAPER1 --out packing.pdf`,
	}
	return a.lookAtOrder(cmd, func(d *workplace, number string) error {
		list, err := d.ListPapers(cmd.Context(), number)
		if err != nil {
			return err
		}
		return a.print(list, func(w io.Writer) {
			if len(list) == 0 {
				fmt.Fprintf(w, "No paper was issued with %s yet: they are as it leaves.\n", number)
			}
			for _, p := range list {
				fmt.Fprintf(w, "%s  %s  %s by %s\n", p.ID, p.What, d.localDate(p.At), p.By)
			}
		})
	})
}

func orNotKnown(s string) string {
	if s == "" {
		return "not known"
	}
	return s
}

func kilograms(m measure.Mass) string {
	if m == 0 {
		return "not known"
	}
	return strconv.FormatFloat(m.KG(), 'f', -1, 64)
}

func (a *app) orderCertificateCommand() *cobra.Command {
	var to paperFlags
	var paper string
	cmd := &cobra.Command{Use: "certificate ORDER",
		Short: "Write the sheet of tests that goes with an order: dates and initials"}
	to.add(cmd)
	addPaperFlag(cmd, &paper)
	return a.lookAtOrder(cmd, func(d *workplace, number string) error {
		if err := to.check(a.json); err != nil {
			return err
		}
		c, err := d.Certify(cmd.Context(), number, paper)
		if err != nil {
			return err
		}
		return a.printPaper(certificatePaper(c), c, to)
	})
}

func certificatePaper(c *packing.Certificate) *paper {
	p := &paper{
		title:  "Tests of the machines of " + c.Order,
		made:   c.At,
		before: []string{issued(c.Issue), fmt.Sprintf("From %s, for %s.", c.House, c.Partner)},
		header: []string{"tag", "name", "serial", "year", "drive", "function test", "by",
			"electrical safety test", "by", "class"},
		wide:  []float64{.09, .2, .13, .11, .08, .1, .05, .12, .05, .07},
		after: []string{packing.CertificateNote},
	}
	for _, t := range c.Tested {
		safety := t.SafetyAt
		if t.SafetyIn != "" {
			safety += " in the house " + t.SafetyIn
		}
		if t.SafetyWithdrawn != "" {
			safety += ", withdrawn since: " + t.SafetyWithdrawn
		}
		if t.Drive != string(registry.Electric) && safety == "" {
			safety = "no motor"
		}
		p.rows = append(p.rows,
			[]string{string(t.Tag), t.Name, t.Serial, t.Year, t.Drive, orNotKnown(t.TestedAt),
				string(t.TestedBy),
				orNotKnown(safety), string(t.SafetyBy), t.Class})
	}
	return p
}

func (a *app) orderShipCommand() *cobra.Command {
	var how packing.Delivery
	cmd := &cobra.Command{
		Use:   "ship ORDER",
		Short: "Send a packed order; with --part what is packed, and the rest stays open",
		Long: `Sends what is packed for an order, and closes it once every place has left. While
places are not filled it asks what becomes of them: --part sends what is packed and leaves the rest
open for a later delivery; --close-short WHY closes the order without the rest. Reserved pieces that
are not packed are packed or given back first.`,
		Example: `  pitman order ship ORD1 --by QX
  pitman order ship ORD1 --part --by QX
  pitman order ship ORD1 --close-short "they found the rest nearby" --by QX`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.onOrder(args[0], func(d *workplace, by registry.Initials, number string) error {
				if _, _, err := d.ShipOrder(cmd.Context(), by, number, how); err != nil {
					return err
				}
				return a.printOrderNow(cmd, d, number)
			})
		},
	}
	cmd.Flags().BoolVar(&how.Part, "part", false, "send what is packed, and leave the rest of the order open")
	cmd.Flags().StringVar(&how.CloseShort, "close-short", "",
		"close the order without its unfilled places, for this `REASON`")
	cmd.MarkFlagsMutuallyExclusive("part", "close-short")
	return cmd
}

func (a *app) orderCratesCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "crates [ORDER]",
		Short: "Show the crates to build, which boards to cut, and the table tops to make",
		Long: `Plans from the crates in house.toml under [crates] and the boards in hand in
lists/boards.csv. What must be bought comes in boards of buy_mm. The lid of a treadle crate becomes
the top of its table where it is large enough. Boards that are planned for an order served first are
not planned again; without an order, all open orders are cut at once, which starts the fewest boards.`,
		Example: `  pitman order crates ORD1
  pitman order crates`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			number := ""
			if len(args) > 0 {
				var err error
				if number, err = orders.ParseOrder(args[0]); err != nil {
					return err
				}
			}
			return a.with(func(d *workplace) (err error) {
				var plan *packing.CratePlan
				if number == "" {
					plan, err = d.PlanAllCrates(cmd.Context())
				} else {
					plan, err = d.PlanCrates(cmd.Context(), number)
				}
				if err != nil {
					return err
				}
				return a.print(plan, func(w io.Writer) { printCrates(w, plan) })
			})
		},
	}
}

func printCrates(w io.Writer, plan *packing.CratePlan) {
	if len(plan.Crates) == 0 {
		fmt.Fprintln(w, "No crate is to be built: all that is on open orders is packed.")
	}
	if len(plan.Before) > 0 {
		fmt.Fprintf(w, "Boards for %s are left to them, as served first\n", strings.Join(plan.Before, ", "))
	}
	for _, c := range plan.Crates {
		fmt.Fprintf(w, "%s for %s: %s × %s × %s outside\n", plural(c.Count, "crate"), c.For, c.Length,
			c.Width, c.Height)
	}
	for _, t := range plan.Timber {
		fmt.Fprintf(w, "%s: %s, %.1f m in all", t.Timber, plural(len(t.Cuts), "board"), t.Used.MM()/1000)
		if t.Bought > 0 {
			fmt.Fprintf(w, ", %.1f m of it to buy", t.Bought.MM()/1000)
		}
		switch {
		case t.Optimal:
			fmt.Fprintln(w, "; no plan uses less")
		case t.LeastBought < t.Bought:
			fmt.Fprintf(w, "; every plan buys %.1f m or more\n", t.LeastBought.MM()/1000)
		default:
			fmt.Fprintf(w, "; no plan that buys as little can use less than %.1f m\n", t.Least.MM()/1000)
		}
		for i := 0; i < len(t.Cuts); {
			same := i + 1
			for same < len(t.Cuts) && t.Cuts[same].String() == t.Cuts[i].String() &&
				t.Cuts[same].Bought == t.Cuts[i].Bought {
				same++
			}
			from := ""
			if t.Cuts[i].Bought {
				from = " (to buy)"
			}
			fmt.Fprintf(w, "  %d × %s%s\n", same-i, t.Cuts[i], from)
			i = same
		}
	}
	for _, top := range plan.Tops {
		fmt.Fprintf(w, "top for %s: opening %s × %s, hinge sockets %s apart; %s\n",
			pair(top.Head, top.Base), top.OpeningLength, top.OpeningWidth, top.Pins, top.Why)
	}
}

func (a *app) orderPowerCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "power ORDER",
		Short: "Check its electric machines against the partner's inverter, battery, panels and mains",
		Long: `Says how many of the order's electric machines may run at once where they go, and for how
long, with each assumption. It is a plan from nameplates and from what is kept of the partner; who
is licensed there decides what is connected.`,
		Example: `  pitman order power ORD1`,
	}
	return a.lookAtOrder(cmd, func(d *workplace, number string) error {
		plan, err := d.PlanPower(cmd.Context(), number)
		if err != nil {
			return err
		}
		return a.print(plan, func(w io.Writer) {
			fmt.Fprintf(w, "%s for %s: %s\n", plan.Order, plan.Partner, plan.Says)
			for _, m := range plan.Missing {
				fmt.Fprintf(w, "not known: %s\n", m)
			}
			for _, one := range plan.Assumptions {
				fmt.Fprintf(w, "assumed: %s\n", one)
			}
			fmt.Fprintln(w,
				"! A plan, no leave to connect: local codes and a licensed electrician there decide.")
		})
	})
}
