package main

import (
	"fmt"
	"io"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"pitman/registry"
	"pitman/registry/orders"
	"pitman/registry/work"
)

func (a *app) workCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "work",
		Short: "Work that orders were promised with: list, done",
		Long: `Where a head fits its base with work, a confirmed match makes a work order of each
job. Nothing of that place is packed before its work is done and the set was tried on its base
since; work goes away with a place that is given back.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(a.workListCommand(), a.workDoneCommand())
	return cmd
}

func (a *app) workListCommand() *cobra.Command {
	return &cobra.Command{
		Use:     "list [ORDER]",
		Short:   "List the work of one order, or of all that are open",
		Example: `  pitman work list ORD1`,
		Args:    cobra.MaximumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) (err error) {
			number := ""
			if len(args) > 0 {
				if number, err = orders.ParseOrder(args[0]); err != nil {
					return err
				}
			}
			return a.with(func(d *workplace) error {
				list, err := d.ListWork(cmd.Context(), number)
				if err != nil {
					return err
				}
				return a.print(list, func(w io.Writer) { printWork(w, list) })
			})
		},
	}
}

func printWork(w io.Writer, list []orders.WorkOrder) {
	if len(list) == 0 {
		fmt.Fprintln(w, "No work is promised.")
		return
	}
	open, unsaid := 0, 0
	columns(w, func(w io.Writer) {
		fmt.Fprintln(w, "work\tset\tjob\tminutes\tskill\tparts\tstate\tby")
		for _, k := range list {
			minutes := "-" // nobody knows how long a plug takes
			if k.Minutes > 0 {
				minutes = strconv.Itoa(k.Minutes)
			}
			if k.State == orders.WorkOpen {
				open += k.Minutes
				if k.Minutes == 0 {
					unsaid++
				}
			}
			fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\n", k.ID, pair(k.Head, k.Base), k.Job, minutes,
				k.Skill, orDash(strings.Join(k.Parts, ", ")), k.State, orDash(string(k.By)))
		}
	})
	if unsaid > 0 {
		fmt.Fprintf(w, "%d min still to do, and %s without a time\n", open, plural(unsaid, "job"))
		return
	}
	fmt.Fprintf(w, "%d min still to do\n", open)
}

func (a *app) workDoneCommand() *cobra.Command {
	var minutes int
	cmd := &cobra.Command{
		Use:   "done ID",
		Short: "Say that a job was done; the records of head and base change with it",
		Long: `Notes who did a job and in how many minutes, and changes what it changed: a new top
or new sockets have the measures they were cut to, a swapped handwheel has its groove. Measure again
where the work came out otherwise. The set is tried on its base before it is packed.`,
		Example: `  pitman work done ORD1-2 --minutes 150 --by QX`,
		Args:    cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			number, id, err := work.ParseID(args[0])
			if err != nil {
				return err
			}
			if cmd.Flags().Changed("minutes") && minutes < 1 {
				return registry.Errorf(registry.Invalid,
					"minutes %d is no time: type whole minutes, such as 90, or leave it out",
					minutes).On("minutes")
			}
			return a.withActor(func(d *workplace, by registry.Initials) error {
				k, err := d.WorkIsDone(cmd.Context(), by, number, id, minutes)
				if err != nil {
					return err
				}
				return a.print(k, func(w io.Writer) {
					fmt.Fprintf(w, "%s  %s on %s done by %s\n", k.ID, k.Job, pair(k.Head, k.Base), k.By)
					fmt.Fprintln(w, afterWork(k))
				})
			})
		},
	}
	cmd.Flags().IntVar(&minutes, "minutes", 0, "how many `MINUTES` it took")
	return cmd
}

// afterWork is what a set is tested for once its work is done.
func afterWork(k *orders.WorkOrder) string {
	if k.Skill == registry.SkillElectrical {
		return withCommands("A safety pass from before it counts no longer: a competent person tests it as "+
			"it is now",
			[]registry.NextStep{registry.Next(registry.DoSafetyResult, k.Head)})
	}
	return withCommands("Once all work of the set is done, try it on its base and record the test",
		[]registry.NextStep{registry.Next(registry.DoTestResult, k.Head)})
}
