package main

import (
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"pitman/registry"
	"pitman/registry/orders"
	"pitman/registry/planning"
)

// matchView is a proposal as it is printed.
type matchView struct {
	*planning.Proposal
	Confirmed bool `json:"confirmed"`
}

func (a *app) matchCommand() *cobra.Command {
	var confirm bool
	var seen string
	var with int
	var how planning.How
	var pins []string
	cmd := &cobra.Command{
		Use: "match [ORDER...]",
		Short: "Propose which heads and bases fill the open orders, provably the best way; --confirm " +
			"reserves it",
		Long: `Proposes for all open orders together, or for those named: as many filled places as
possible; among those, the ones of higher priority, then of earlier date; then the least work; then
what has been in stock longest. Of that work, the least falls to the orders of higher priority, then of
earlier date, then of lower number, as far as an exchange of sets or of bases between them
goes. For every place that stays empty it says why, and which machines come nearest.

--confirm reserves all of the proposal at once; nothing, if any piece has changed since it was made.
With --proposal, only what was seen under that code is confirmed. --with 5 answers what five more
bases of each pattern would fill.

--with-bench counts machines on the bench, each with the day by which it is ready if it takes as long as
others did within a year. --with-houses counts what stands in other houses (see pitman neighbour), no
more of it than fills places that this house's stock cannot. --pin puts a head on a base, and
the best is found for the rest.`,
		Example: `  pitman match
  pitman match ORD1 --confirm --by QX
  pitman match --confirm --proposal 3FA2B0 --by QX
  pitman match --with 5
  pitman match --with-bench
  pitman match --with-houses
  pitman match --pin PM16=PM24 --confirm --by QX`,
		RunE: func(cmd *cobra.Command, args []string) error {
			var numbers []string
			for _, text := range args {
				number, err := orders.ParseOrder(text)
				if err != nil {
					return err
				}
				numbers = append(numbers, number)
			}
			if cmd.Flags().Changed("with") {
				return a.matchWith(cmd, numbers, with)
			}
			for _, text := range pins {
				pair, err := parsePin(text)
				if err != nil {
					return err
				}
				how.Pins = append(how.Pins, pair)
			}
			again := ""
			for _, number := range numbers {
				again += " " + number
			}
			if how.WithBench {
				again += " --with-bench"
			}
			if how.WithHouses {
				again += " --with-houses"
			}
			for _, pair := range how.Pins {
				again += fmt.Sprintf(" --pin %s=%s", pair.Head, pair.Base)
			}
			if seen != "" && !confirm {
				return registry.Errorf(registry.Invalid,
					"proposal %s is there to be confirmed", seen).
					Then(registry.Next(registry.DoReserve, "").With("proposal", seen))
			}
			if !confirm {
				return a.with(func(d *workplace) error {
					p, err := d.ProposeAs(cmd.Context(), numbers, how)
					if err != nil {
						return err
					}
					return a.printProposal(p, false, again)
				})
			}
			return a.withActor(func(d *workplace, by registry.Initials) error {
				p, err := d.ProposeAs(cmd.Context(), numbers, how)
				if err != nil {
					return err
				}
				if seen != "" && !strings.EqualFold(seen, p.Code) {
					return registry.Errorf(registry.Conflict,
						"proposal %s is no longer the best, or was for other orders: nothing was reserved, so "+
							"look again", seen).Then(registry.Next(registry.DoPropose, ""))
				}
				if len(p.Reservations) > 0 {
					if err := d.Reserve(cmd.Context(), by, "proposal "+p.Code, p.Reservations); err != nil {
						return err
					}
				}
				return a.printProposal(p, len(p.Reservations) > 0, again)
			})
		},
	}
	cmd.Flags().BoolVar(&confirm, "confirm", false, "reserve all of it, or nothing if anything has changed")
	cmd.Flags().StringVar(&seen, "proposal", "", "confirm only the proposal with this `CODE`")
	cmd.Flags().IntVar(&with, "with", 0, "say what `N` more bases of each pattern would fill")
	cmd.Flags().BoolVar(&how.WithBench, "with-bench", false,
		"count machines on the bench and before their test, too; only what is ready is confirmed")
	cmd.Flags().StringArrayVar(&pins, "pin", nil,
		"put `HEAD=BASE` together, and find the best for the rest (repeatable)")
	withHousesFlag(cmd, &how.WithHouses, "count what stands in other houses where this one's stock does "+
		"not suffice, and say what to drive here; only what is here is confirmed")
	cmd.MarkFlagsMutuallyExclusive("with-bench", "with")
	cmd.MarkFlagsMutuallyExclusive("with-houses", "with")
	cmd.MarkFlagsMutuallyExclusive("pin", "with")
	cmd.MarkFlagsMutuallyExclusive("confirm", "with")
	cmd.MarkFlagsMutuallyExclusive("proposal", "with")
	return cmd
}

// parsePin reads a head and the base under it: PM16=PM24.
func parsePin(text string) (pair planning.Pair, err error) {
	head, base, ok := strings.Cut(text, "=")
	if !ok {
		return pair, registry.Errorf(registry.Invalid,
			"pin %q names no pair: type the head's tag, =, and the base's, such as PM16=PM24", text).On("pin")
	}
	if pair.Head, err = registry.ParseTag(head); err == nil {
		pair.Base, err = registry.ParseTag(base)
	}
	return pair, err
}

