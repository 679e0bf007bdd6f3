package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"pitman/registry"
	"pitman/registry/exchange"
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

// wordsOf are the fields of each kind whose words are mostly known ones, and what those are elsewhere.
func wordsOf(kind movein.Kind) (asked []string, as map[string]string) {
	switch kind {
	case movein.Bases:
		return []string{"maker", "donor", "place"}, nil
	case movein.Partners:
		return []string{"name"}, map[string]string{"name": "partner"}
	}
	return []string{"for", "maker"}, map[string]string{"for": "partner"}
}

func (a *app) runAlong(ctx context.Context, d *workplace, by registry.Initials, kind movein.Kind,
	job *importJob) error {
	given, err := movein.ParseMap(kind, job.maps)
	if err != nil {
		return err
	}
	file, err := openFile(job.path)
	if err != nil {
		return err
	}
	defer file.Close()
	name := filepath.Base(job.path)
	open := func() (*sheet.Reader, exchange.Columns, []*sheet.Fault, error) {
		if _, err := file.Seek(0, io.SeekStart); err != nil {
			return nil, nil, nil, err
		}
		return openAlong(file, job, kind, given)
	}
	r, columns, faults, err := open()
	if err != nil {
		return err
	}
	headerRow := 0
	if r != nil {
		headerRow = r.HeaderRow()
	}
	result := &movein.Result{Kind: kind, Rows: []movein.Row{}, Faults: faults}
	read := map[exchange.Misread]string{}
	var near []string
	if len(faults) == 0 {
		asked, as := wordsOf(kind)
		if near, err = a.settleWordsOf(ctx, d, r, columns, asked, as, read); err != nil {
			return err
		}
		if r, columns, _, err = open(); err != nil {
			return err
		}
		if result, err = d.MovingIn.Take(ctx, by, kind, name, r, columns, read, job.preview); err != nil {
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

// openAlong reads the header of a list and finds out what its columns are.
func openAlong(file io.Reader, job *importJob, kind movein.Kind, given map[string]string) (*sheet.Reader,
	exchange.Columns,
	[]*sheet.Fault, error) {
	all, _ := kind.Fields()
	r, err := sheet.OpenAt(file, func(heading string) bool {
		columns, _, _ := movein.Match([]string{heading}, kind, given)
		return columns[0] != ""
	}, job.headerRow)
	var wrong *sheet.Fault
	if errors.As(err, &wrong) {
		return nil, nil, []*sheet.Fault{wrong}, nil
	}
	if err != nil {
		return nil, nil, nil, err
	}
	columns, unknown, faults := movein.Match(r.Header(), kind, given)
	for _, i := range unknown {
		faults = append(faults, &sheet.Fault{Row: 1, Column: r.Column(i), Message: fmt.Sprintf(
			"it is not known what this column holds: say so with --map %q, where FIELD is %s; or leave it "+
				"out with --map %q", r.Header()[i]+"=FIELD", strings.Join(all, ", "), r.Header()[i]+"=-")})
	}
	for _, f := range faults {
		f.Row = r.HeaderRow()
	}
	return r, columns, faults, nil
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
