package main

import (
	"context"
	"fmt"
	"io"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"pitman/registry"
	"pitman/registry/stock"
	"pitman/registry/takings"
)

func (a *app) stagesCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "stages [TAG]",
		Short: "Print the table of allowed moves, or what may be done with one machine or base now",
		Args:  cobra.MaximumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) == 1 {
				return a.printOffers(cmd.Context(), args[0])
			}
			return a.print(typedMoves(), func(w io.Writer) {
				columns(w, func(w io.Writer) {
					fmt.Fprintln(w, "unit\twhat\tfrom\tto\tcommand\tneeds")
					for _, m := range registry.Moves {
						from := make([]string, len(m.From))
						for i, s := range m.From {
							from[i] = string(s)
						}
						fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\t%s\n", m.Unit, m.Action, strings.Join(from, ", "),
							m.To, command(registry.Next(m.Action, "")), orDash(m.Needs))
					}
				})
			})
		},
	}
}

// typedMove is a move with the command that does it.
type typedMove struct {
	Unit    string           `json:"unit"`
	Action  string           `json:"action"`
	From    []registry.Stage `json:"from"`
	To      registry.Stage   `json:"to"`
	Command string           `json:"command"`
	Needs   string           `json:"needs,omitempty"`
}

func typedMoves() []typedMove {
	moves := make([]typedMove, len(registry.Moves))
	for i, m := range registry.Moves {
		moves[i] = asTyped(m)
	}
	return moves
}

func asTyped(m registry.Move) typedMove {
	return typedMove{m.Unit, m.Action, m.From, m.To, command(registry.Next(m.Action, "")), m.Needs}
}

// onTag is a command that does one thing to one machine and prints it.
func (a *app) onTag(cmd *cobra.Command,
	do func(d *workplace, by registry.Initials, tag registry.Tag) error) *cobra.Command {
	cmd.Args = cobra.ExactArgs(1)
	cmd.RunE = func(_ *cobra.Command, args []string) error {
		tag, err := registry.ParseTag(args[0])
		if err != nil {
			return err
		}
		return a.withActor(func(d *workplace, by registry.Initials) error { return do(d, by, tag) })
	}
	return cmd
}

// lookAtTag is a command that changes nothing, and tells of the one machine or base that a tag names.
func (a *app) lookAtTag(cmd *cobra.Command, tell func(d *workplace, tag registry.Tag) error) *cobra.Command {
	cmd.Args = cobra.ExactArgs(1)
	cmd.RunE = func(_ *cobra.Command, args []string) error {
		tag, err := registry.ParseTag(args[0])
		if err != nil {
			return err
		}
		return a.with(func(d *workplace) error { return tell(d, tag) })
	}
	return cmd
}

func (a *app) triageCommand() *cobra.Command {
	var to, why, seenBy string
	var cutOff bool
	var given *fieldFlags[takings.Taking]
	cmd := &cobra.Command{
		Use:   "triage TAG",
		Short: "Decide where a machine or base goes: refurbish, parts, sale or scrap",
		Example: `  pitman triage PM16 --by QX --to refurbish --why "complete and turns"
  pitman triage PM16 --by QX --to scrap --why "broken casting" --heritage-seen-by RS
  pitman triage PM16 --by QX --to sale --why "collectors want it" --brought "45.00 EUR"
  pitman triage PM16 --by QX --to scrap --why "broken casting" --metal "cast iron" --weight 11`,
	}
	cmd = a.onTag(cmd, func(d *workplace, by registry.Initials, tag registry.Tag) error {
		if to == "" && a.onTerminal() {
			if err := a.nameUnit(cmd.Context(), d, tag); err != nil {
				return err
			}
			var err error
			if to, err = a.asker().pick("Where to?", []string{"refurbish", "parts", "sale", "scrap"},
				false); err != nil {
				return err
			}
		}
		if to == "" {
			return registry.Errorf(registry.Invalid,
				"to is missing: give --to refurbish, parts, sale or scrap")
		}
		var err error
		if why, err = a.askWhy(d, to, why); err != nil {
			return err
		}
		var brought takings.Taking
		if err := given.apply(&brought); err != nil {
			return err
		}
		ctx, err := d.Bringing(cmd.Context(), tag, to, brought)
		if err != nil {
			return err
		}
		var seen registry.Initials
		if seenBy != "" {
			if seen, err = registry.ParseInitials(seenBy); err != nil {
				return err
			}
		}
		if done, err := a.onBase(cmd.Context(), d, tag, func() (*stock.Base, error) {
			return d.TriageBase(ctx, by, tag, to, why)
		}); done || err != nil {
			return err
		}
		triage := d.Triage
		if cutOff {
			if to != "sale" {
				return registry.Errorf(registry.Invalid,
					"plug-cut-off is for a sale: leave it out, or sell the machine").On("plug-cut-off")
			}
			triage = func(ctx context.Context, by registry.Initials, tag registry.Tag, _, why string,
				seenBy registry.Initials) (*stock.Machine, error) {
				return d.SellUntested(ctx, by, tag, why, seenBy)
			}
		}
		m, err := triage(ctx, by, tag, to, why, seen)
		if err != nil {
			return err
		}
		if to == "sale" && brought.Brought == nil {
			return a.printSold(cmd.Context(), d, m)
		}
		return a.printActed(d, m, d.view(m), nil)
	})
	given = addFieldFlags(cmd.Flags(), takings.Fields)
	cmd.Flags().StringVar(&to, "to", "", "`WAY` that it goes: refurbish, parts, sale or scrap")
	completeWords(cmd, "to", "refurbish", "parts", "sale", "scrap")
	cmd.Flags().StringVar(&why, "why", "", "`REASON`: one of the house's list, or your own words")
	cmd.Flags().BoolVar(&cutOff, "plug-cut-off", false,
		"it is sold untested with its plug cut off; a competent person says so, and its slip does")
	cmd.Flags().StringVar(&seenBy, "heritage-seen-by", "",
		"`INITIALS` of whoever took a second look at an old machine")
	return cmd
}

