package main

import (
	"fmt"
	"io"
	"path/filepath"

	"pitman/serials/table"

	"github.com/spf13/cobra"

	"pitman/registry"
	"pitman/serials"
)

func (a *app) tablesLearnCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "learn",
		Short: "See which table rows the house's own dated machines bear out or refute",
		Long: `Lays what is known of the machines in the house beside the table rows that hold their
numbers. Dated papers bound a machine's year above, patents below, and a year that a person knows
fixes it; years that come from tables do not count. Nothing is changed: mend the table yourself when
enough machines speak against a row.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return a.with(func(d *workplace) error {
				lessons, err := d.Lessons(cmd.Context())
				if err != nil {
					return err
				}
				return a.print(lessons, func(w io.Writer) {
					if len(lessons) == 0 {
						fmt.Fprintln(w,
							"No machine has evidence of its own beside a serial number that a table row "+
								"holds.")
					}
					for _, l := range lessons {
						fmt.Fprintf(w, "%s %s, %s: %s\n", l.Maker, l.Numbers, l.Years, l.Says())
					}
				})
			})
		},
	}
}

// readTableFile reads one table file that may lie anywhere, and prints what is wrong with it.
func (a *app) readTableFile(path string) (*table.Table, error) {
	f, err := openFile(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	table, faults := table.Read(filepath.Base(path), f)
	for _, fault := range faults {
		fmt.Fprintln(a.err, fault)
	}
	if table == nil {
		return nil, registry.Errorf(registry.Invalid, "file %q has nothing in it that can be used as a table",
			path)
	}
	return table, nil
}

func (a *app) tablesWhatIfCommand() *cobra.Command {
	return &cobra.Command{
		Use:     "what-if FILE",
		Short:   "List the machines whose year would change if this file were among the tables",
		Example: `  pitman tables what-if ostermann-new.csv`,
		Long: `Dates every machine as if FILE lay in the folder tables, in place of a file of the
same name there. Nothing is changed. What is wrong in the file is told on the way.`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			table, err := a.readTableFile(args[0])
			if err != nil {
				return err
			}
			return a.with(func(d *workplace) error {
				tables, err := d.Tables()
				if err != nil {
					return err
				}
				changed, err := d.UnderTables(cmd.Context(), tables.With(table))
				if err != nil {
					return err
				}
				return a.print(changed, func(w io.Writer) {
					moved := 0
					columns(w, func(w io.Writer) {
						for _, s := range changed {
							if !s.Kept {
								moved++
								fmt.Fprintf(w, "%s\t%s\t%s\t%s\n", s.Tag, s.Maker, s.Serial, change(s))
							}
						}
					})
					fmt.Fprintf(w, "%s would change.\n", plural(moved, "machine"))
				})
			})
		},
	}
}

func (a *app) tablesCompareCommand() *cobra.Command {
	return &cobra.Command{
		Use:     "compare FILE OTHER",
		Short:   "See where two table files give other years to the same numbers",
		Example: `  pitman tables compare ostermann.csv ostermann-new.csv`,
		Args:    cobra.ExactArgs(2),
		RunE: func(_ *cobra.Command, args []string) error {
			var both [2]*serials.Tables
			for i, path := range args {
				table, err := a.readTableFile(path)
				if err != nil {
					return err
				}
				both[i] = serials.NewTables(table)
			}
			differences := both[0].Differences(both[1])
			return a.print(differences, func(w io.Writer) {
				columns(w, func(w io.Writer) {
					for _, d := range differences {
						fmt.Fprintf(w, "%s\t%s\t%s\t%s\n", d.Maker, d.Numbers, d.One, d.Other)
					}
				})
				if len(differences) == 0 {
					fmt.Fprintln(w, "Both give the same years to every number.")
				}
			})
		},
	}
}
