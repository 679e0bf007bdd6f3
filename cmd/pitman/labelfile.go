package main

import (
	"archive/zip"
	"cmp"
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"pitman/labels"
	"pitman/registry"
)

// outFile is the file that a drawing goes to; its ending chooses the form.
type outFile struct {
	name string
	dpi  int
}

func (o *outFile) flags(cmd *cobra.Command) {
	cmd.Flags().StringVarP(&o.name, "output", "o", "", "write to `FILE.pdf`, .svg, .png or .zip")
	cmd.Flags().IntVar(&o.dpi, "dpi", 300, "`DOTS` per inch of a .png")
}

// named is a drawing with the name that its file in a .zip has.
type named struct {
	name    string
	drawing *labels.Drawing
}

// pages writes whole pages: any number to .pdf, one to .svg or .png.
func (o *outFile) pages(a *app, title string, pages ...*labels.Drawing) error {
	return o.write(a.now(), title, pages, []named{{"page", pages[0]}}, len(pages))
}

// labels writes labels: on their sheets to .pdf, one alone to .svg or .png, each in a picture of its own to .zip.
func (o *outFile) labels(at time.Time, sheets []*labels.Drawing, each []named) error {
	return o.write(at, "Labels", sheets, each, len(each))
}

func (o *outFile) write(at time.Time, title string, pages []*labels.Drawing, each []named, count int) error {
	ending := strings.ToLower(filepath.Ext(o.name))
	if (ending == ".svg" || ending == ".png") && count != 1 {
		return registry.Errorf(registry.Invalid, "output %s holds one picture, and there are %d: name a .pdf or a .zip", o.name, count)
	}
	return writeFile(o.name, func(w io.Writer) error {
		switch ending {
		case ".pdf":
			return labels.WritePDF(w, title, at, pages...)
		case ".svg":
			return each[0].drawing.WriteSVG(w)
		case ".png":
			return each[0].drawing.WritePNG(w, o.dpi)
		default:
			return o.writeZip(w, at, each)
		}
	})
}

func (o *outFile) writeZip(w io.Writer, at time.Time, each []named) error {
	z := zip.NewWriter(w)
	taken := map[string]bool{}
	for _, n := range each {
		name := n.name
		for i := 2; taken[strings.ToLower(name)]; i++ { // some systems take PM16 and pm16 for one file
			name = fmt.Sprintf("%s-%d", n.name, i)
		}
		taken[strings.ToLower(name)] = true
		for _, form := range []struct {
			ending string
			write  func(io.Writer) error
		}{
			{".png", func(w io.Writer) error { return n.drawing.WritePNG(w, o.dpi) }},
			{".svg", n.drawing.WriteSVG},
		} {
			f, err := z.CreateHeader(&zip.FileHeader{Name: name + form.ending, Method: zip.Deflate, Modified: at.UTC()})
			if err != nil {
				return err
			}
			if err := form.write(f); err != nil {
				return err
			}
		}
	}
	return z.Close()
}

// check refuses a name that says no form, before any work is done.
func (o *outFile) check() error {
	switch strings.ToLower(filepath.Ext(o.name)) {
	case ".pdf", ".svg", ".png", ".zip":
	default:
		return registry.Errorf(registry.Invalid, "output %q: name a file ending in .pdf, .svg, .png or .zip", o.name)
	}
	if o.dpi < 72 || o.dpi > 600 {
		return registry.Errorf(registry.Invalid, "dpi %d: type 72 to 600", o.dpi)
	}
	return nil
}

// fileWord makes a file's name of a headline.
func fileWord(headline string) string {
	word := strings.Trim(strings.Map(func(r rune) rune {
		if r >= 'A' && r <= 'Z' || r >= 'a' && r <= 'z' || r >= '0' && r <= '9' {
			return r
		}
		return '-'
	}, headline), "-")
	return cmp.Or(word, "label")
}
