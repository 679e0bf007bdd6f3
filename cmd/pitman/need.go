package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"pitman/registry/planning"
)

func (a *app) needCommand() *cobra.Command {
	var to paperFlags
	cmd := &cobra.Command{
		Use:   "need",
		Short: "Say what all open orders lack, for a sheet to supporters",
		Long: `Sums up what open orders lack once stock has filled what it can: places by drive, bases by bed
pattern with their measures, kit items, and money for local purchases. Each pattern of base is counted
alone: what it would fill if as many came as treadle places are empty.`,
		Example: `  pitman need
  pitman need -o need.pdf`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if err := to.check(a.json); err != nil {
				return err
			}
			return a.with(func(d *workplace) error {
				n, err := d.NeedOf(cmd.Context())
				if err != nil {
					return err
				}
				return a.printPaper(needPaper(n), n, to)
			})
		},
	}
	to.add(cmd)
	return cmd
}

func needPaper(n *planning.Need) *paper {
	p := &paper{title: "What open orders still lack", header: []string{"what", "how many", "more about it"},
		wide: []float64{0.3, 0.2, 0.5}}
	add := func(cells ...string) { p.rows = append(p.rows, cells) }
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
		add("money", fmt.Sprintf("%.2f %s", m.Amount, m.Currency), why)
	}
	if len(p.rows) == 0 {
		p.before = append(p.before, "Open orders lack nothing that stock does not have.")
	}
	return p
}
