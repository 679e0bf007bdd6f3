package main

import (
	"fmt"
	"io"

	"pitman/registry"
	"pitman/registry/exchange"
)

func (a *app) printImport(name string, job *importJob, result *exchange.Result) error {
	for _, f := range result.Faults {
		fmt.Fprintln(a.err, told(f, nil))
	}
	if more := result.Faulty - len(result.Faults); more > 0 {
		fmt.Fprintf(a.err, "and %d more faults\n", more)
	}
	if result.Faulty == 0 || job.preview && result.Rows != nil {
		err := a.print(result, func(w io.Writer) {
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

// printNewTags says which label goes on which machine.
func printNewTags(w io.Writer, rows []exchange.Outcome) {
	columns(w, func(w io.Writer) {
		for _, o := range rows {
			if o.Does == exchange.RowNew {
				fmt.Fprintf(w, "%s\t%s %s\t%s\trow %d\n", o.Tag, o.Maker, o.Serial, o.Year, o.Row)
			}
		}
	})
}