func (a *app) holdCommand() *cobra.Command {
	var why string
	cmd := &cobra.Command{Use: "hold TAG",
		Short:   "Stop a machine or base for a reason; release lets it go back to where it was",
		Example: `  pitman hold PM16 --by QX --why "waiting for a part"`}
	cmd = a.onTag(cmd, func(d *workplace, by registry.Initials, tag registry.Tag) error {
		var err error
		if why, err = a.askWhy(d, "hold", why); err != nil {
			return err
		}
		if done, err := a.onBase(cmd.Context(), d, tag, func() (*stock.Base, error) {
			return d.HoldBase(cmd.Context(), by, tag, why)
		}); done || err != nil {
			return err
		}
		m, err := d.Hold(cmd.Context(), by, tag, why)
		if err != nil {
			return err
		}
		return a.printActed(d, m, d.view(m), nil)
	})
	cmd.Flags().StringVar(&why, "why", "", "`WHAT` it waits for: one of the house's list, or your own words")
	return cmd
}

func (a *app) releaseCommand() *cobra.Command {
	var why string
	cmd := &cobra.Command{Use: "release TAG", Short: "Let a held machine or base go back to where it was"}
	cmd = a.onTag(cmd, func(d *workplace, by registry.Initials, tag registry.Tag) error {
		if done, err := a.onBase(cmd.Context(), d, tag, func() (*stock.Base, error) {
			return d.ReleaseBase(cmd.Context(), by, tag, why)
		}); done || err != nil {
			return err
		}
		m, err := d.Release(cmd.Context(), by, tag, why)
		if err != nil {
			return err
		}
		return a.printActed(d, m, d.view(m), nil)
	})
	cmd.Flags().StringVar(&why, "why", "", "`REASON`, for the history")
	return cmd
}

// nameUnit says on a terminal what a tag stands for, before a question about it.
func (a *app) nameUnit(ctx context.Context, d *workplace, tag registry.Tag) error {
	if b, err := d.Base(ctx, tag); err == nil {
		fmt.Fprintf(a.err, "%s  %s, treadle base\n", b.Tag, b.Name())
		return nil
	}
	m, err := d.Machine(ctx, tag)
	if err != nil {
		return err
	}
	fmt.Fprintf(a.err, "%s  %s, %s, %s\n", m.Tag, machineName(m), m.Year(), m.Drive)
	for _, warning := range d.Warnings(m) {
		fmt.Fprintf(a.err, "  %s\n", warning)
	}
	return nil
}

// askWhy offers the house's reasons when none was given on a terminal.
func (a *app) askWhy(d *workplace, way, why string) (string, error) {
	if why != "" || !a.onTerminal() {
		return why, nil
	}
	reasons, err := d.Lists.Stock.Reasons()
	if err != nil {
		return "", err
	}
	var offered []string
	for _, r := range reasons {
		if r.Way == way {
			offered = append(offered, r.Why)
		}
	}
	question := "Why? Number, or your own words:"
	if len(offered) == 0 {
		question = "Why? In your own words:"
	}
	return a.asker().pick(question, offered, true)
}

// pick offers a numbered list; first letters do, and other words are taken where own words are allowed.
func (q *asker) pick(question string, offered []string, own bool) (chosen string, err error) {
	for i, text := range offered {
		fmt.Fprintf(q.out, "  %d  %s\n", i+1, text)
	}
	err = q.until(question, func(answer string) error {
		n, notNumber := strconv.Atoi(answer)
		found := closest(offered, answer)
		switch {
		case answer == "" && len(offered) == 0:
			return registry.Errorf(registry.Invalid, "say it in a few words")
		case answer == "":
			return registry.Errorf(registry.Invalid, "type a number from 1 to %d", len(offered))
		case notNumber == nil && n >= 1 && n <= len(offered):
			chosen = offered[n-1]
		case len(found) == 1 && !own:
			chosen = found[0]
		case own && notNumber != nil:
			chosen = answer
		default:
			return registry.Errorf(registry.Invalid, "%q is not on the list: type a number from 1 to %d",
				answer, len(offered))
		}
		return nil
	})
	return chosen, err
}
