package main

import (
	"context"
	"fmt"
	"io"
	"slices"

	"github.com/spf13/cobra"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/house"
	"pitman/registry/stock"
)

func (a *app) benchCommand() *cobra.Command {
	cmd := &cobra.Command{Use: "bench", Short: "Work at the bench: start, note, finish; and the list of jobs",
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() }}
	cmd.AddCommand(a.benchStep("start", "Take a machine to the bench", (*house.Workshop).BenchStart),
		a.benchStep("note", "Note what was done to a machine on the bench", (*house.Workshop).BenchNote),
		a.benchStep("finish", "Send a machine from the bench to its tests", (*house.Workshop).BenchFinish),
		a.benchJobsCommand())
	return cmd
}

// benchAction is one of the registry's three.
type benchAction func(w *house.Workshop, ctx context.Context, by registry.Initials, tag registry.Tag,
	note bench.WorkNote) (*stock.Machine, error)

func (a *app) benchStep(name, short string, do benchAction) *cobra.Command {
	var note bench.WorkNote
	cmd := &cobra.Command{Use: name + " TAG", Short: short, Example: "  pitman bench " + name +
		" PM16 --by QX --job clean --job oil --minutes 45"}
	cmd = a.onTag(cmd, func(d *workplace, by registry.Initials, tag registry.Tag) error {
		m, err := do(d.Workshop, cmd.Context(), by, tag, note)
		if err != nil {
			return err
		}
		jobs, err := d.JobsFor(m)
		if err != nil {
			return err
		}
		// At the start all that may be met is shown; later what belongs to the work just noted.
		if name != "start" {
			jobs = slices.DeleteFunc(jobs,
				func(j bench.BenchJob) bool { return !slices.Contains(note.Jobs, j.Job) })
		}
		cautions := append([]string{}, bench.CautionsFor(m, jobs)...)
		v := struct {
			machineView
			Cautions []string `json:"cautions"`
		}{d.view(m), cautions}
		return a.printActed(d, m, v, func(w io.Writer) {
			if name == "start" {
				fmt.Fprintln(w, "Jobs, by the word that bench note --job takes:")
				columns(w, func(w io.Writer) {
					for _, j := range jobs {
						fmt.Fprintf(w, "  %s\t%s\n", j.Job, j.What)
					}
				})
			}
			printCautions(w, cautions...)
			if name == "finish" {
				fmt.Fprintln(w, nextTest(d, m))
			}
		})
	})
	flags := cmd.Flags()
	flags.StringArrayVar(&note.Jobs, "job", nil, "`JOB` done, from pitman bench jobs (repeatable)")
	flags.IntVar(&note.Minutes, "minutes", 0, "`MINUTES` spent")
	flags.StringVar(&note.Note, "note", "", "any other `TEXT`")
	return cmd
}

// nextTest says which test a machine off the bench waits for.
func nextTest(d *workplace, m *stock.Machine) string {
	if len(d.Warnings(m)) > 0 {
		return fmt.Sprintf("Next: a competent person records a safety test with pitman safety %s.", m.Tag)
	}
	return fmt.Sprintf("Next: pitman test %s.", m.Tag)
}

func (a *app) benchJobsCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "jobs",
		Short: "Print the house's list of bench jobs, with their cautions",
		Args:  cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			return a.with(func(d *workplace) error {
				jobs, err := d.Lists.Bench.Jobs()
				if err != nil {
					return err
				}
				return a.print(jobs, func(w io.Writer) {
					columns(w, func(w io.Writer) {
						for _, j := range jobs {
							fmt.Fprintf(w, "%s\t%s\n", j.Job, j.What)
						}
					})
				})
			})
		},
	}
}
