package main

import (
	"archive/zip"
	"bytes"
	"cmp"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"pitman/cmd/pitman/meanwhile"
	"pitman/labels"
	"pitman/registry"
)

// outFile is the file that a drawing goes to; its ending chooses the form.
type outFile struct {
	name string
	dpi  int // 0 where nobody said: the stock's, or else 300
}

func (o *outFile) flags(cmd *cobra.Command) {
	cmd.Flags().StringVarP(&o.name, "output", "o", "", "write to `FILE.pdf`, .svg, .png or .zip")
	cmd.Flags().IntVar(&o.dpi, "dpi", 0, "`DOTS` per inch of a .png (else the stock's, or 300)")
}

// named is a drawing with the name that its file in a .zip has.
type named struct {
	name    string
	drawing *labels.Drawing
}

func (o *outFile) ending() string { return strings.ToLower(filepath.Ext(o.name)) }

// forPrinter says whether the file is one that is printed rather than looked at, so that writing it counts as
// printing.
func (o *outFile) forPrinter() bool {
	switch o.ending() {
	case ".pdf", ".zpl", ".escpos":
		return true
	}
	return false
}

// device is what is drawn for: the fineness that was asked for, or that of the stock's printer.
func (o *outFile) device(stock labels.Device) labels.Device {
	stock.DPI = cmp.Or(o.dpi, stock.DPI)
	switch o.ending() {
	case ".zpl", ".escpos":
		stock.DPI, stock.Mono = cmp.Or(stock.DPI, 203), true
	case ".png", ".zip":
		stock.DPI = cmp.Or(stock.DPI, 300)
	}
	return stock
}

// pages writes whole pages: any number to .pdf, one to .svg or .png.
func (o *outFile) pages(a *app, title string, pages ...*labels.Drawing) error {
	return o.write(a.now(), title, o.device(labels.Device{}), pages, []named{{"page", pages[0]}}, len(pages))
}

// labels writes labels: on their sheets to .pdf, one alone to .svg or .png, each in a picture of its own to
// .zip, one after the other for a label printer.
func (o *outFile) labels(at time.Time, on labels.Device, sheets []*labels.Drawing, each []named) error {
	return o.write(at, "Labels", on, sheets, each, len(each))
}

func (o *outFile) write(at time.Time, title string, on labels.Device, pages []*labels.Drawing, each []named,
	count int) error {
	ending := o.ending()
	if (ending == ".svg" || ending == ".png") && count != 1 {
		return registry.Errorf(registry.Invalid,
			"output %s holds one picture, and there are %d: name a .pdf or a .zip", o.name, count)
	}
	return writeFile(o.name, func(w io.Writer) error {
		switch ending {
		case ".pdf":
			return labels.WritePDF(w, title, at, pages...)
		case ".svg":
			return each[0].drawing.WriteSVG(w)
		case ".png":
			return each[0].drawing.WritePNG(w, on)
		case ".zpl":
			return labels.WriteZPL(w, on, drawings(each)...)
		case ".escpos":
			return labels.WriteESCPOS(w, on, drawings(each)...)
		default:
			return writeZip(w, at, on, each)
		}
	})
}

func drawings(each []named) (out []*labels.Drawing) {
	for _, n := range each {
		out = append(out, n.drawing)
	}
	return out
}

// writeZip draws each picture while those before it are written. A PNG is packed already.
func writeZip(w io.Writer, at time.Time, on labels.Device, each []named) error {
	z := zip.NewWriter(w)
	taken := map[string]bool{}
	add := func(name string, method uint16, write func(io.Writer) error) error {
		f, err := z.CreateHeader(&zip.FileHeader{Name: name, Method: method, Modified: at.UTC()})
		if err != nil {
			return err
		}
		return write(f)
	}
	pictures := meanwhile.InOrder(len(each), func(i int) ([]byte, error) {
		var out bytes.Buffer
		err := each[i].drawing.WritePNG(&out, on)
		return out.Bytes(), err
	})
	i := 0
	for picture, err := range pictures {
		if err != nil {
			return err
		}
		n := each[i]
		i++
		name := n.name
		for j := 2; taken[strings.ToLower(name)]; j++ { // some systems take PM16 and pm16 for one file
			name = fmt.Sprintf("%s-%d", n.name, j)
		}
		taken[strings.ToLower(name)] = true
		if err := add(name+".png", zip.Store,
			func(w io.Writer) error { _, err := w.Write(picture); return err }); err != nil {
			return err
		}
		if err := add(name+".svg", zip.Deflate, n.drawing.WriteSVG); err != nil {
			return err
		}
	}
	return z.Close()
}

// check refuses a name that says no form, before any work is done. Label printers' own forms go with labels
// alone.
func (o *outFile) check(more ...string) error {
	endings := append([]string{".pdf", ".svg", ".png", ".zip"}, more...)
	if !slices.Contains(endings, o.ending()) {
		last := len(endings) - 1
		return registry.Errorf(registry.Invalid, "output %q: name a file ending in %s or %s", o.name,
			strings.Join(endings[:last], ", "), endings[last])
	}
	if o.dpi != 0 && (o.dpi < 72 || o.dpi > 600) {
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
