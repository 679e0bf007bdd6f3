package main

import (
	"fmt"
	"io"

	"pitman/registry"
	"pitman/registry/imports"
)

func (a *app) printImport(name string, job *importJob, result *imports.Result) error {
	for _, f := range result.Faults {
		fmt.Fprintln(a.err, told(f, nil))
	}
	if more := result.Faulty - len(result.Faults); more > 0 {
		fmt.Fprintf(a.err, "and %s\n", plural(more, "more fault"))
	}
	if result.Faulty == 0 || job.preview && result.Rows != nil {
		err := a.printResult(result, func(w io.Writer) {
			if job.preview {
				columns(w, func(w io.Writer) {
					for _, o := range result.Rows {
						line := fmt.Sprintf("row %d\t%s\t%s %s\t%s", o.Row, o, o.Maker, o.Serial, o.Year)
						if o.Remark != "" {
							line += "\t" + o.Remark
						}
						fmt.Fprintln(w, line)
					}
				})
			} else {
				printNewTags(w, result.Rows)
			}
			fmt.Fprintf(w, "%s: %d new, %d the same, %d changed", name, result.New, result.Same,
				result.Changed)
			if job.preview {
				fmt.Fprint(w, "; a preview, nothing is written")
			}
			fmt.Fprintln(w)
		})
		if err != nil {
			return err
		}
	}
	if result.Faulty > 0 {
		return registry.Errorf(registry.Invalid,
			"%s in %s: nothing was imported; correct the rows named above and import the file again",
			plural(result.Faulty, "fault"), name)
	}
	return nil
}

// printResult prints what an import did: rows as they are worded, since a file may have a million.
func (a *app) printResult(result *imports.Result, text func(w io.Writer)) error {
	if !a.json {
		text(a.out)
		return nil
	}
	around := *result
	around.Rows = []imports.Outcome{}
	return a.printLong(around, "rows", func(element func(any) error) error {
		for i := range result.Rows {
			if err := element(&result.Rows[i]); err != nil {
				return err
			}
		}
		return nil
	})
}

// printNewTags says which label goes on which machine.
func printNewTags(w io.Writer, rows []imports.Outcome) {
	columns(w, func(w io.Writer) {
		for _, o := range rows {
			if o.Does == imports.RowNew {
				fmt.Fprintf(w, "%s\t%s %s\t%s\trow %d\n", o.Tag, o.Maker, o.Serial, o.Year, o.Row)
			}
		}
	})
}
