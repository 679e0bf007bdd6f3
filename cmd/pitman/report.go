package main

import (
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"pitman/registry"
	"pitman/registry/packing"
	"pitman/registry/reports"
)

func (a *app) reportCommand() *cobra.Command {
	var from, to, svg string
	cmd := &cobra.Command{
		Use: "report",
		Short: "Sum up what the workshop did: received, finished, shipped, pass rate, days per stage, " +
			"decades",
		Example: `  pitman report --from 2031-01-01 --to 2031-12-31 --svg decades.svg`,
		Args:    cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return a.with(func(d *workplace) error {
				s, err := d.Report(cmd.Context(), from, to)
				if err != nil {
					return err
				}
				if svg != "" {
					err := replaceFile(svg, 0o644, func(w io.Writer) error {
						return chartSVG(w, fmt.Sprintf("%s: machines received from %s to %s, by decade made",
							d.Config.House.Name, orWord(s.From, "the first day"),
							orWord(s.To, d.Now().In(d.Location()).Format(time.DateOnly))), s.ByDecade)
					})
					if err != nil {
						return err
					}
				}
				return a.print(s, func(w io.Writer) { a.printReport(w, d, s) })
			})
		},
	}
	flags := cmd.Flags()
	flags.StringVar(&from, "from", "", "first `DAY`, such as 2031-01-01")
	flags.StringVar(&to, "to", "", "last `DAY`")
	flags.StringVar(&svg, "svg", "", "also draw the decades to this `FILE`")
	cmd.AddCommand(a.reportFunderCommand())
	return cmd
}

func (a *app) printReport(w io.Writer, d *workplace, s reports.Summary) {
	fmt.Fprintf(w, "%s, from %s to %s\n", d.Config.House.Name, orWord(s.From, "the first day"),
		orWord(s.To, "today"))
	columns(w, func(w io.Writer) {
		fmt.Fprintf(w, "received\t%d\n", s.Received)
		fmt.Fprintf(w, "finished\t%d\n", s.Finished)
		if s.FirstPassRate == nil {
			fmt.Fprintf(w, "passed the first time\tnothing tested\n")
		} else {
			fmt.Fprintf(w, "passed the first time\t%d of %d (%.0f %%)\n", s.FirstPassed, s.FirstTested,
				100**s.FirstPassRate)
		}
		fmt.Fprintf(w, "shipped\t%d\n", s.Shipped)
		kept := fmt.Sprintf("%.1f kg", s.KeptKG)
		if s.NotWeighed > 0 {
			kept += fmt.Sprintf(", and %s not weighed", plural(s.NotWeighed, "piece"))
		}
		fmt.Fprintf(w, "kept in use\t%s\n", kept)
		if s.Shipped > 0 {
			gross := fmt.Sprintf("%.1f kg", s.GrossKG)
			if s.GrossLacks > 0 {
				gross += fmt.Sprintf(", and %s not weighed", plural(s.GrossLacks, "crate"))
			}
			fmt.Fprintf(w, "shipped in crates\t%s\n", gross)
		}
		for _, line := range takingLines(s.Brought, s.Scrap) {
			fmt.Fprintf(w, "%s\t%s\n", line.name, line.is)
		}
		if s.Oldest != nil {
			fmt.Fprintf(w, "oldest\t%s, %s, %s\n", s.Oldest.Year, s.Oldest.Maker, s.Oldest.Tag)
		}
	})
	if len(s.MedianDays) > 0 {
		fmt.Fprintln(w, "Median days at each stage, of the stays that ended:")
		columns(w, func(w io.Writer) {
			for _, stage := range s.MedianDays {
				fmt.Fprintf(w, "  %s\t%.1f\t%s\n", stage.Stage, stage.Median, plural(stage.Stays, "stay"))
			}
		})
	}
	if len(s.ByDecade) > 0 {
		fmt.Fprintln(w, "By decade made:")
		_ = chartText(w, s.ByDecade, a.width(), "█")
	}
	if len(s.Arrivals) > 0 {
		fmt.Fprintln(w, "Training centres say:")
		for _, r := range s.Arrivals {
			fmt.Fprintf(w, "  %s  %s  %s\n", d.localDate(r.At), r.Tag, arrivalWords(r))
		}
	}
}

func arrivalWords(r packing.Arrival) string {
	var words []string
	if len(r.Transit) > 0 {
		words = append(words, "damaged on the way: "+strings.Join(r.Transit, ", "))
	}
	if len(r.Faults) > 0 {
		words = append(words, "faults: "+strings.Join(r.Faults, ", "))
	}
	if r.Note != "" {
		words = append(words, r.Note)
	}
	return strings.Join(words, "; ")
}

func orWord(s, word string) string {
	if s == "" {
		return word
	}
	return s
}

func (a *app) reportBackCommand() *cobra.Command {
	var said packing.Arrival
	var damage, faults []string
	cmd := &cobra.Command{
		Use:     "report-back TAG",
		Short:   "Keep what the training centre says of a machine after it arrived",
		Example: `  pitman report-back PM16 --by QX --damage "handwheel chipped" --note "sews well"`,
	}
	cmd = a.onTag(cmd, func(d *workplace, by registry.Initials, tag registry.Tag) error {
		said.Transit, said.Faults = damage, faults
		m, err := d.ReportBack(cmd.Context(), by, tag, said)
		if err != nil {
			return err
		}
		return a.printActed(d, m, d.view(m), nil)
	})
	flags := cmd.Flags()
	flags.StringArrayVar(&damage, "damage", nil, "`WHAT` was damaged on the way (repeatable)")
	flags.StringArrayVar(&faults, "fault", nil, "`WHAT` does not work (repeatable)")
	flags.StringVar(&said.Note, "note", "", "any other `TEXT` of theirs")
	return cmd
}