// printProposal prints a proposal; again is what was asked of it, for the command that confirms it.
func (a *app) printProposal(p *planning.Proposal, confirmed bool, again string) error {
	return a.print(matchView{p, confirmed}, func(w io.Writer) {
		if len(p.Orders) == 0 {
			fmt.Fprintln(w, "No order is open: pitman order open takes one in.")
			return
		}
		for _, o := range p.Orders {
			fmt.Fprintf(w, "%s  for %s, due %s\n", o.Order, o.Partner, o.Due)
			for _, l := range o.Lines {
				printLinePlan(w, o, l, confirmed)
			}
		}
		fmt.Fprintf(w, "%s filled, %d min of work", plural(p.Filled, "place"), p.Minutes)
		if p.Untimed > 0 {
			fmt.Fprintf(w, " and %s without a time", plural(p.Untimed, "job"))
		}
		fmt.Fprint(w, ".")
		if p.Coming > 0 {
			fmt.Fprintf(w, " %d of them by machines that are not ready yet.", p.Coming)
		}
		if p.Elsewhere > 0 {
			fmt.Fprintf(w, " %d of them by what stands in other houses.", p.Elsewhere)
		}
		if p.Optimal {
			fmt.Fprintln(w, " No other choice is better: proved.")
			if !p.Split {
				fmt.Fprintln(w,
					"To which of the orders the work falls is bettered by exchanges, and not proved.")
			}
		} else {
			fmt.Fprintf(w, " Not proved the best: %s.\n", p.Gap)
		}
		for _, line := range roundLines(p.Rounds, p.Driving) {
			fmt.Fprintln(w, line)
		}
		for _, k := range p.Kits {
			fmt.Fprintf(w, "kits: %d × %s short (%d wanted, %d in stock)\n", k.Short, k.Part, k.Want, k.Stock)
		}
		switch {
		case confirmed:
			fmt.Fprintf(w, "%s reserved.\n", plural(len(p.Reservations), "place"))
		case len(p.Reservations) == 0:
			fmt.Fprintln(w, "Nothing to reserve.")
		default:
			fmt.Fprintf(w, "Nothing is reserved yet: pitman match%s --confirm --proposal %s\n", again, p.Code)
		}
	})
}

func printLinePlan(w io.Writer, o planning.OrderPlan, l planning.LinePlan, confirmed bool) {
	fmt.Fprintf(w, "  line %d: %d of %d × %s\n", l.Line, l.Filled, l.Asked, l.Wanted)
	columns(w, func(w io.Writer) {
		for _, s := range l.Sets {
			base := registry.Tag("")
			if s.Base != nil {
				base = *s.Base
			}
			how := "proposed"
			switch {
			case s.Reserved:
				how = "reserved"
			case s.Elsewhere():
				how = "not here"
			case s.Coming && s.Expected == "":
				how = "not ready yet"
			case s.Coming:
				how = "expected " + s.Expected
			case confirmed:
				how = "reserved now"
			}
			fmt.Fprintf(w, "    %s\t%s\t%d min\t%s\n", pair(s.Head, base), how, s.Minutes,
				strings.Join(s.Reasons, "; "))
		}
	})
	if l.Short == 0 {
		return
	}
	fmt.Fprintf(w, "    %d short: %s\n", l.Short, l.Reason)
	if l.Fund != nil {
		fmt.Fprintf(w, "    bought locally: %.2f %s\n", *l.Fund, o.Currency)
	} else {
		fmt.Fprintf(w, "    bought locally: no price for %s in %s, put one into lists/purchase.csv\n",
			l.Wanted, o.Currency)
	}
	for _, m := range l.Misses {
		near := "near"
		if m.Fills {
			near = "this alone fills a place"
		}
		fmt.Fprintf(w, "    %s: %s %s\n", near, m.Tag, withCommands(m.Why, m.Next))
	}
}

func (a *app) matchWith(cmd *cobra.Command, numbers []string, more int) error {
	return a.with(func(d *workplace) error {
		asked, err := d.WhatIf(cmd.Context(), numbers, more)
		if err != nil {
			return err
		}
		v := struct {
			With     int              `json:"with"`
			Patterns []planning.Asked `json:"patterns"`
		}{more, asked}
		return a.print(v, func(w io.Writer) {
			if len(asked) == 0 {
				fmt.Fprintln(w,
					"No order is open, or no measured base fits a head in stock: measure them with pitman "+
						"base amend, then ask again.")
				return
			}
			printAsked(w, more, asked)
		})
	})
}

// printAsked prints what bases of each pattern would fill, each pattern once: of bases that bear the same
// name and are measured otherwise, the best.
func printAsked(w io.Writer, more int, asked []planning.Asked) {
	seen, none := map[string]bool{}, 0
	columns(w, func(w io.Writer) {
		for _, p := range asked {
			switch {
			case seen[p.Pattern]:
				continue
			case p.More <= 0:
				none++
			default:
				if len(seen) == none {
					fmt.Fprintf(w, "%s of\tfill\tlike\n", plural(more, "more base"))
				}
				fmt.Fprintf(w, "%s\t%d more\t%s\n", p.Pattern, p.More, p.Like)
			}
			seen[p.Pattern] = true
		}
	})
	switch {
	case none == len(seen):
		fmt.Fprintf(w, "%s of any measured pattern would fill no place more.\n", plural(more, "base"))
	case none > 0:
		fmt.Fprintf(w, "%s would fill no place more; --json lists all.\n", plural(none, "other pattern"))
	}
}
