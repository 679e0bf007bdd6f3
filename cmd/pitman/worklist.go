package main

import (
	"cmp"
	"fmt"
	"io"
	"time"

	"github.com/spf13/cobra"

	"pitman/registry"
	"pitman/registry/house"
	"pitman/registry/reports"
	"pitman/registry/statistics"
)

func (a *app) worklistCommand() *cobra.Command {
	var role, file string
	var limit int
	var poster bool
	cmd := &cobra.Command{
		Use:   "worklist",
		Short: "Say what to do today, most urgent first, and why",
		Long: `Lists what to do today, one line a job. First comes what an open order cannot wait for any
longer: what is overdue, and what has to start today so that the order leaves on its day (promised
minutes by day_minutes, and pack_days, of [worklist] in house.toml). The rest follows by urgency.

Orders ask for what pitman match says: places wanted, those that stock fills, and those left. How
many machines to start comes from them, less work in hand times the house's own pass rate (the Wilson
95 % lower bound of its first function tests and the stated prior together). Where a base is missing,
or nothing passes, no number of machines is named: to_start is 0 or null in JSON, and why says it.

--for takes a role, or a person's initials: then only what that person may do, by the list of skills
in house.toml, the competent people, the coordinators, and who worked on the machine before.`,
		Example: `  pitman worklist --for bench
  pitman worklist --for RS
  pitman worklist --poster -o board.pdf`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) (err error) {
			if limit < 0 {
				return registry.Errorf(registry.Invalid,
					"limit %d: give the most lines to show, such as 20, or 0 for all", limit)
			}
			if role != "" {
				if role, err = reports.ForWhom(role); err != nil {
					return err
				}
			}
			if poster != (file != "") {
				return registry.Errorf(registry.Invalid,
					"a poster goes into a file, and only a poster does: give --poster -o board.pdf")
			}
			return a.with(func(d *workplace) error {
				list, err := d.Worklist(cmd.Context(), role)
				if err != nil {
					return err
				}
				if poster {
					return a.writePoster(d, list, role, file)
				}
				kept := d.Safekeeping(cmd.Context())
				return a.print(typedList(list, kept), func(w io.Writer) {
					printWorklist(w, list, limit)
					fmt.Fprintf(w, "Safekeeping: %s\n", kept.Backup())
				})
			})
		},
	}
	cmd.Flags().StringVar(&role, "for", "",
		"only lines for this `ROLE` (bench, tester, coordinator) or person's initials")
	cmd.Flags().BoolVar(&poster, "poster", false, "make a sheet for the wall, A3, twelve lines at most")
	cmd.Flags().StringVarP(&file, "out", "o", "", "write the poster into `FILE`, a PDF")
	cmd.Flags().IntVar(&limit, "limit", 40, "show people at most this `NUMBER` of lines (0 = all)")
	return cmd
}

// typedTask is a task with the command that does it.
type typedTask struct {
	reports.Task
	Command string `json:"command,omitempty"`
}

// typedList is the worklist as it is printed as JSON.
func typedList(list reports.Worklist, kept house.Safekeeping) any {
	tasks := make([]typedTask, len(list.Tasks))
	for i, t := range list.Tasks {
		tasks[i] = typedTask{t, command(t.Next)}
	}
	return struct {
		PassRate statistics.PassRate   `json:"pass_rate"`
		Demand   []reports.DriveDemand `json:"demand"`
		Tasks    []typedTask           `json:"tasks"`
		Backup   *time.Time            `json:"last_good_backup"`
	}{list.PassRate, list.Demand, tasks, known(kept.LastGood)}
}

func printWorklist(w io.Writer, list reports.Worklist, limit int) {
	more := 0
	if limit > 0 && len(list.Tasks) > limit {
		more = len(list.Tasks) - limit
		list.Tasks = list.Tasks[:limit]
	}
	if len(list.Tasks) == 0 {
		fmt.Fprintln(w, "Nothing waits.")
	}
	columns(w, func(w io.Writer) {
		for _, t := range list.Tasks {
			due := plural(t.Days, "day")
			if t.Due != "" {
				due += ", due " + t.Due
			}
			fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\n", cmp.Or(string(t.Tag), t.Order, "-"), t.Do, due, t.Why,
				command(t.Next))
		}
	})
	if more > 0 {
		fmt.Fprintf(w, "and %d more: pitman worklist --limit 0\n", more)
	}
	p := list.PassRate
	fmt.Fprintf(w,
		"\nPass rate to count on: %.0f %% (%d of %d first tests here in two years, and %d of %d to start from; "+
			"Wilson 95 %% lower bound)\n",
		100*p.Lower, p.Passed, p.Tested, p.PriorPassed, p.PriorTested)
	for _, d := range list.Demand {
		if d.Open == 0 {
			continue
		}
		start := "no number is enough while nothing passes"
		if d.ToStart != nil {
			start = fmt.Sprintf("start %d more", *d.ToStart)
		}
		inHand := ""
		if d.Missing > 0 && float64(d.InHand)*d.Rate > float64(d.More) {
			inHand = fmt.Sprintf(", of which %d find a place,", d.More)
		}
		fmt.Fprintf(w, "%s: %d wanted − %d ready − %d in hand × %.2f%s = %.1f short: %s (%d queued)\n",
			d.Drive, d.Open, d.Ready, d.InHand, d.Rate, inHand, d.Missing, start, d.Queued)
		if d.NoBase > 0 {
			fmt.Fprintf(w, "  %d of them %s a base, and no number of heads fills %s\n", d.NoBase,
				registry.Agree(d.NoBase, "lacks", "lack"), registry.Agree(d.NoBase, "it", "those"))
		}
	}
}

// known is a moment as JSON tells it: null when it is not known.
func known(at time.Time) *time.Time {
	if at.IsZero() {
		return nil
	}
	return &at
}
