package main

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"pitman/registry"
	"pitman/serials"
	"pitman/serials/merge"
	"pitman/serials/table"
)

func (a *app) tablesMergeCommand() *cobra.Command {
	var to, believe string
	cmd := &cobra.Command{
		Use:   "merge FILE OTHER",
		Short: "Make one table of two, and see where the two differ",
		Example: `  pitman tables merge ostermann.csv ledger.csv > both.csv
  pitman tables merge ostermann.csv ledger.csv -o both.csv --believe ledger.csv`,
		Long: `Writes one table that says what both files say. Numbers to which both give years get those
on which they agree, and the note of such a row says what each had. Where no year agrees with both,
the two rows stay, as the tables do now, unless you say which file to believe. Each difference is
told with the places of its rows.

The merged table goes to the screen, and what is told of it beside it; with -o it goes to a new file
and the differences to the screen. Neither file is changed, and no file is written over. To use the
merged table, put it into the folder tables in place of the two.`,
		Args: cobra.ExactArgs(2),
		RunE: func(_ *cobra.Command, args []string) error {
			both, err := a.readBoth(args)
			if err != nil {
				return err
			}
			believed := ""
			if believe != "" {
				if believed, err = oneOf(believe, args, both); err != nil {
					return err
				}
			}
			rows, differ, ok := merge.Tables(both[0], both[1], believed)
			if !ok {
				return registry.Errorf(registry.Invalid,
					"%s and %s would make more than %d rows: look for rows "+
						"that lie within each other", both[0].Name, both[1].Name, table.MaxRows)
			}
			if differ == nil {
				differ = []merge.Difference{}
			}
			return a.printMerged(to, rows, differ)
		},
	}
	cmd.Flags().StringVarP(&to, "output", "o", "", "the new `FILE.csv` to write")
	cmd.Flags().StringVar(&believe, "believe", "", "the `FILE` of the two that counts where they clash")
	return cmd
}

// readBoth reads two tables of serial numbers. Two files of one name are told apart by their paths.
func (a *app) readBoth(paths []string) (both [2]*table.Table, err error) {
	for i, path := range paths {
		if both[i], err = a.readTableFile(path); err != nil {
			return both, err
		}
		if len(both[i].Rows) == 0 {
			return both, registry.Errorf(registry.Invalid, "file %q has no rows of serial numbers: only "+
				"tables of those can be merged", path)
		}
	}
	if both[0].Name == both[1].Name {
		for i, t := range both {
			t.Name = paths[i]
			for k := range t.Rows {
				t.Rows[k].File = paths[i]
			}
		}
	}
	return both, nil
}

// oneOf is the name of the one of two tables that a person means.
func oneOf(named string, paths []string, both [2]*table.Table) (string, error) {
	for i, path := range paths {
		if named == path || named == both[i].Name {
			return both[i].Name, nil
		}
	}
	return "", registry.Errorf(registry.Invalid, "believe %q is neither of the two files: type %s or %s",
		named,
		paths[0], paths[1])
}

func (a *app) printMerged(to string, rows []table.Row, differ []merge.Difference) error {
	text := table.File(rows)
	result := struct {
		File        string             `json:"file"`
		Rows        []table.Row        `json:"rows"`
		Differences []merge.Difference `json:"differences"`
		Faults      []table.Fault      `json:"faults"` // what a check says of the merged table
	}{to, rows, differ, []table.Fault{}}
	name := "merged.csv"
	if to != "" {
		name = filepath.Base(to)
	}
	if merged, faults := table.Read(name, strings.NewReader(text)); merged != nil {
		result.Rows = merged.Rows // with the lines in which they stand
		result.Faults = append(append(result.Faults, faults...), serials.NewTables(merged).Check()...)
	}
	told := a.err
	if to != "" {
		told = a.out
		if err := writeNew(to, text); err != nil {
			return err
		}
	}
	if a.json {
		return a.print(result, nil)
	}
	for _, d := range differ {
		fmt.Fprintln(told, d.Says())
	}
	for _, f := range result.Faults {
		fmt.Fprintln(told, f)
	}
	if to == "" {
		_, err := io.WriteString(a.out, text)
		return err
	}
	fmt.Fprintf(told, "wrote %s to %s\n", plural(len(rows), "row"), to)
	return nil
}

// writeNew writes a file that is not there yet.
func writeNew(path, text string) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if os.IsExist(err) {
		return registry.Errorf(registry.Conflict, "%s is there already: name a new file", path)
	}
	if err != nil {
		return registry.Errorf(registry.Invalid,
			"%s cannot be written (%v): name a file in a folder that is there", path, withoutPath(err))
	}
	_, err = f.WriteString(text)
	if closed := f.Close(); err == nil {
		err = closed
	}
	if err != nil {
		os.Remove(path)
	}
	return err
}
