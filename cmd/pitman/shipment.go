package main

import (
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"pitman/registry"
	"pitman/registry/fields"
	"pitman/registry/orders"
	"pitman/registry/shipments"
)

func (a *app) shipmentCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "shipment",
		Short: "What leaves together in a container: new, add, plan, ship, arrive",
		Long: `Puts orders together on one container, whole or the packed part of one, across partners
and months. Shows where the pallets stand on its floor, how full it is by floor and weight, and what
else would go in; shares the freight out; keeps when it left and how it arrived.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(a.shipmentNewCommand(), a.shipmentAmendCommand(), a.shipmentAddCommand(),
		a.shipmentRemoveCommand(), a.shipmentListCommand(), a.shipmentShowCommand(), a.shipmentPlanCommand(),
		a.shipmentPalletCommand(), a.shipmentShipCommand(), a.shipmentArriveCommand())
	return cmd
}

// withCurrency takes a word behind the flags for the currency of the freight: --freight 2400 EUR.
func withCurrency(s *shipments.Shipment, words []string) error {
	if len(words) == 0 {
		return nil
	}
	field, _ := fields.Named(shipments.Fields, "currency")
	return field.Set(s, words)
}

func (a *app) shipmentNewCommand() *cobra.Command {
	var given *fieldFlags[shipments.Shipment]
	cmd := &cobra.Command{
		Use:   "new [CURRENCY]",
		Short: "Begin a shipment; it gets a number",
		Example: `  pitman shipment new --container 20 --date 2032-03-10 --by QX
  pitman shipment new --container 40 --freight 2400.50 EUR --by QX`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			var s shipments.Shipment
			if err := given.apply(&s); err != nil {
				return err
			}
			if err := withCurrency(&s, args); err != nil {
				return err
			}
			return a.withActor(func(d *workplace, by registry.Initials) error {
				if err := d.NewShipment(cmd.Context(), by, &s); err != nil {
					return err
				}
				return a.printShipment(cmd, d, s.ID)
			})
		},
	}
	given = addFieldFlags(cmd.Flags(), shipments.Fields)
	return cmd
}

func (a *app) shipmentAmendCommand() *cobra.Command {
	var given *fieldFlags[shipments.Shipment]
	var why string
	cmd := &cobra.Command{
		Use:     "amend SHIPMENT [CURRENCY]",
		Short:   "Correct what a shipment says; the history keeps the old values",
		Example: `  pitman shipment amend SHIPMENT1 --freight 2400.50 EUR --by QX`,
		Args:    cobra.RangeArgs(1, 2),
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.onShipment(args[0], func(d *workplace, by registry.Initials, number string) error {
				if !given.given() && len(args) == 1 {
					return registry.Errorf(registry.Invalid,
						"nothing to amend for %s: give the field and its new value, such as --date 2032-03-10",
						number)
				}
				_, err := d.AmendShipment(cmd.Context(), by, number, why, func(s *shipments.Shipment) error {
					if err := given.apply(s); err != nil {
						return err
					}
					return withCurrency(s, args[1:])
				})
				if err != nil {
					return err
				}
				return a.printShipment(cmd, d, number)
			})
		},
	}
	given = addFieldFlags(cmd.Flags(), shipments.Fields)
	cmd.Flags().StringVar(&why, "why", "", "`REASON`, for the history")
	return cmd
}

// onShipment runs an action on one shipment, by someone.
func (a *app) onShipment(text string,
	fn func(d *workplace, by registry.Initials, number string) error) error {
	number, err := shipments.ParseNumber(text)
	if err != nil {
		return err
	}
	return a.withActor(func(d *workplace, by registry.Initials) error { return fn(d, by, number) })
}

func parseOrders(words []string) ([]string, error) {
	list := make([]string, len(words))
	for i, word := range words {
		var err error
		if list[i], err = orders.ParseOrder(word); err != nil {
			return nil, err
		}
	}
	return list, nil
}

func (a *app) shipmentAddCommand() *cobra.Command {
	var part bool
	cmd := &cobra.Command{
		Use:   "add SHIPMENT ORDER...",
		Short: "Put orders on a shipment: whole, or with --part what is packed of them",
		Long: `Puts what is filled of an order on a shipment. A whole order has to be filled and packed
