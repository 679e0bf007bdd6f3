package labels

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"

	"pitman/labels/letters"
)

const pointsPerMM = 72 / 25.4

// WritePDF writes one page for each drawing, exactly as large as the drawing, with the built-in fonts
// embedded so that text can be selected and searched; what is set in a font of the computer is drawn. The
// page asks to be printed at its own size. The same drawings and time give the same bytes.
func WritePDF(w io.Writer, title string, made time.Time, pages ...*Drawing) error {
	if len(pages) == 0 {
		return fmt.Errorf("nothing to print: name at least one label")
	}
	pdf := fpdf.NewCustom(&fpdf.InitType{UnitStr: "mm",
		Size: fpdf.SizeType{Wd: pages[0].Width, Ht: pages[0].Height}})
	pdf.SetCatalogSort(true)
	pdf.SetCreationDate(made)
	pdf.SetModificationDate(made)
	pdf.SetTitle(title, true)
	pdf.SetAutoPageBreak(false, 0)
	pdf.AddUTF8FontFromBytes("go", "", letters.Regular.TTF)
	pdf.AddUTF8FontFromBytes("go", "B", letters.Bold.TTF)
	var path []byte // used again for every shape: a sheet has thousands
	for _, page := range pages {
		pdf.AddPageFormat("P", fpdf.SizeType{Wd: page.Width, Ht: page.Height})
		for _, o := range page.ops {
			if o.text != "" && o.line.Plain {
				style := ""
				if o.font.Bold {
					style = "B"
				}
				pdf.SetFont("go", style, o.size*pointsPerMM)
				pdf.SetTextColor(int(o.colour.R), int(o.colour.G), int(o.colour.B))
				pdf.Text(o.x, o.y, o.text)
				continue
			}
			path = appendPDFPath(path[:0], o, page.Height)
			pdf.RawWriteStr(string(path))
		}
	}
	var out bytes.Buffer
	if err := pdf.Output(&out); err != nil {
		return fmt.Errorf("writing the PDF: %w", err)
	}
	if _, err := w.Write(unscaled(out.Bytes())); err != nil {
		return fmt.Errorf("writing the PDF: %w", err)
	}
	return nil
}

// unscaled asks viewers to print pages at their own size (ISO 32000-1, 12.2: PrintScaling). The library
// cannot say so; the catalog is the last object of its file, so only the place of the table behind it moves.
func unscaled(pdf []byte) []byte {
	const catalog, wish, start = "/Type /Catalog\n", "/ViewerPreferences <</PrintScaling /None>>\n",
		"startxref\n"
	i, j := bytes.LastIndex(pdf, []byte(catalog)), bytes.LastIndex(pdf, []byte(start))
	if i < 0 || j < i {
		return pdf
	}
	rest := string(pdf[j+len(start):])
	number, end, _ := strings.Cut(rest, "\n")
	at, err := strconv.Atoi(number)
	if err != nil || at < i {
		return pdf
	}
	i += len(catalog)
	out := append([]byte(nil), pdf[:i]...)
	out = append(append(out, wish...), pdf[i:j]...)
	return fmt.Appendf(out, "%s%d\n%s", start, at+len(wish), end)
}

// appendPDFPath writes a shape as one filled path: one path for a whole QR symbol is short, and leaves no
// hairlines between modules.
func appendPDFPath(out []byte, o op, height float64) []byte {
	number := func(v float64) {
		out = append(appendHundredths(out, v), ' ') // of a point: 4 µm
	}
	out = append(out, 'q', ' ')
	for _, c := range []uint8{o.colour.R, o.colour.G, o.colour.B} {
		number(float64(c) / 255)
	}
	out = append(out, "rg\n"...)
	for _, r := range o.outline() {
		if len(r) == 4 && r[0].y == r[1].y && r[1].x == r[2].x && r[2].y == r[3].y && r[3].x == r[0].x {
			number(r[0].x * pointsPerMM)
			number((height - r[0].y) * pointsPerMM)
			number((r[1].x - r[0].x) * pointsPerMM)
			number((r[0].y - r[3].y) * pointsPerMM)
			out = append(out, "re\n"...)
			continue
		}
		for i, p := range r {
			number(p.x * pointsPerMM)
			number((height - p.y) * pointsPerMM)
			if i == 0 {
				out = append(out, "m "...)
			} else {
				out = append(out, "l "...)
			}
		}
		out = append(out, "h\n"...)
	}
	return append(out, "f Q"...)
}

// appendHundredths writes v to two places, in a third of the time that strconv takes; a sheet has tens of
// thousands of numbers.
func appendHundredths(out []byte, v float64) []byte {
	n := int64(math.Round(v * 100))
	if n < 0 {
		out, n = append(out, '-'), -n
	}
	out = strconv.AppendInt(out, n/100, 10)
	if n %= 100; n != 0 {
		out = append(out, '.', byte('0'+n/10), byte('0'+n%10))
	}
	return out
}
