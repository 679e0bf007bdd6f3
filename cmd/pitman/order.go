package main

import (
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"pitman/registry"
	"pitman/registry/electrical"
	"pitman/registry/orders"
	"pitman/registry/promise"
)

func (a *app) orderCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "order",
		Short: "Orders of partners: open, line, list, show, release, swap, pack, ship",
		Long: `An order is what a partner asks for by a date: so many treadle sets, hand machines
and electric machines. pitman match fills the open orders from stock, together, in the best way
there is.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(a.orderOpenCommand(), a.orderLineCommand(), a.orderListCommand(), a.orderShowCommand(),
		a.orderAmendCommand(),
		a.orderChangeCommand(), a.orderReleaseCommand(), a.orderSwapCommand(), a.orderPackCommand(),
		a.orderUnpackCommand(), a.orderListPackCommand(),
		a.orderCertificateCommand(), a.orderGiftCommand(), a.orderCareCommand(),
		a.orderCareCardsCommand(), a.orderCrateLabelsCommand(), a.orderCratesCommand(),
		a.orderPowerCommand(), a.orderPapersCommand(),
		a.orderShipCommand(),
		a.orderCancelCommand())
	return cmd
}

func (a *app) orderOpenCommand() *cobra.Command {
	var fields *fieldFlags[orders.Order]
	cmd := &cobra.Command{
		Use:   "open",
		Short: "Take an order in; it gets a number",
		Example: `  pitman order open --by QX --for "Marsh Lane centre" --due 2032-03-01
  pitman order open --by QX --for "Marsh Lane centre" --due 2032-03-01 --supply 230V/50Hz/G --priority 2`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			var o orders.Order
			if err := fields.apply(&o); err != nil {
				return err
			}
			return a.withActor(func(d *workplace, by registry.Initials) (err error) {
				if o.Partner, err = a.settleWord(cmd.Context(), a.asker(), d.Words(), "partner", "",
					o.Partner); err != nil {
					return err
				}
				if err := d.OpenOrder(cmd.Context(), by, &o); err != nil {
					return err
				}
				return a.print(&o, func(w io.Writer) {
					fmt.Fprintf(w, "%s  for %s, due %s\n", o.Number, o.Partner, o.Due)
					fmt.Fprintf(w, "Next: pitman order line %s treadle-set 20 (or hand, or electric)\n",
						o.Number)
				})
			})
		},
	}
	fields = addFieldFlags(cmd.Flags(), orders.OrderFields)
	return cmd
}

func (a *app) orderLineCommand() *cobra.Command {
	var fields *fieldFlags[orders.OrderLine]
	cmd := &cobra.Command{
		Use:   "line ORDER KIND QTY",
		Short: "Ask for so many of a kind in an order: treadle-set, hand or electric",
		Example: `  pitman order line ORD1 treadle-set 20 --by QX
  pitman order line ORD1 electric 5 --made-after 1960 --stitch zigzag --by QX`,
		Args: cobra.ExactArgs(3),
		RunE: func(cmd *cobra.Command, args []string) error {
			number, err := orders.ParseOrder(args[0])
			if err != nil {
				return err
			}
			l, err := orders.NewLine(number, args[1], args[2])
			if err != nil {
				return err
			}
			if err := fields.apply(l); err != nil {
				return err
			}
			return a.withActor(func(d *workplace, by registry.Initials) error {
				if err := d.AddLine(cmd.Context(), by, l); err != nil {
					return err
				}
				return a.print(l, func(w io.Writer) {
					fmt.Fprintf(w, "%s line %d: %d × %s%s\n", l.Order, l.Line, l.Asked, l.Wanted,
						lineLimits(l))
				})
			})
		},
	}
	fields = addFieldFlags(cmd.Flags(), orders.LineFields)
	return cmd
}

// lineLimits says what a line asks for beside its kind.
func lineLimits(l *orders.OrderLine) string {
	var limits []string
	if l.MadeAfter != 0 {
		limits = append(limits, fmt.Sprintf("made after %d", l.MadeAfter))
	}
	if l.Maker != "" {
		limits = append(limits, "maker "+l.Maker)
	}
	if l.Bed != "" {
		limits = append(limits, "bed "+l.Bed)
	}
	if l.Stitch != "" {
		limits = append(limits, string(l.Stitch))
	}
	if l.WattsMax != 0 {
		limits = append(limits, fmt.Sprintf("at most %d W", l.WattsMax))
	}
	if l.OtherVolts {
		limits = append(limits, "of other volts as well")
	}
	if l.Cord != 0 {
		limits = append(limits, "cord of at least "+electrical.Metres(l.Cord))
	}
	if len(limits) == 0 {
		return ""
	}
	return " (" + strings.Join(limits, ", ") + ")"
}

func (a *app) orderListCommand() *cobra.Command {
	var state string
	cmd := &cobra.Command{
		Use:   "list",
		Short: "List orders, the next to leave first",
		Args:  cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			var at orders.OrderState
			if state != "" {
				var err error
				if at, err = orders.ParseOrderState(state); err != nil {
					return err
				}
			}
			return a.with(func(d *workplace) error {
				views, err := d.ViewOrders(cmd.Context(), at)
				if err != nil {
					return err
				}
				return a.print(views, func(w io.Writer) { printOrders(w, views) })
			})
		},
	}
	cmd.Flags().StringVar(&state, "state", "", "only orders at this `STATE`: open, shipped or cancelled")
	return cmd
}

func printOrders(w io.Writer, views []orders.OrderView) {
	if len(views) == 0 {
		fmt.Fprintln(w, "No order is like that.")
		return
	}
	columns(w, func(w io.Writer) {
		fmt.Fprintln(w, "order\tfor\tdue\tpriority\tstate\tfilled")
		for i := range views {
			v := &views[i]
			var lines []string
			for _, l := range v.Lines {
				lines = append(lines, fmt.Sprintf("%d of %d %s", l.Filled, l.Asked, l.Wanted))
			}
			fmt.Fprintf(w, "%s\t%s\t%s\t%d\t%s\t%s\n", v.Number, v.Partner, v.Due, v.Priority, v.State,
				orDash(strings.Join(lines, ", ")))
		}
	})
	fmt.Fprintln(w, plural(len(views), "order"))
}

func (a *app) orderShowCommand() *cobra.Command {
	cmd := &cobra.Command{Use: "show ORDER", Short: "Show an order, what it asks for and what is on it"}
	return a.lookAtOrder(cmd,
		func(d *workplace, number string) error { return a.printOrderNow(cmd, d, number) })
}

func printOrder(w io.Writer, d *workplace, v *orders.OrderView) {
	fmt.Fprintf(w, "%s  for %s\n", v.Number, v.Partner)
	columns(w, func(w io.Writer) {
		row := func(name, value string) {
			if value != "" {
				fmt.Fprintf(w, "  %s\t%s\n", name, value)
			}
		}
		row("due", v.Due)
		row("priority", strconv.Itoa(v.Priority))
		row("state", string(v.State))
		row("supply", orDash(string(v.Supply)))
		row("currency", v.Currency)
		row("rate", v.Rate)
		row("timber mark", v.TimberMark)
		row("note", v.Note)
		row("closed short", v.ShortWhy)
		row("opened", fmt.Sprintf("%s by %s", d.localDate(v.OpenedAt), v.OpenedBy))
		if !v.ShippedAt.IsZero() {
			row("shipped", d.localDate(v.ShippedAt))
		}
	})
	for _, l := range v.Lines {
		fmt.Fprintf(w, "line %d: %d of %d × %s%s\n", l.Line, l.Filled, l.Asked, l.Wanted,
			lineLimits(&l.OrderLine))
		columns(w, func(w io.Writer) {
			for _, s := range v.Sets {
				if s.Line != l.Line {
					continue
				}
				how := "reserved " + d.localDate(s.At)
				switch {
				case !s.ShippedAt.IsZero():
					how = "shipped " + d.localDate(s.ShippedAt)
				case !s.PackedAt.IsZero():
					how = "packed " + d.localDate(s.PackedAt)
				}
				if s.Shipment != "" {
					how += ", " + s.Shipment
				}
				notes := slices.Clone(s.Work)
				if s.Trouble != "" {
					notes = append(notes, withCommands(s.Trouble, s.Next))
				}
				fmt.Fprintf(w, "  %s\t%s\t%s\t%s\n", s.Head, orDash(string(s.Base)), how,
					strings.Join(notes, "; "))
			}
		})
	}
	for _, k := range v.Work {
		if k.State == orders.WorkOpen {
			fmt.Fprintf(w, "to do: %s  %s on %s, %d min\n", k.ID, k.Job, pair(k.Head, k.Base), k.Minutes)
		}
	}
	if v.State != orders.OrderOpen {
		return
	}
	for _, s := range v.Lost {
		fmt.Fprintf(w, "lost %s: %s of line %d; %s\n", d.localDate(s.OutAt), pair(s.Head, s.Base), s.Line,
			s.OutWhy)
	}
}

func (a *app) orderAmendCommand() *cobra.Command {
	var fields *fieldFlags[orders.Order]
	var why string
	cmd := &cobra.Command{
		Use:     "amend ORDER",
		Short:   "Correct what an order says; the history keeps the old values",
		Example: `  pitman order amend ORD1 --by QX --due 2032-04-01 --why "the ship leaves later"`,
		Args:    cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.onOrder(args[0], func(d *workplace, by registry.Initials, number string) error {
				if !fields.given() {
					return nothingToAmend(number,
						registry.Next(registry.DoAmendOrder, "").Of(number), "due", "2032-03-01")
				}
				if _, err := d.AmendOrder(cmd.Context(), by, number, why, fields.apply); err != nil {
					return err
				}
				return a.printOrderNow(cmd, d, number)
			})
		},
	}
	fields = addFieldFlags(cmd.Flags(), orders.OrderFields)
	cmd.Flags().StringVar(&why, "why", "", "`REASON`, for the history")
	return cmd
}

// onOrder runs an action on one order, by someone.
func (a *app) onOrder(text string, fn func(d *workplace, by registry.Initials, number string) error) error {
	number, err := orders.ParseOrder(text)
	if err != nil {
		return err
	}
	return a.withActor(func(d *workplace, by registry.Initials) error { return fn(d, by, number) })
}

// lookAtOrder is a command that changes nothing, and tells of one order.
func (a *app) lookAtOrder(cmd *cobra.Command, tell func(d *workplace, number string) error) *cobra.Command {
	cmd.Args = cobra.ExactArgs(1)
	cmd.RunE = func(_ *cobra.Command, args []string) error {
		number, err := orders.ParseOrder(args[0])
		if err != nil {
			return err
		}
		return a.with(func(d *workplace) error { return tell(d, number) })
	}
	return cmd
}

func (a *app) printOrderNow(cmd *cobra.Command, d *workplace, number string) error {
	v, err := d.ViewOrder(cmd.Context(), number)
	if err != nil {
		return err
	}
	return a.print(v, func(w io.Writer) { printOrder(w, d, v) })
}

func (a *app) orderChangeCommand() *cobra.Command {
	return &cobra.Command{
		Use:     "change ORDER LINE QTY",
		Short:   "Ask for another number on a line; 0 takes it out",
		Example: `  pitman order change ORD1 2 6 --by QX`,
		Args:    cobra.ExactArgs(3),
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.onOrder(args[0], func(d *workplace, by registry.Initials, number string) error {
				var n [2]int
				for i, name := range []string{"line", "quantity"} {
					var err error
					if n[i], err = strconv.Atoi(args[i+1]); err != nil || n[i] < 0 {
						return registry.Errorf(registry.Invalid,
							"%s %q is not a whole number: type one, such as 2", name, args[i+1])
					}
				}
				if _, err := d.ChangeLine(cmd.Context(), by, number, n[0], n[1]); err != nil {
					return err
				}
				return a.printOrderNow(cmd, d, number)
			})
		},
	}
}

func (a *app) orderCancelCommand() *cobra.Command {
	var why string
	cmd := &cobra.Command{
		Use:   "cancel ORDER",
		Short: "Close an order that will not be sent",
		Args:  cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.onOrder(args[0], func(d *workplace, by registry.Initials, number string) error {
				if _, err := d.CancelOrder(cmd.Context(), by, number, why); err != nil {
					return err
				}
				return a.printOrderNow(cmd, d, number)
			})
		},
	}
	cmd.Flags().StringVar(&why, "why", "", "`REASON`, for the history")
	return cmd
}

func (a *app) orderReleaseCommand() *cobra.Command {
	var why string
	cmd := &cobra.Command{
		Use:   "release ORDER [TAG...]",
		Short: "Give the machines of an order back to stock: all that are not packed, or those named",
		Example: `  pitman order release ORD1 --by QX
  pitman order release ORD1 PM16 --by QX`,
		Args: cobra.MinimumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.onOrder(args[0], func(d *workplace, by registry.Initials, number string) error {
				tags, err := parseTags(args[1:])
				if err != nil {
					return err
				}
				released, err := d.ReleaseSets(cmd.Context(), by, number, why, tags)
				if err != nil {
					return err
				}
				v := struct {
					Order    string             `json:"order"`
					Released []promise.OrderSet `json:"released"`
				}{number, released}
				return a.print(v, func(w io.Writer) {
					for _, s := range released {
						fmt.Fprintf(w, "%s\n", pair(s.Head, s.Base))
					}
					fmt.Fprintf(w, "%s of %s in stock again\n", plural(len(released), "place"), number)
				})
			})
		},
	}
	cmd.Flags().StringVar(&why, "why", "", "`REASON`, for the history")
	return cmd
}

// pair names a head and the base under it.
func pair(head, base registry.Tag) string {
	if base == "" {
		return string(head)
	}
	return string(head) + " on " + string(base)
}

func (a *app) orderSwapCommand() *cobra.Command {
	var to, why string
	cmd := &cobra.Command{
		Use:   "swap TAG",
		Short: "Put another head or base in the place of one that is on an order; what is with it stays",
		Long: `Takes a head or base off its order and puts the best in stock in its place: the one
