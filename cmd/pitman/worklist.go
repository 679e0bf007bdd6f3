package main

import (
	"fmt"
	"io"
	"time"

	"github.com/spf13/cobra"

	"pitman/registry"
	"pitman/registry/house"
	"pitman/registry/reports"
)

func (a *app) worklistCommand() *cobra.Command {
	var role string
	var limit int
	cmd := &cobra.Command{
		Use:   "worklist",
		Short: "Say what to do today, most urgent first, and why",
		Long: `Lists what to do today, one line a job, most urgent first. How many machines to start
comes from open orders, less what is ready, less work in hand times the house's own pass rate (the
Wilson 95 % lower bound of its first function tests and the stated prior together).`,
		Example: `  pitman worklist --for bench`,
		Args:    cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) (err error) {
			if limit < 0 {
				return registry.Errorf(registry.Invalid,
					"limit %d: give the most lines to show, such as 20, or 0 for all", limit)
			}
			if role != "" {
				if role, err = reports.ParseRole(role); err != nil {
					return err
				}
			}
			return a.with(func(d *workplace) error {
				list, err := d.Worklist(cmd.Context(), role)
				if err != nil {
					return err
				}
				kept := d.Safekeeping(cmd.Context())
				return a.print(typedList(list, kept), func(w io.Writer) {
					printWorklist(w, list, limit)
					fmt.Fprintf(w, "Safekeeping: %s\n", kept.Backup())
				})
			})
		},
	}
	cmd.Flags().StringVar(&role, "for", "", "only lines for this `ROLE`: bench, tester or coordinator")
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
		PassRate reports.PassRate      `json:"pass_rate"`
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
			fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\n", orDash(string(t.Tag)), t.Do, plural(t.Days, "day"), t.Why,
				command(t.Next))
		}
	})
	if more > 0 {
		fmt.Fprintf(w, "and %d more: pitman worklist --limit 0\n", more)
	}
	p := list.PassRate
	fmt.Fprintf(w,
		"\nPass rate to count on: %.0f %% (%d of %d first tests here, and %d of %d to start from; Wilson "+
			"95 %% lower bound)\n",
		100*p.Lower, p.Passed, p.Tested, p.PriorPassed, p.PriorTested)
	for _, d := range list.Demand {
		if d.Open == 0 {
			continue
		}
		start := fmt.Sprintf("start %d more", d.ToStart)
		if d.ToStart < 0 {
			start = "no number is enough while nothing passes"
		}
		fmt.Fprintf(w, "%s: %d wanted − %d ready − %d in hand × %.2f = %.1f short: %s (%d queued)\n",
			d.Drive, d.Open, d.Ready, d.InHand, d.Rate, d.Missing, start, d.Queued)
	}
}

// known is a moment as JSON tells it: null when it is not known.
func known(at time.Time) *time.Time {
	if at.IsZero() {
		return nil
	}
	return &at
}