when the shipment leaves. With --part what is packed now goes along, and the rest stays open for a
later one. An order that is on it already gets what was filled since.`,
		Example: `  pitman shipment add SHIPMENT1 ORD1 ORD4 --by QX
  pitman shipment add 1 ORD7 --part --by QX`,
		Args: cobra.MinimumNArgs(2),
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.onShipment(args[0], func(d *workplace, by registry.Initials, number string) error {
				list, err := parseOrders(args[1:])
				if err != nil {
					return err
				}
				if _, err := d.Load(cmd.Context(), by, number, list, part); err != nil {
					return err
				}
				return a.printShipment(cmd, d, number)
			})
		},
	}
	cmd.Flags().BoolVar(&part, "part", false, "what is packed of them, and leave the rest open")
	return cmd
}

func (a *app) shipmentRemoveCommand() *cobra.Command {
	var why string
	cmd := &cobra.Command{
		Use:   "remove SHIPMENT ORDER...",
		Short: "Take orders off a shipment; what is packed stays packed",
		Args:  cobra.MinimumNArgs(2),
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.onShipment(args[0], func(d *workplace, by registry.Initials, number string) error {
				list, err := parseOrders(args[1:])
				if err != nil {
					return err
				}
				if _, err := d.Unload(cmd.Context(), by, number, why, list); err != nil {
					return err
				}
				return a.printShipment(cmd, d, number)
			})
		},
	}
	cmd.Flags().StringVar(&why, "why", "", "`REASON`, for the history")
	return cmd
}

func (a *app) shipmentListCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "list",
		Short: "List shipments: those still to leave, then those that left, the latest first",
		Args:  cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return a.with(func(d *workplace) error {
				list, err := d.ViewShipments(cmd.Context())
				if err != nil {
					return err
				}
				return a.print(list, func(w io.Writer) { printShipments(w, d, list) })
			})
		},
	}
}

func printShipments(w io.Writer, d *workplace, list []shipments.View) {
	if len(list) == 0 {
		fmt.Fprintln(w, "No shipment is here: the first is begun with pitman shipment new")
		return
	}
	columns(w, func(w io.Writer) {
		fmt.Fprintln(w, "shipment\tcontainer\tleaves\tstate\torders\tpallets\tfloor\tweight")
		for i := range list {
			v := &list[i]
			leaves := orDash(v.Day)
			if v.State != shipments.Open {
				leaves = d.localDate(v.LeftAt)
			}
			fmt.Fprintf(w, "%s\t%s ft\t%s\t%s\t%d\t%d\t%.0f %%\t%s\n", v.ID, v.Container, leaves, v.State,
				len(v.Loads), len(v.Plan.Pallets), 100*v.Plan.Floor, weightShare(v.Plan))
		}
	})
	fmt.Fprintln(w, plural(len(list), "shipment"))
}

func weightShare(p *shipments.Plan) string {
	share := fmt.Sprintf("%.0f %%", 100*p.Weight)
	if p.Unweighed > 0 {
		share += " or more"
	}
	return share
}

func (a *app) shipmentShowCommand() *cobra.Command {
	return &cobra.Command{
		Use:     "show SHIPMENT",
		Short:   "Show a shipment: its orders, how far they are packed, and their shares of the freight",
		Example: `  pitman shipment show SHIPMENT1`,
		Args:    cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			number, err := shipments.ParseNumber(args[0])
			if err != nil {
				return err
			}
			return a.with(func(d *workplace) error { return a.printShipment(cmd, d, number) })
		},
	}
}

func (a *app) printShipment(cmd *cobra.Command, d *workplace, number string) error {
	v, err := d.ViewShipment(cmd.Context(), number)
	if err != nil {
		return err
	}
	return a.print(v, func(w io.Writer) { writeShipment(w, d, v) })
}

func writeShipment(w io.Writer, d *workplace, v *shipments.View) {
	fmt.Fprintf(w, "%s  %s ft container\n", v.ID, v.Container)
	columns(w, func(w io.Writer) {
		row := func(name, value string) {
			if value != "" {
				fmt.Fprintf(w, "  %s\t%s\n", name, value)
			}
		}
		row("state", string(v.State))
		if v.State == shipments.Open {
			row("leaves", orDash(v.Day))
		} else {
			row("left", fmt.Sprintf("%s by %s", d.localDate(v.LeftAt), v.LeftBy))
		}
		row("arrived", v.Arrived)
		row("receipt", v.Receipt)
		row("damage", v.Damage)
		if v.Freight != nil {
			row("freight", fmt.Sprintf("%.2f %s", *v.Freight, v.Currency))
		}
		row("note", v.Note)
		row("opened", fmt.Sprintf("%s by %s", d.localDate(v.OpenedAt), v.OpenedBy))
	})
	if len(v.Loads) == 0 {
		fmt.Fprintf(w, "Nothing is on it: pitman shipment add %s ORDER\n", v.ID)
		return
	}
	share := func(of *float64) string {
		if of == nil {
			return "-"
		}
		return strconv.FormatFloat(*of, 'f', 2, 64)
	}
	columns(w, func(w io.Writer) {
		freight := ""
		if v.Freight != nil {
			freight = "\tfreight by kg\tby m³"
		}
		fmt.Fprintf(w, "order\tfor\tgoes\tpacked\tpallets\tgross kg\tm³%s\n", freight)
		for i := range v.Loads {
			l := &v.Loads[i]
			goes := "whole"
			if l.Part {
				goes = "part"
			}
			gross := strconv.FormatFloat(l.Gross.KG(), 'f', 1, 64)
			if l.Unweighed > 0 {
				gross = "not known"
			}
			fmt.Fprintf(w, "%s\t%s\t%s\t%d of %d\t%d\t%s\t%.2f", l.Order, l.Partner, goes, l.Packed,
				l.Places, l.Pallets, gross, l.CubicMetres)
			if v.Freight != nil {
				fmt.Fprintf(w, "\t%s\t%s", share(l.ByWeight), share(l.ByRoom))
			}
			fmt.Fprintln(w)
		}
	})
	writeFill(w, v.Plan)
}

// writeFill says how full the container is, and what is wrong with the plan.
func writeFill(w io.Writer, p *shipments.Plan) {
	fmt.Fprintf(w, "%s in a %s container: %.0f %% of its floor", plural(len(p.Pallets), "pallet"),
		p.Container,
		100*p.Floor)
	if p.Unweighed > 0 {
		fmt.Fprintf(w, "; %s not weighed in full, the rest %s", plural(p.Unweighed, "pallet"), p.Gross)
	} else {
		fmt.Fprintf(w, ", %s of about %d kg (%.0f %%)", p.Gross, p.Payload, 100*p.Weight)
	}
	fmt.Fprintln(w)
	if p.Placed < len(p.Pallets) {
		proved := "no plan places more"
		if !p.Exact {
			proved = fmt.Sprintf("no plan places more than %d", p.AtMost)
		}
		fmt.Fprintf(w, "The floor takes %d of them; %s\n", p.Placed, proved)
	}
	for _, order := range p.Unknown {
		fmt.Fprintf(w, "! no size is known for the crates of %s: measure its pallets\n", order)
	}
	for _, trouble := range p.Troubles() {
		fmt.Fprintf(w, "! %s\n", trouble)
	}
}

func (a *app) shipmentPalletCommand() *cobra.Command {
	var m struct {
		count, length, width, height int
		weight                       float64
		planned                      bool
	}
	cmd := &cobra.Command{
		Use:   "pallet SHIPMENT ORDER",
		Short: "Measure the pallets of an order as they were built; they count in place of the planned ones",
		Example: `  pitman shipment pallet 1 ORD4 --length 1200 --width 1000 --height 1150 --weight 312.5 --count 2 --by QX
  pitman shipment pallet 1 ORD4 --planned --by QX`,
		Args: cobra.ExactArgs(2),
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.onShipment(args[0], func(d *workplace, by registry.Initials, number string) error {
				order, err := orders.ParseOrder(args[1])
				if err != nil {
					return err
				}
				var list []shipments.Measured
				if !m.planned {
					one, err := shipments.NewMeasured(m.count, m.length, m.width, m.height, m.weight)
					if err != nil {
						return err
					}
					list = append(list, one)
				}
				if _, err := d.MeasurePallets(cmd.Context(), by, number, order, list); err != nil {
					return err
				}
				return a.printShipment(cmd, d, number)
			})
		},
	}
	f := cmd.Flags()
	f.IntVar(&m.count, "count", 1, "`NUMBER` of pallets that are alike")
	f.IntVar(&m.length, "length", 0, "`MM` of its longer side")
	f.IntVar(&m.width, "width", 0, "`MM` of its shorter side")
	f.IntVar(&m.height, "height", 0, "`MM` from the floor to the top of what stands on it")
	f.Float64Var(&m.weight, "weight", 0, "`KG` of one, as it stands there")
	f.BoolVar(&m.planned, "planned", false, "forget what was measured, and count as planned")
	for _, flag := range []string{"count", "length", "width", "height", "weight"} {
		cmd.MarkFlagsMutuallyExclusive("planned", flag)
	}
	return cmd
}

func (a *app) shipmentShipCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "ship SHIPMENT",
		Short: "Let a shipment leave, with all that is on it or not at all",
		Long: `Asks of each order what order ship would ask: that all of it that goes along is packed,
