package labels

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"slices"
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
	tiled := make(map[filled]*shared)
	for i, page := range pages {
		pdf.AddPageFormat("P", fpdf.SizeType{Wd: page.Width, Ht: page.Height})
		pdf.UseTemplate(newShapes(i, page, tiled))
		for o := range page.steps() {
			if !o.asText() {
				continue
			}
			style := ""
			if o.font.Bold {
				style = "B"
			}
			pdf.SetFont("go", style, o.size*pointsPerMM)
			pdf.SetTextColor(int(o.colour.R), int(o.colour.G), int(o.colour.B))
			pdf.Text(o.x, o.y, o.text)
		}
	}
	if err := pdf.Output(unscaled{w}); err != nil {
		return fmt.Errorf("writing the PDF: %w", err)
	}
	return nil
}

// asText says that a step is printed as text, which can be searched.
func (o op) asText() bool { return o.text != "" && o.line.Plain }

// shapesOf is all of a page but its text, which stands upon it. It is a template to the library, for those
// are asked for what they draw one after the other when the file is written: the shapes of thousands of
// labels in one memory took more than a small computer has.
type shapesOf struct {
	fpdf.Template // of whose methods no more than these are called
	number        int
	page          *Drawing
	tiled         map[filled]*shared // of the whole file
	uses          []fpdf.Template    // of these
}

// newShapes are those of a page; patterns that no page before had are added to tiled.
func newShapes(number int, page *Drawing, tiled map[filled]*shared) *shapesOf {
	s := &shapesOf{number: number, page: page, tiled: tiled}
	for o := range page.steps() {
		f, ok := o.shape.(filled)
		if !ok {
			continue
		}
		one := tiled[f]
		if one == nil {
			one = &shared{filled: f, id: fmt.Sprintf("P%04d", len(tiled))}
			tiled[f] = one
		}
		if !slices.Contains(s.uses, fpdf.Template(one)) {
			s.uses = append(s.uses, one)
		}
	}
	return s
}

// shared is the pattern of a band as every label with it has it: written once, and painted in the colour that
// is set where it is used (ISO 32000-1, 8.10: form XObjects). It is most of what there is to a label.
type shared struct {
	fpdf.Template
	filled
	id string
}

// sharedEdge is room around a shared pattern, in its own units, so that what bounds it cuts no ink.
const sharedEdge = 2

func (s *shared) ID() string { return s.id }

func (s *shared) Size() (fpdf.PointType, fpdf.SizeType) {
	return fpdf.PointType{}, fpdf.SizeType{Wd: (s.across*tileUnits + 2*sharedEdge) / pointsPerMM,
		Ht: (s.down*tileUnits + 2*sharedEdge) / pointsPerMM}
}

func (*shared) Images() map[string]*fpdf.ImageInfoType { return nil }
func (*shared) Templates() []fpdf.Template             { return nil }

func (s *shared) Bytes() []byte {
	out := fmt.Appendf(nil, "1 0 0 1 %d %d cm\n", sharedEdge, sharedEdge)
	return append(appendRings(out, s.rings(), 1, 1, 0), 'f')
}

func (s *shapesOf) ID() string { return fmt.Sprintf("%06d", s.number) } // in this order they are written

func (s *shapesOf) Size() (fpdf.PointType, fpdf.SizeType) {
	return fpdf.PointType{}, fpdf.SizeType{Wd: s.page.Width, Ht: s.page.Height}
}

func (*shapesOf) Images() map[string]*fpdf.ImageInfoType { return nil }
func (s *shapesOf) Templates() []fpdf.Template           { return s.uses }

func (s *shapesOf) Bytes() (out []byte) {
	for o := range s.page.steps() {
		if !o.asText() {
			out = append(s.appendPath(out, o), '\n')
		}
	}
	return out
}

// unscaled asks viewers to print pages at their own size (ISO 32000-1, 12.2: PrintScaling). The library
// cannot say so, and hands over its file in one piece; the catalog is the last object of it, so only the
// place of the table behind it moves.
type unscaled struct{ to io.Writer }

func (u unscaled) Write(pdf []byte) (int, error) {
	const catalog, wish, start = "/Type /Catalog\n", "/ViewerPreferences <</PrintScaling /None>>\n",
		"startxref\n"
	i, j := bytes.LastIndex(pdf, []byte(catalog)), bytes.LastIndex(pdf, []byte(start))
	if i < 0 || j < i {
		return u.to.Write(pdf)
	}
	rest := string(pdf[j+len(start):])
	number, end, _ := strings.Cut(rest, "\n")
	at, err := strconv.Atoi(number)
	if err != nil || at < i {
		return u.to.Write(pdf)
	}
	i += len(catalog)
	for _, part := range [][]byte{pdf[:i], []byte(wish), pdf[i:j],
		fmt.Appendf(nil, "%s%d\n%s", start, at+len(wish), end)} {
		if _, err := u.to.Write(part); err != nil {
			return 0, err
		}
	}
	return len(pdf), nil
}

// appendPath writes a shape as one filled path: one path for a whole QR symbol is short, and leaves no
// hairlines between modules.
func (s *shapesOf) appendPath(out []byte, o op) []byte {
	number := func(v float64) {
		out = append(appendHundredths(out, v), ' ') // of a point: 4 µm
	}
	out = append(out, 'q', ' ')
	for _, c := range []uint8{o.colour.R, o.colour.G, o.colour.B} {
		number(float64(c) / 255)
	}
	out = append(out, "rg\n"...)
	if o.text != "" || o.size == 1 {
		return append(appendRings(out, o.outline(), pointsPerMM, -1, s.page.Height*pointsPerMM), "f Q"...)
	}
	// The numbers of a symbol or pattern in its own units are whole, a third as long.
	out = fmt.Appendf(out, "%.5f 0 0 %.5f %.4f %.4f cm\n", o.size*pointsPerMM, -o.size*pointsPerMM,
		o.x*pointsPerMM, (s.page.Height-o.y)*pointsPerMM)
	if f, ok := o.shape.(filled); ok {
		return fmt.Appendf(out, "1 0 0 1 %d %d cm /TPL%s Do Q", -sharedEdge, -sharedEdge, s.tiled[f].id)
	}
	return append(appendRings(out, o.shape.rings(), 1, 1, 0), "f Q"...)
}

// appendRings writes outlines, scaled and then moved down from the top.
func appendRings(out []byte, rings []ring, scale, up, top float64) []byte {
	number := func(v float64) {
		out = append(appendHundredths(out, v), ' ') // of a point: 4 µm
	}
	for _, r := range rings {
		if len(r) == 4 && r[0].y == r[1].y && r[1].x == r[2].x && r[2].y == r[3].y && r[3].x == r[0].x {
			number(r[0].x * scale)
			number(top + up*r[0].y*scale)
			number((r[1].x - r[0].x) * scale)
			number(up * (r[3].y - r[0].y) * scale)
			out = append(out, "re\n"...)
			continue
		}
		for i, p := range r {
			number(p.x * scale)
			number(top + up*p.y*scale)
			if i == 0 {
				out = append(out, "m "...)
			} else {
				out = append(out, "l "...)
			}
		}
		out = append(out, "h\n"...)
	}
	return out
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
