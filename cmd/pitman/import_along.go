package main

import (
	"context"
	"fmt"
	"io"
	"path/filepath"

	"pitman/registry"
	"pitman/registry/imports"
	"pitman/registry/misread"
	"pitman/registry/movein"
	"pitman/registry/sheet"
)

// importAlong takes in what a workshop has beside its machines.
func (a *app) importAlong(ctx context.Context, job *importJob) error {
	kind, err := movein.ParseKind(job.as)
	if err != nil {
		return registry.OnField("as", err)
	}
	if job.update || job.forget {
		return registry.Errorf(registry.Invalid,
			"--update and --forget are for lists of machines: leave them out for %s", kind)
	}
	do := func(d *workplace, by registry.Initials) error { return a.runAlong(ctx, d, by, kind, job) }
	if job.preview {
		return a.with(func(d *workplace) error { return do(d, "") })
	}
	return a.withActor(do)
}

func (a *app) runAlong(ctx context.Context, d *workplace, by registry.Initials, kind movein.Kind,
	job *importJob) error {
	fields, _ := kind.Fields()
	given, err := imports.ParseMap(job.maps, fields)
	if err != nil {
		return err
	}
	file, err := openFile(job.path)
	if err != nil {
		return err
	}
	defer file.Close()
	name := filepath.Base(job.path)
	list := &movein.List{Kind: kind, File: name, Read: map[misread.Word]string{}}
	var answers []imports.ColumnName
	open := func() ([]*sheet.Fault, error) {
		if _, err := file.Seek(0, io.SeekStart); err != nil {
			return nil, err
		}
		h, fresh, faults,
			err := a.openHeader(file, job, "The answers hold for this list.",
			func(row int) (*imports.Header, error) {
				return movein.ReadHeader(kind, file, row, given, answers)
			})
		list.Header, answers = h, append(answers, fresh...)
		return faults, err
	}
	faults, err := open()
	if err != nil {
		return err
	}
	headerRow := 0
	if list.Header != nil {
		headerRow = list.Sheet.HeaderRow()
	}
	result := &movein.Result{Kind: kind, Rows: []movein.Row{}, Faults: faults}
	var near []string
	if len(faults) == 0 {
		asked, as := kind.Words()
		if near, err = a.settleWordsOf(ctx, d, list.Sheet, list.Columns, asked, as, list.Read); err != nil {
			return err
		}
		if _, err = open(); err != nil {
			return err
		}
		if job.preview {
			result, err = d.MovingIn.Look(ctx, list)
		} else {
			result, err = d.MovingIn.Take(ctx, by, list, nil)
		}
		if err != nil {
			return err
		}
	}
	said := previewed{near: near, faults: result.Faults}
	for _, o := range result.Rows {
		said.of(o.Row, o.String(), o.Remark)
	}
	if err := a.finishPreview(file, job, headerRow, said); err != nil {
		return err
	}
	return a.printAlong(name, job, result)
}

func (a *app) printAlong(name string, job *importJob, result *movein.Result) error {
	for _, f := range result.Faults {
		fmt.Fprintln(a.err, told(f, nil))
	}
	if len(result.Faults) == 0 || job.preview {
		err := a.print(result, func(w io.Writer) {
			columns(w, func(w io.Writer) {
				for _, o := range result.Rows {
					line := fmt.Sprintf("row %d\t%s\t%s", o.Row, o, o.Name)
					if o.Remark != "" {
						line += "\t" + o.Remark
					}
					fmt.Fprintln(w, line)
				}
			})
			fmt.Fprintf(w, "%s: %d new, %d the same", name, result.New, result.Same)
			if job.preview {
				fmt.Fprint(w, "; a preview, nothing is written")
			}
			fmt.Fprintln(w)
		})
		if err != nil {
			return err
		}
	}
	if n := len(result.Faults); n > 0 {
		return registry.Errorf(registry.Invalid,
			"%s in %s: nothing was imported; correct the rows named above and import the file again",
			plural(n, "fault"), name)
	}
	return nil
}