with the least work, and of those the one that has waited longest; or the one named by --to. With
--why, what comes off is held for that reason, so that nobody proposes it again; without, it goes
back to stock.`,
		Example: `  pitman order swap PM16 --by QX --why "cracked on the way to its crate"`,
		Args:    cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			out, err := registry.ParseTag(args[0])
			if err != nil {
				return err
			}
			var other registry.Tag
			if to != "" {
				if other, err = registry.ParseTag(to); err != nil {
					return err
				}
			}
			return a.withActor(func(d *workplace, by registry.Initials) error {
				p, err := d.Swap(cmd.Context(), by, out, other, why)
				if err != nil {
					return err
				}
				in := p.Head.Tag
				if is, err := d.IsBase(cmd.Context(), out); err != nil {
					return err
				} else if is {
					in = p.Base.Tag
				}
				v := struct {
					Order   string       `json:"order"`
					Line    int          `json:"line"`
					Out     registry.Tag `json:"out"`
					In      registry.Tag `json:"in"`
					Minutes int          `json:"work_minutes"`
					Work    []string     `json:"work"`
				}{p.Order, p.Line, out, in, p.Minutes, append([]string{}, p.Work()...)}
				return a.print(v, func(w io.Writer) {
					fmt.Fprintf(w, "%s line %d: %s instead of %s\n", p.Order, p.Line, in, out)
					for _, job := range p.Work() {
						fmt.Fprintf(w, "  %s\n", job)
					}
				})
			})
		},
	}
	cmd.Flags().StringVar(&to, "to", "", "`TAG` of the head or base that takes its place")
	cmd.Flags().StringVar(&why, "why", "", "`REASON` for which what comes off is held")
	return cmd
}
