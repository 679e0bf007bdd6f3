package main

import (
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"github.com/spf13/cobra"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"

	"pitman/registry"
	"pitman/registry/sheet"
)

// paper is a sheet that goes along with a shipment: words, a table, words. It is printed as text, CSV or PDF.
type paper struct {
	title  string
	before []string
	header []string
	wide   []float64 // share of the width for each column
	rows   [][]string
	after  []string
}

func (p *paper) text(w io.Writer) {
	fmt.Fprintln(w, p.title)
	for _, line := range p.before {
		fmt.Fprintln(w, line)
	}
	columns(w, func(w io.Writer) {
		fmt.Fprintln(w, strings.Join(p.header, "\t"))
		for _, row := range p.rows {
			fmt.Fprintln(w, strings.Join(row, "\t"))
		}
	})
	for _, line := range p.after {
		fmt.Fprintln(w, line)
	}
}

// csv writes the table alone.
func (p *paper) csv(w io.Writer) error {
	out, err := sheet.NewWriter(w, p.header)
	if err != nil {
		return err
	}
	for _, row := range p.rows {
		if err := out.Write(row); err != nil {
			return err
		}
	}
	return out.Flush()
}

// pdf writes the paper on A4, as many pages as it takes; the same paper and time give the same bytes.
func (p *paper) pdf(w io.Writer, made time.Time) error {
	const line, margin = 4.6, 12.0
	pdf := fpdf.New("L", "mm", "A4", "")
	pdf.SetCatalogSort(true)
	pdf.SetCreationDate(made)
	pdf.SetModificationDate(made)
	pdf.SetTitle(p.title, true)
	pdf.SetMargins(margin, margin, margin)
	pdf.SetAutoPageBreak(true, margin+line)
	pdf.AddUTF8FontFromBytes("go", "", goregular.TTF)
	pdf.AddUTF8FontFromBytes("go", "B", gobold.TTF)
	pdf.AliasNbPages("{n}")
	pdf.SetFooterFunc(func() {
		pdf.SetY(-margin)
		pdf.SetFont("go", "", 7)
		pdf.CellFormat(0, line, fmt.Sprintf("%s, page %d of {n}", p.title, pdf.PageNo()), "", 0, "R", false, 0, "")
	})
	width, _ := pdf.GetPageSize()
	width -= 2 * margin
	row := func(style string, cells []string) {
		pdf.SetFont("go", style, 7.5)
		lines := 1
		for i, cell := range cells {
			lines = max(lines, len(pdf.SplitText(cell, width*p.wide[i]-1)))
		}
		_, height := pdf.GetPageSize()
		if pdf.GetY()+float64(lines)*line > height-margin-line {
			pdf.AddPage()
		}
		x, y := pdf.GetXY()
		for i, cell := range cells {
			pdf.SetXY(x, y)
			pdf.MultiCell(width*p.wide[i], line, cell, "", "L", false)
			x += width * p.wide[i]
		}
		pdf.SetXY(margin, y+float64(lines)*line)
		pdf.Line(margin, pdf.GetY(), margin+width, pdf.GetY())
	}
	words := func(style string, size float64, text string) {
		pdf.SetFont("go", style, size)
		pdf.MultiCell(0, line*size/7.5, text, "", "L", false)
	}
	pdf.AddPage()
	words("B", 13, p.title)
	for _, text := range p.before {
		words("", 8.5, text)
	}
	pdf.Ln(line / 2)
	row("B", p.header)
	for _, cells := range p.rows {
		row("", cells)
	}
	pdf.Ln(line / 2)
	for _, text := range p.after {
		words("", 8.5, text)
	}
	return pdf.Output(w)
}

// paperFlags say in which format a paper is wanted, and in which file.
type paperFlags struct{ format, file string }

func (f *paperFlags) add(cmd *cobra.Command) {
	cmd.Flags().StringVar(&f.format, "format", "", "`FORMAT`: text, csv or pdf (else as the name of --out ends)")
	cmd.Flags().StringVar(&f.file, "out", "", "write it into `FILE`")
}

// check settles the format: the one asked for, or else that of the file's name.
func (f *paperFlags) check(json bool) error {
	if f.format == "" {
		f.format = strings.TrimPrefix(filepath.Ext(f.file), ".")
	}
	switch f.format = strings.ToLower(f.format); f.format {
	case "", "txt":
		f.format = "text"
	case "text", "csv":
	case "pdf":
		if f.file == "" && !json {
			return registry.Errorf(registry.Invalid, "a PDF goes into a file: give --out with its name, such as --out list.pdf")
		}
	default:
		return registry.Errorf(registry.Invalid, "format %q is not known: type text, csv or pdf", f.format)
	}
	return nil
}

// printPaper prints a paper as the flags say, once they are checked; v is the same for programs.
func (a *app) printPaper(p *paper, v any, to paperFlags) error {
	write := func(w io.Writer) error { p.text(w); return nil }
	switch to.format {
	case "csv":
		write = p.csv
	case "pdf":
		write = func(w io.Writer) error { return p.pdf(w, a.now()) }
	}
	if to.file != "" {
		if err := replaceFile(to.file, 0o644, write); err != nil { // it goes with the crates: anyone may read it
			return err
		}
		fmt.Fprintf(a.err, "wrote %s\n", to.file)
		if !a.json {
			return nil
		}
	}
	if to.format == "csv" && !a.json {
		return write(a.out)
	}
	return a.print(v, p.text)
}
