package main

import (
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"pitman/labels"
	"pitman/labels/papers"
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
	made   time.Time // when it was issued; zero: now
	// drawings behind its pages, of a PDF alone
	drawn func() ([]*labels.Drawing, error)
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
	pages, err := papers.Paper{Title: p.title, Before: p.before, Header: p.header, Wide: p.wide, Rows: p.rows,
		After: p.after}.Draw()
	if err != nil {
		return registry.Errorf(registry.Invalid, "%s: %v", p.title, err)
	}
	if p.drawn != nil {
		more, err := p.drawn()
		if err != nil {
			return registry.Errorf(registry.Invalid, "%s: %v", p.title, err)
		}
		pages = append(pages, more...)
	}
	return labels.WritePDF(w, p.title, made, pages...)
}

// paperFlags say in which format a paper is wanted, and in which file.
type paperFlags struct{ format, file string }

func (f *paperFlags) add(cmd *cobra.Command) {
	cmd.Flags().StringVar(&f.format, "format", "",
		"`FORMAT`: text, csv or pdf (else as the name of --out ends)")
	cmd.Flags().StringVarP(&f.file, "out", "o", "", "write it into `FILE`")
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
			return registry.Errorf(registry.Invalid,
				"a PDF goes into a file: give --out with its name, such as --out list.pdf")
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
		made := p.made
		if made.IsZero() {
			made = a.now()
		}
		write = func(w io.Writer) error { return p.pdf(w, made) }
	}
	if to.file != "" {
		// it goes with the crates: anyone may read it
		if err := replaceFile(to.file, 0o644, write); err != nil {
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