that its passes stand, and that a whole order has no place that nothing fills. The papers of each
order are issued.`,
		Example: `  pitman shipment ship SHIPMENT1 --by QX`,
		Args:    cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.onShipment(args[0], func(d *workplace, by registry.Initials, number string) error {
				if _, err := d.Send(cmd.Context(), by, number); err != nil {
					return err
				}
				return a.printShipment(cmd, d, number)
			})
		},
	}
}

func (a *app) shipmentArriveCommand() *cobra.Command {
	var came shipments.Arrival
	var day string
	cmd := &cobra.Command{
		Use:   "arrive SHIPMENT",
		Short: "Keep how a shipment arrived: the day, the receipt, and what was damaged",
		Example: `  pitman shipment arrive SHIPMENT1 --date 2032-05-02 --receipt "signed by Ada" --by QX
  pitman shipment arrive 1 --receipt "signed by Ada" --damage "one lid split" --by QX`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.onShipment(args[0], func(d *workplace, by registry.Initials, number string) (err error) {
				if day != "" {
					if came.Day, err = fields.ParseDay("date", day); err != nil {
						return err
					}
				}
				if _, err := d.Arrive(cmd.Context(), by, number, came); err != nil {
					return err
				}
				return a.printShipment(cmd, d, number)
			})
		},
	}
	cmd.Flags().StringVar(&day, "date", "", "`DATE` on which it arrived (today unless said)")
	cmd.Flags().StringVar(&came.Receipt, "receipt", "",
		"`TEXT`: who signed for it, or the number of the paper")
	cmd.Flags().StringVar(&came.Damage, "damage", "", "`TEXT`: what was damaged on the way")
	return cmd
}

func (a *app) shipmentPlanCommand() *cobra.Command {
	var file string
	cmd := &cobra.Command{
		Use:   "plan SHIPMENT",
		Short: "Show where each pallet stands, how full the container is, and what else goes in",
		Long: `Stands the pallets on the container's floor, none on another. Where the search was short it
