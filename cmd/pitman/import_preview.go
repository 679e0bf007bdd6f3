package main

import (
	"cmp"
	_ "embed"
	"errors"
	"fmt"
	"html/template"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"pitman/registry/sheet"
)

//go:embed preview.html.tmpl
var previewPage string

var previewTemplate = template.Must(template.New("preview").Parse(previewPage))

// previewForm is how a preview is written, by the end of the file's name; "" where that is none.
func previewForm(name string) string {
	switch ext := strings.ToLower(filepath.Ext(name)); ext {
	case ".csv", ".xlsx", ".html":
		return ext
	}
	return ""
}

// remarked is a row of a list with what is to be said of it.
type remarked struct {
	Row    int
	Remark string
	Fault  bool
	Cells  []string
}

// previewed is what a list would do: by row, and what was seen beside it.
type previewed struct {
	near    []string
	remarks map[int]string
	faults  []*sheet.Fault
}

func (p *previewed) of(row int, does, remark string) {
	if p.remarks == nil {
		p.remarks = map[int]string{}
	}
	p.remarks[row] = strings.TrimSuffix(does+"; "+remark, "; ")
}

// finishPreview names the near words, and writes the rows into a file where one was asked for.
func (a *app) finishPreview(file *os.File, job *importJob, headerRow int, p previewed) error {
	for _, one := range p.near {
		fmt.Fprintln(a.err, one)
	}
	if job.out == "" {
		return nil
	}
	return a.writePreview(file, job, headerRow, p.remarks, p.faults)
}

// writePreview writes the rows of a list with a column of remarks, or as a page.
func (a *app) writePreview(file *os.File, job *importJob, headerRow int, remarks map[int]string,
	faults []*sheet.Fault) error {
	if _, err := file.Seek(0, io.SeekStart); err != nil {
		return err
	}
	wrong := map[int]string{}
	for _, f := range faults {
		wrong[f.Row] = strings.TrimPrefix(wrong[f.Row]+"; column "+f.Column+": "+f.Message, "; ")
	}
	header, rows := []string{}, []remarked{}
	r, err := sheet.OpenAt(file, func(string) bool { return false }, headerRow)
	for err == nil {
		header = r.Header()
		var cells []string
		if cells, _, err = r.Read(); err != nil {
			break
		}
		one := remarked{Row: r.Row(), Remark: remarks[r.Row()]}
		if fault, is := wrong[one.Row]; is {
			one.Remark, one.Fault = "fault: "+fault, true
			delete(wrong, one.Row)
		}
		one.Cells = append(append(one.Cells, cells...), make([]string, max(0, len(header)-len(cells)))...)
		rows = append(rows, one)
	}
	var unread *sheet.Fault
	if !errors.Is(err, io.EOF) && !errors.As(err, &unread) {
		return err
	}
	for row, fault := range wrong { // of rows that cannot be read, and of the header
		rows = append(rows, remarked{Row: row, Remark: "fault: " + fault, Fault: true})
	}
	slices.SortFunc(rows, func(a, b remarked) int { return cmp.Compare(a.Row, b.Row) })
	err = writeFile(job.out, func(w io.Writer) error {
		if previewForm(job.out) == ".html" {
			return previewTemplate.Execute(w, struct {
				File   string
				Header []string
				Rows   []remarked
				Faults int
			}{filepath.Base(job.path), header, rows, len(faults)})
		}
		lines := make([][]string, len(rows))
		for i, one := range rows {
			lines[i] = append([]string{fmt.Sprint(one.Row), one.Remark}, one.Cells...)
		}
		return sheet.Save(w, previewForm(job.out), append([]string{"row", "remarks"}, header...), lines)
	})
	if err == nil {
		fmt.Fprintf(a.err, "wrote the preview to %s\n", job.out)
	}
	return err
}
