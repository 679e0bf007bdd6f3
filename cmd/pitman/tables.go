package main

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"pitman/serials/table"
	"pitman/serials/years"

	"github.com/spf13/cobra"

	"pitman/registry"
)

func (a *app) tablesCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "tables",
		Short: "Look at the serial number tables, and check them",
		Long: `The tables are CSV files in the folder tables of the house: edit them in any
spreadsheet, and add your own. What you change counts at the next command. The columns are

  ` + strings.Join(table.Columns, ",") + `

One row of serial numbers says: this maker stamped the numbers first to last, behind prefix, in the
years from to to. An empty last means that the row goes on to where the next one begins. Lines that
begin with # are comments. Other files hold patents, marks, makers' names and registers: pitman
help tables tells their columns.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(a.tablesListCommand(), a.tablesShowCommand(), a.tablesCheckCommand(),
		a.tablesLearnCommand(), a.tablesWhatIfCommand(), a.tablesCompareCommand(), a.tablesMergeCommand(),
		a.tablesHistoryCommand())
	return cmd
}

func (a *app) tablesListCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "list",
		Short: "List the table files and their makers",
		Args:  cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			tables, err := a.tables()
			if err != nil {
				return err
			}
			type file struct {
				File   string     `json:"file"`
				Rows   int        `json:"rows"`
				From   years.Year `json:"from"`
				To     years.Year `json:"to"`
				Makers []string   `json:"makers"`
			}
			files := []file{}
			for _, t := range tables.Files() {
				f := file{File: t.Name, Rows: t.Len(), Makers: []string{}}
				for _, p := range t.Patents {
					if f.From == 0 || p.Year < f.From {
						f.From = p.Year
					}
					f.To = max(f.To, p.Year)
					f.Makers = addNew(f.Makers, p.Office+" patent")
				}
				for _, r := range t.Rows {
					if f.From == 0 || r.From < f.From {
						f.From = r.From
					}
					f.To = max(f.To, r.To)
					f.Makers = addNew(f.Makers, r.Maker)
				}
				for _, r := range t.Forms {
					f.Makers = addNew(f.Makers, r.Maker)
				}
				files = append(files, f)
			}
			return a.print(files, func(w io.Writer) {
				columns(w, func(w io.Writer) {
					fmt.Fprintln(w, "file\trows\tyears\tmakers")
					for _, f := range files {
						years := table.Row{From: f.From, To: f.To}.Years()
						fmt.Fprintf(w, "%s\t%d\t%s\t%s\n", f.File, f.Rows, orDash(years),
							orDash(strings.Join(f.Makers, ", ")))
					}
				})
			})
		},
	}
}

func (a *app) tablesShowCommand() *cobra.Command {
	return &cobra.Command{
		Use:     "show MAKER",
		Short:   "Show every table row of a maker",
		Example: `  pitman tables show "Wheeler & Wilson"`,
		Args:    cobra.MinimumNArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			tables, err := a.tables()
			if err != nil {
				return err
			}
			name := strings.Join(args, " ")
			spelt, rows, ok := tables.Rows(name)
			if !ok {
				near := tables.Nearest(name)
				if len(near) == 0 {
					return registry.Errorf(registry.NotFound,
						"there is no table for maker %q: pitman tables list shows those there are", name)
				}
				return registry.Errorf(registry.NotFound,
					"there is no table for maker %q: the nearest names are %s", name,
					strings.Join(near, ", "))
			}
			return a.print(rows, func(w io.Writer) {
				fmt.Fprintln(w, spelt)
				columns(w, func(w io.Writer) {
					fmt.Fprintln(w, "numbers\tyears\tmodel\tworks\twhere\tnote")
					for _, r := range rows {
						fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s:%d\t%s\n", r.Numbers(), r.Years(), r.Model,
							r.Works, r.File, r.Line, r.Note)
					}
				})
				for _, f := range tables.Forms(name) {
					fmt.Fprintf(w, "Numbers are written %s (%s:%d) %s\n", f.Form, f.File, f.Line, f.Note)
				}
				var sources []string
				for _, r := range rows {
					if r.Source != "" && !slices.Contains(sources, r.Source) {
						sources = append(sources, r.Source)
						fmt.Fprintln(w, "Source: "+r.Source)
					}
				}
			})
		},
	}
}

func (a *app) tablesCheckCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "check",
		Short: "Find what is wrong in the tables, by file and line",
		Long: `Prints every fault with its file and line and what to do about it, and exits 1 if there is any.
Only rows that cannot be read are withheld; all others are used, and where two clash every answer says so.`,
		Args: cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			tables, err := a.readTables()
			if err != nil {
				return err
			}
			faults := append([]table.Fault{}, tables.Check()...)
			err = a.print(faults, func(w io.Writer) {
				for _, f := range faults {
					fmt.Fprintln(w, f)
				}
				if len(faults) == 0 {
					fmt.Fprintf(w, "Nothing is wrong in %s.\n", plural(len(tables.Files()), "table"))
				}
			})
			if err == nil && len(faults) > 0 {
				err = errQuiet
			}
			return err
		},
	}
}

func addNew(list []string, s string) []string {
	if slices.Contains(list, s) {
		return list
	}
	return append(list, s)
}
