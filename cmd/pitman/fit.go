package main

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"pitman/registry"
	"pitman/registry/fit"
	"pitman/registry/stock"
)

// fitView is a fit as it is printed, with the pair that it is about.
type fitView struct {
	HeadTag registry.Tag   `json:"head"`
	BaseTag registry.Tag   `json:"base"`
	Stage   registry.Stage `json:"base_stage"`
	Warned  []string       `json:"warnings"`
	name    string
	fit.Result
}

func (a *app) fitCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "fit HEAD [BASE]",
		Short: "Say whether a head fits a base and what belt joins them; or rank the bases for a head",
		Long: `Holds what is measured on a head against what is measured on a base, rule by rule,
with the figures. A measure that is not known is said to be unknown and never passes. What may
differ, and what work the house offers, stands in house.toml under [fit] and [belt].

With a head alone, lists the bases that are in the house, the best first.`,
		Example: `  pitman fit PM16
  pitman fit PM16 PM24`,
		Args: cobra.RangeArgs(1, 2),
		RunE: func(cmd *cobra.Command, args []string) error {
			tags, err := parseTags(args)
			if err != nil {
				return err
			}
			return a.with(func(d *workplace) error {
				m, err := d.Machine(cmd.Context(), tags[0])
				if err != nil {
					return err
				}
				house := fit.HouseOf(d.Config.Fit, d.Config.Belt)
				warned := append([]string{}, d.Warnings(m)...)
				if len(tags) == 2 {
					b, err := d.Base(cmd.Context(), tags[1])
					if err != nil {
						return err
					}
					v := fitView{m.Tag, b.Tag, b.Stage, warned, b.Name(),
						fit.Check(fit.HeadOf(m), fit.BaseOf(b), house)}
					return a.print(v, func(w io.Writer) { printFit(w, machineName(m), v) })
				}
				bases, err := d.Bases(cmd.Context(), (*stock.Base).InStock)
				if err != nil {
					return err
				}
				ranked := []fitView{}
				for i := range bases {
					b := &bases[i]
					ranked = append(ranked,
						fitView{m.Tag, b.Tag, b.Stage, warned, b.Name(),
							fit.Check(fit.HeadOf(m), fit.BaseOf(b), house)})
				}
				slices.SortStableFunc(ranked,
					func(x, y fitView) int { return fit.Compare(x.Result, y.Result) })
				return a.print(ranked, func(w io.Writer) { printRanked(w, m, ranked) })
			})
		},
	}
}

func printFit(w io.Writer, head string, v fitView) {
	answer := map[fit.Verdict]string{
		fit.Fits:        "fits",
		fit.WithWork:    "fits with " + plural(v.WorkMinutes, "minute") + " of work",
		fit.FitsNot:     "does not fit",
		fit.NotMeasured: "not known yet, measure first",
	}[v.Fits]
	fmt.Fprintf(w, "%s %s on %s %s: %s\n", v.HeadTag, head, v.BaseTag, v.name, answer)
	printCautions(w, v.Warned...)
	columns(w, func(w io.Writer) {
		for _, r := range v.Rules {
			fmt.Fprintf(w, "  %s\t%s\n", r.Result, r.Why)
		}
	})
	for _, job := range v.Work {
		fmt.Fprintf(w, "  work: %s, %d min\n", job.Name, job.Minutes)
	}
	if v.NewTop != nil {
		fmt.Fprintf(w, "  cut the new top's opening to %s, hinge sockets %s apart\n",
			byWidth(v.NewTop.OpeningLength, v.NewTop.OpeningWidth), v.NewTop.Pins)
	}
	if v.BeltMM != 0 {
		fmt.Fprintf(w, "  belt: cut %.1f mm\n", float64(v.BeltMM))
	}
	if v.Ratio != 0 {
		fmt.Fprintf(w,
			"  drive: %.2f turns of the handwheel, so about %.1f stitches, to one stroke of the treadle\n",
			float64(v.Ratio), float64(v.PerStroke))
	}
	for _, note := range v.Notes {
		fmt.Fprintf(w, "  %s\n", note)
	}
}

func printRanked(w io.Writer, m *stock.Machine, ranked []fitView) {
	if len(ranked) == 0 {
		fmt.Fprintln(w, "No base is in the house: take one in with pitman base add.")
		return
	}
	fmt.Fprintf(w, "Bases for %s %s, the best first:\n", m.Tag, machineName(m))
	printCautions(w, ranked[0].Warned...)
	columns(w, func(w io.Writer) {
		for _, v := range ranked {
			why := v.InShort()
			if v.Fits == fit.WithWork {
				var jobs []string
				for _, job := range v.Work {
					jobs = append(jobs, job.Name)
				}
				why = fmt.Sprintf("%d min: %s", v.WorkMinutes, strings.Join(jobs, ", "))
			}
			fmt.Fprintf(w, "  %s\t%s\t%s\t%s\t%s\n", v.BaseTag, v.name, v.Stage, v.Fits, why)
		}
	})
}
