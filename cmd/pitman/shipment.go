package main

import (
	"io"

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
			return a.onShipment(cmd, args[0], func(d *workplace, by registry.Initials, number string) error {
				if !given.given() && len(args) == 1 {
					return nothingToAmend(number,
						registry.Next(registry.DoAmendShip, "").With("shipment", number), "date",
						"2032-03-10")
				}
				_, err := d.AmendShipment(cmd.Context(), by, number, why, func(s *shipments.Shipment) error {
					if err := given.apply(s); err != nil {
						return err
					}
					return withCurrency(s, args[1:])
				})
				return err
			})
		},
	}
	given = addFieldFlags(cmd.Flags(), shipments.Fields)
	cmd.Flags().StringVar(&why, "why", "", "`REASON`, for the history")
	return cmd
}

// onShipment runs an action on one shipment, by someone, and prints what it is then.
func (a *app) onShipment(cmd *cobra.Command, text string,
	fn func(d *workplace, by registry.Initials, number string) error) error {
	number, err := shipments.ParseNumber(text)
	if err != nil {
		return err
	}
	return a.withActor(func(d *workplace, by registry.Initials) error {
		if err := fn(d, by, number); err != nil {
			return err
		}
		return a.printShipment(cmd, d, number)
	})
}

// onLoad runs an action on orders of one shipment: SHIPMENT ORDER...
func (a *app) onLoad(cmd *cobra.Command, args []string,
	fn func(d *workplace, by registry.Initials, number string, list []string) error) error {
	return a.onShipment(cmd, args[0], func(d *workplace, by registry.Initials, number string) (err error) {
		list := make([]string, len(args)-1)
		for i, word := range args[1:] {
			if list[i], err = orders.ParseOrder(word); err != nil {
				return err
			}
		}
		return fn(d, by, number, list)
	})
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
			return a.onLoad(cmd, args,
				func(d *workplace, by registry.Initials, number string, list []string) error {
					_, err := d.Load(cmd.Context(), by, number, list, part)
					return err
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
			return a.onLoad(cmd, args,
				func(d *workplace, by registry.Initials, number string, list []string) error {
					_, err := d.Unload(cmd.Context(), by, number, why, list)
					return err
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

func (a *app) shipmentPalletCommand() *cobra.Command {
	var m struct {
		count, length, width, height int
		weight                       float64
		planned                      bool
	}
	cmd := &cobra.Command{
		Use:   "pallet SHIPMENT ORDER",
		Short: "Measure the pallets of an order as they were built; they count in place of the planned ones",
		Example: `  pitman shipment pallet 1 ORD4 ` +
			`--length 1200 --width 1000 --height 1150 --weight 312.5 --count 2 --by QX
  pitman shipment pallet 1 ORD4 --planned --by QX`,
		Args: cobra.ExactArgs(2),
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.onLoad(cmd, args,
				func(d *workplace, by registry.Initials, number string, list []string) error {
					var measured []shipments.Measured
					if !m.planned {
						one, err := shipments.NewMeasured(m.count, m.length, m.width, m.height, m.weight)
						if err != nil {
							return err
						}
						measured = append(measured, one)
					}
					_, err := d.MeasurePallets(cmd.Context(), by, number, list[0], measured)
					return err
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
			return a.onShipment(cmd, args[0], func(d *workplace, by registry.Initials, number string) error {
				_, err := d.Send(cmd.Context(), by, number)
				return err
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
			return a.onShipment(cmd, args[0],
				func(d *workplace, by registry.Initials, number string) (err error) {
					if day != "" {
						if came.Day, err = fields.ParseDay("date", day); err != nil {
							return err
						}
					}
					_, err = d.Arrive(cmd.Context(), by, number, came)
					return err
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