says that no plan places more; else how many at most. With -o, the plan is drawn as a picture.`,
		Example: `  pitman shipment plan SHIPMENT1
  pitman shipment plan SHIPMENT1 -o floor.svg`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			number, err := shipments.ParseNumber(args[0])
			if err != nil {
				return err
			}
			write, err := floorWriter(file)
			if err != nil {
				return err
			}
			return a.with(func(d *workplace) error {
				v, err := d.ViewShipment(cmd.Context(), number)
				if err != nil {
					return err
				}
				if write != nil {
					if err := write(a, d, v); err != nil || !a.json {
						return err
					}
				}
				return a.print(v.Plan, func(w io.Writer) { writePlan(w, v) })
			})
		},
	}
	cmd.Flags().StringVarP(&file, "out", "o", "", "draw it into `FILE`: .svg or .pdf")
	return cmd
}

func writePlan(w io.Writer, v *shipments.View) {
	p := v.Plan
	fmt.Fprintf(w, "%s: %s container, inside at least %d × %d × %d mm\n", v.ID, p.Container, p.Length,
		p.Width, p.Height)
	for _, line := range floorText(p) {
		fmt.Fprintln(w, line)
	}
	columns(w, func(w io.Writer) {
		if len(p.Pallets) > 0 {
			fmt.Fprintln(w, "pallet\torder\tfor\ton it\tmm\tkg\tfrom front\tfrom left")
		}
		for i := range p.Pallets {
			one := &p.Pallets[i]
			on, spot := "as measured", "no room\t-"
			if !one.Measured {
				on = fmt.Sprintf("%s of %s", plural(one.Crates, "crate"), one.For)
			}
			if one.Spot != nil {
				spot = fmt.Sprintf("%.2f m\t%.2f m", float64(one.Spot.X)/1000, float64(one.Spot.Y)/1000)
			}
			kg := "not known"
			if one.Weight != nil {
				kg = strconv.FormatFloat(one.Weight.KG(), 'f', 1, 64)
			}
			fmt.Fprintf(w, "%d\t%s\t%s\t%s\t%d × %d × %d\t%s\t%s\n", one.Number, one.Order, one.Partner, on,
				one.Length, one.Width, one.Height, kg, spot)
		}
	})
	writeFill(w, p)
	if p.Centre != nil {
		towards := "the doors"
		if *p.Centre < 0 {
			towards = "the front wall"
		}
		fmt.Fprintf(w,
			"Centre of weight: %.2f m from the middle towards %s; the carrier says how much is allowed\n",
			float64(max(*p.Centre, -*p.Centre))/1000, towards)
	}
	if p.Placed == len(p.Pallets) {
		fmt.Fprintf(w, "Room for %s more of the house's, by the floor\n", plural(p.Room, "pallet"))
	}
	for _, o := range p.Next {
		what := fmt.Sprintf("%s for %s, due %s (%s, %s)", o.Order, o.Partner, o.Due,
			plural(o.Pallets, "pallet"), o.Weight)
		if o.Fits {
			fmt.Fprintf(w, "Goes in as well: %s: pitman shipment add %s %s --part\n", what, v.ID, o.Order)
		} else {
			fmt.Fprintf(w, "Does not go in as well: %s: %s\n", what, o.Why)
		}
	}
}

// floorText draws the floor in letters, the front wall to the left.
func floorText(p *shipments.Plan) []string {
	const columns, across = 58, 250
	along, rows := p.Length/columns, p.Width/across
	grid := make([][]rune, rows)
	for y := range grid {
		grid[y] = slices.Repeat([]rune{'.'}, columns)
	}
	for i := range p.Pallets {
		s := p.Pallets[i].Spot
		if s == nil {
			continue
		}
		x1, x2 := s.X/along, min((s.X+s.Length)/along, columns)-1
		y1, y2 := s.Y/across, min((s.Y+s.Width)/across, rows)-1
		for y := y1; y <= y2; y++ {
			for x := x1; x <= x2; x++ {
				grid[y][x] = ' '
				if y == y1 || y == y2 {
					grid[y][x] = '-'
				}
				if x == x1 || x == x2 {
					grid[y][x] = '|'
				}
			}
		}
		number := strconv.Itoa(i + 1)
		y, x := (y1+y2)/2, (x1+x2+1-len(number))/2
		for n, digit := range number {
			if x+n >= 0 && x+n < columns && y >= 0 && y < rows {
				grid[y][x+n] = digit
			}
		}
	}
	lines := make([]string, 0, rows)
	for _, row := range grid {
		lines = append(lines, "  ["+string(row)+"]")
	}
	return lines
}

// onBoardWords says which orders go with a shipment.
func onBoardWords(on []shipments.OnBoard) string {
	words := make([]string, len(on))
	for i, o := range on {
		if words[i] = o.Order; o.Part {
			words[i] += " in part"
		}
		for _, m := range o.Measured {
			words[i] += fmt.Sprintf(" (%d × %d × %d × %d mm, %s)", m.Count, m.Length, m.Width, m.Height,
				m.Weight)
		}
	}
	return strings.Join(words, ", ")
}
