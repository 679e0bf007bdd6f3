package labels

import (
	"bytes"
	"compress/zlib"
	"encoding/xml"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"pitman/registry/registrytest/lacking"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var made = time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)

// sheetOf prints n machines on a stock.
func sheetOf(t testing.TB, stock Stock, s *Scheme, n int, o SheetOptions) ([]*Drawing, []byte) {
	t.Helper()
	labels := make([]*Drawing, n)
	for i := range labels {
		labels[i] = drawn(t, sample(i), stock, s)
	}
	pages, err := Sheet(stock, labels, o)
	require.NoError(t, err)
	var pdf bytes.Buffer
	require.NoError(t, WritePDF(&pdf, "labels", made, pages...))
	return pages, pdf.Bytes()
}

// contents are the shapes of each page in a PDF, unpacked.
func contents(t *testing.T, pdf []byte) (out []string) {
	for _, m := range regexp.MustCompile(`(?s)/Length \d+ ?>>\nstream\n(.*?)\nendstream`).FindAllSubmatch(pdf,
		-1) {
		r, err := zlib.NewReader(bytes.NewReader(m[1]))
		if err != nil {
			continue // not packed
		}
		text, err := io.ReadAll(r)
		require.NoError(t, err)
		if bytes.Contains(text, []byte(" re\n")) && bytes.HasPrefix(text, []byte("q ")) { // no shared pattern
			out = append(out, string(text))
		}
	}
	return out
}

// Positions are read from the finished PDF: the cut line round each label is a rectangle in points from the
// bottom left.
func TestPDFPositionsAreTheTable(t *testing.T) {
	s := Default()
	for i, stock := range DefaultStock() {
		if os.Getenv("NIGHTLY") == "" && i%5 > 0 {
			continue
		}
		t.Run(stock.Name, func(t *testing.T) {
			n := stock.PerSheet() + 1
			_, pdf := sheetOf(t, stock, s, n, SheetOptions{Outline: true})
			for _, m := range regexp.MustCompile(`/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]`).FindAllSubmatch(pdf,
				-1) {
				assert.InDelta(t, stock.PageWidth, number(t, m[1])/pointsPerMM, 0.01)
				assert.InDelta(t, stock.PageHeight, number(t, m[2])/pointsPerMM, 0.01)
			}
			pages := contents(t, pdf)
			require.Len(t, pages, 2)
			seen := 0
			for _, page := range pages {
				at := 0
				for _, m := range regexp.MustCompile(`([\d.-]+) ([\d.-]+) ([\d.-]+) ([\d.-]+) re\n`).FindAllStringSubmatch(page, -1) {
					wide, high := number(t, []byte(m[3]))/pointsPerMM, -number(t, []byte(m[4]))/pointsPerMM
					if math.Abs(wide-stock.LabelWidth) > 0.05 || math.Abs(high-stock.LabelHeight) > 0.05 {
						continue
					}
					row, column := at/stock.Columns, at%stock.Columns
					assert.InDelta(t, stock.MarginLeft+float64(column)*(stock.LabelWidth+stock.GapX),
						number(t, []byte(m[1]))/pointsPerMM, 0.1)
					assert.InDelta(t, stock.MarginTop+float64(row)*(stock.LabelHeight+stock.GapY),
						stock.PageHeight-number(t, []byte(m[2]))/pointsPerMM, 0.1)
					at++
					seen++
				}
			}
			assert.Equal(t, n, seen)
		})
	}
}

func number(t *testing.T, text []byte) float64 {
	v, err := strconv.ParseFloat(string(text), 64)
	require.NoError(t, err)
	return v
}

// Another program finds the words, and finds them where the drawing put them.
func TestPDFTextCanBeSearched(t *testing.T) {
	tool(t, "pdftotext")
	s := Default()
	stock := stockNamed(t, "a4-3x7")
	pages, pdf := sheetOf(t, stock, s, 4, SheetOptions{StartAt: 20})
	require.Len(t, pages, 2)
	file := filepath.Join(t.TempDir(), "labels.pdf")
	require.NoError(t, os.WriteFile(file, pdf, 0o600))
	out, err := exec.Command("pdftotext", "-bbox", file, "-").Output()
	require.NoError(t, err)
	found := make(map[string][2]float64)
	for _, m := range regexp.MustCompile(`<word xMin="([\d.]+)" yMin="[\d.]+" xMax="([\d.]+)" yMax="[\d.]+">([^<]+)</word>`).FindAllSubmatch(out, -1) {
		found[string(m[3])] = [2]float64{number(t, m[1]) / pointsPerMM, number(t, m[2]) / pointsPerMM}
	}
	assert.Contains(t, found, "Meadowlark")
	assert.Contains(t, found, "1921–1925")
	for _, page := range pages {
		for o := range page.steps() {
			if strings.HasPrefix(o.text, "AB0") {
				require.Contains(t, found, o.text)
				assert.InDelta(t, o.x, found[o.text][0], 0.1, o.text)
				assert.InDelta(t, o.x+o.line.Width*o.size, found[o.text][1], 0.1, o.text)
			}
		}
	}
}

func tool(t *testing.T, name string) {
	lacking.Program(t, name, "poppler-utils or zbar-tools")
}

// printed rasterises a PDF as a printer without greys does, and returns its pages.
func printed(t *testing.T, pdf []byte, dpi int) (pages []*image.Gray, files []string) {
	dir := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "in.pdf"), pdf, 0o600))
	out, err := exec.Command("pdftoppm", "-r", strconv.Itoa(dpi), "-gray", "-aa", "no", "-aaVector", "no",
		"-png", filepath.Join(dir, "in.pdf"), filepath.Join(dir, "page")).CombinedOutput()
	require.NoError(t, err, string(out))
	files, err = filepath.Glob(filepath.Join(dir, "page*.png"))
	require.NoError(t, err)
	for _, name := range files {
		f, err := os.Open(name)
		require.NoError(t, err)
		img, err := png.Decode(f)
		require.NoError(t, err)
		require.NoError(t, f.Close())
		gray := image.NewGray(img.Bounds())
		draw.Draw(gray, gray.Bounds(), img, img.Bounds().Min, draw.Src)
		pages = append(pages, gray)
	}
	return pages, files
}

// Every symbol is read back from the finished PDF, as it comes from coarse and usual label printers, clean
// and dirty.
func TestEverySymbolReadsFromThePrintedPage(t *testing.T) {
	tool(t, "pdftoppm")
	stocks, most := []string{"a4-tag-2x5", "a4-3x7", "letter-3x10", "roll-62x29"}, 4
	if os.Getenv("NIGHTLY") == "" {
		stocks, most = []string{"roll-62x29"}, 2
	}
	for _, base := range []string{"", "HTTPS://SHED.EXAMPLE/M/"} {
		for _, name := range stocks {
			for _, dpi := range []int{203, 300} {
				t.Run(fmt.Sprintf("%s at %d dpi, base %q", name, dpi, base), func(t *testing.T) {
					s, stock := Default(), stockNamed(t, name)
					s.BaseURL = base
					n := min(stock.PerSheet()+1, most)
					_, pdf := sheetOf(t, stock, s, n, SheetOptions{})
					pages, files := printed(t, pdf, dpi)
					rnd := rand.New(rand.NewPCG(uint64(dpi), 11))
					for i := range n {
						x, y := stock.position(i % stock.PerSheet())
						at := func(mm float64) int { return int(mm * float64(dpi) / 25.4) }
						label := pages[i/stock.PerSheet()].SubImage(image.Rect(at(x), at(y),
							at(x+stock.LabelWidth), at(y+stock.LabelHeight)))
						want := base + sample(i).Tag
						got, err := readQR(label)
						require.NoError(t, err, want)
						assert.Equal(t, want, got)
						f, err := sample(i).Face(s)
						require.NoError(t, err)
						code, err := encode(f.Payload, s.QRLevel)
						require.NoError(t, err)
						where := symbolOn(t, f, stock, s, dpi).Add(label.Bounds().Min)
						for _, how := range []string{"blot", "scrape", "drops"} {
							got, err := readQR(smudge(label, where, how, float64(len(code)-2*QuietZone), rnd))
							if assert.NoError(t, err, "%s with a %s", want, how) {
								assert.Equal(t, want, got)
							}
						}
					}
					if _, err := exec.LookPath("zbarimg"); err != nil {
						t.Log("zbarimg is not installed: read by one reader only")
						return
					}
					out, err := exec.Command("zbarimg",
						append([]string{"-q", "--raw", "-Sdisable", "-Sqrcode.enable"}, files...)...).Output()
					require.NoError(t, err)
					var want []string
					for i := range n {
						want = append(want, base+sample(i).Tag)
					}
					assert.ElementsMatch(t, want, strings.Fields(string(out)))
				})
			}
		}
	}
}

// symbolOn is where the symbol's modules stand on a label, in dots.
func symbolOn(t *testing.T, f *Face, stock Stock, s *Scheme, dpi int) image.Rectangle {
	d, err := Draw(f, stock, s, Device{})
	require.NoError(t, err)
	for o := range d.steps() {
		if b := o.bounds(); len(o.outline()) > 100 && math.Abs(b.w-b.h) < 1e-6 {
			k := float64(dpi) / 25.4
			return image.Rect(int(b.x*k), int(b.y*k), int((b.x+b.w)*k), int((b.y+b.h)*k))
		}
	}
	t.Fatal("no symbol")
	return image.Rectangle{}
}

// smudge spoils 5 % of the symbol's area: one round blot of oil, one scrape that took the ink away, or a few
// drops. They keep off the squares by which readers find a symbol at all: three in the corners and, from 25
// modules on, the small one near the fourth. (A blot right on that one defeats both readers: a reason to have
// the tag alone in the symbol.)
func smudge(src image.Image, symbol image.Rectangle, how string, modules float64,
	rnd *rand.Rand) image.Image {
	img := image.NewGray(src.Bounds())
	draw.Draw(img, img.Bounds(), src, src.Bounds().Min, draw.Src)
	side := symbol.Dx()
	ink, spots := color.Gray{0}, 1
	switch how {
	case "scrape":
		ink.Y = 255
	case "drops":
		spots = 3
	}
	radius := math.Sqrt(0.05/math.Pi/float64(spots)) * float64(side)
	for spots > 0 {
		cx, cy := radius+rnd.Float64()*(float64(side)-2*radius), radius+rnd.Float64()*(float64(side)-2*radius)
		corner := 8.0 / modules * float64(side)
		left, right := cx-radius < corner, cx+radius > float64(side)-corner
		up, down := cy-radius < corner, cy+radius > float64(side)-corner
		fourth := modules > 21 && cx+radius > float64(side)*(1-9/modules) && cy+
			radius > float64(side)*(1-9/modules)
		if (left && up) || (right && up) || (left && down) || fourth {
			continue
		}
		for y := range side {
			for x := range side {
				if math.Hypot(float64(x)-cx, float64(y)-cy) <= radius {
					img.SetGray(symbol.Min.X+x, symbol.Min.Y+y, ink)
				}
			}
		}
		spots--
	}
	return img
}

func TestStartAtAndPages(t *testing.T) {
	s, stock := Default(), stockNamed(t, "a4-3x7")
	d := drawn(t, sample(1), stock, s)
	pages, err := Sheet(stock, []*Drawing{d, d}, SheetOptions{StartAt: 21})
	require.NoError(t, err)
	require.Len(t, pages, 2)
	assert.Contains(t, pages[0].words(),
		"sheet 1 of 2 · print at 100 % · stickers: on clean dry metal, not on decals")
	for _, bad := range []int{22, -1} {
		_, err = Sheet(stock, []*Drawing{d}, SheetOptions{StartAt: bad})
		assert.EqualError(t, err,
			fmt.Sprintf("start-at %d: a sheet of a4-3x7 has 21 labels: type 1 to 21", bad))
	}
	assert.ErrorContains(t, WritePDF(io.Discard, "", made), "nothing to print")
}

func TestHundredths(t *testing.T) {
	for v, want := range map[float64]string{0: "0", -0.001: "0", 12: "12", 12.3: "12.30", -0.046: "-0.05",
		841.889: "841.89", 0.994: "0.99", 0.996: "1", -7.5: "-7.50"} {
		assert.Equal(t, want, string(appendHundredths(nil, v)), "%v", v)
	}
}

// A viewer is asked to leave the size alone, and the file is still sound: another program finds every object
// by its table.
func TestPDFAsksForItsOwnSize(t *testing.T) {
	_, pdf := sheetOf(t, stockNamed(t, "a4-3x7"), Default(), 2, SheetOptions{})
	assert.Contains(t, string(pdf), "/ViewerPreferences <</PrintScaling /None>>")
	at := regexp.MustCompile(`startxref\n(\d+)\n`).FindSubmatch(pdf)
	require.NotNil(t, at)
	assert.True(t, bytes.HasPrefix(pdf[int(number(t, at[1])):], []byte("xref")))
	tool(t, "pdfinfo")
	file := filepath.Join(t.TempDir(), "labels.pdf")
	require.NoError(t, os.WriteFile(file, pdf, 0o600))
	out, err := exec.Command("pdfinfo", file).CombinedOutput()
	require.NoError(t, err)
	assert.NotContains(t, string(out), "Syntax", "poppler repairs a broken table aloud")
}

func TestSamePDFTwice(t *testing.T) {
	s, stock := Default(), stockNamed(t, "a4-3x7")
	_, a := sheetOf(t, stock, s, 3, SheetOptions{})
	_, b := sheetOf(t, stock, s, 3, SheetOptions{})
	assert.True(t, bytes.Equal(a, b))
}

func TestSVGIsSoundWhateverTheText(t *testing.T) {
	s, stock := Default(), stockNamed(t, "a4-tag-2x5")
	m := sample(1)
	m.Maker, m.Serial = `<script>"&'</script>`, "a\x00b\x1b[31mé\u202e"
	var out bytes.Buffer
	require.NoError(t, drawn(t, m, stock, s).WriteSVG(&out))
	var svg struct {
		Width string   `xml:"width,attr"`
		Text  []string `xml:"g>title"`
	}
	require.NoError(t, xml.Unmarshal(out.Bytes(), &svg))
	assert.Equal(t, "95mm", svg.Width)
	all := strings.Join(svg.Text, " ")
	assert.Contains(t, all, "AB00001 K")
	assert.Contains(t, all, `<script>"&'</script> Brisk 44`)
	assert.Contains(t, all, "No. ab[31mé")
	assert.NotContains(t, out.String(), "<text", "letters are outlines: no reader needs their font")
	assert.NotContains(t, out.String(), "<script>")
}

func TestPNGPrintsAtItsSize(t *testing.T) {
	var out bytes.Buffer
	require.NoError(t,
		drawn(t, sample(1), stockNamed(t, "roll-62x29"), Default()).WritePNG(&out, Device{DPI: 300}))
	img, err := png.Decode(bytes.NewReader(out.Bytes()))
	require.NoError(t, err)
	assert.Equal(t, image.Pt(733, 343), img.Bounds().Size(), "62 and 29 mm at 300 dpi")
	// 300 dpi is 11,811 pixels per metre, unit 1 (PNG specification, pHYs).
	assert.Contains(t, out.String(), "pHYs\x00\x00\x2e\x23\x00\x00\x2e\x23\x01")
	got, err := readQR(img)
	require.NoError(t, err)
	assert.Equal(t, sample(1).Tag, got)
	for _, dpi := range []int{0, -5, 100000} {
		assert.ErrorContains(t, SampleSheet(Default()).WritePNG(io.Discard, Device{DPI: dpi}),
			"type 72 to 600")
	}
}

// What a stock table rounds up past the edge of the page is left out of the picture, and the rest stands as
// if it went on.
func TestPictureEndsAtItsEdge(t *testing.T) {
	stock := Stock{Name: "edge", PageWidth: 60, PageHeight: 40, Columns: 2, Rows: 2, LabelWidth: 30.02,
		LabelHeight: 20.02}
	require.NoError(t, stock.validate())
	require.NoError(t, RulerSheet(stock).WritePNG(io.Discard, Device{DPI: 600}))

	const dpi = 254 // ten dots are a millimetre
	whole, part := &Drawing{Width: 20, Height: 20}, &Drawing{Width: 10, Height: 10}
	whole.fill(black, disc(8, 8, 8))
	part.Place(whole.Moved(-2, -2), -1, -1)
	all, err := whole.image(Device{DPI: dpi})
	require.NoError(t, err)
	some, err := part.image(Device{DPI: dpi})
	require.NoError(t, err)
	assert.LessOrEqual(t, worstDifference(all.SubImage(image.Rect(30, 30, 130, 130)), some), 2)
}

// Labels in six scripts, read by two readers that share no code: clean, turned, and in black and white; and
// as a camera sees them from the side.
func TestEveryScriptReads(t *testing.T) {
	needFonts(t)
	tool(t, "zbarimg")
	s, stock := Default(), stockNamed(t, "roll-62x29")
	for i, kind := range inScripts() {
		f, err := kind.Face(s)
		require.NoError(t, err)
		devices := []Device{{DPI: 203, Mono: true}, {DPI: 203}, {DPI: 300, Mono: true}}
		if os.Getenv("NIGHTLY") == "" {
			devices = devices[:1]
		}
		for _, on := range devices {
			d, err := Draw(f, stock, s, on)
			require.NoError(t, err)
			flat, err := d.image(on)
			require.NoError(t, err)
			seen := map[string]image.Image{"clean": flat}
			if os.Getenv("NIGHTLY") != "" || i == 4 {
				seen["turned"], seen["from the side"] = turned(flat, 0.35), fromTheSide(flat)
			}
			for how, img := range seen {
				got, err := readQR(img)
				if assert.NoError(t, err, "script %d, %v, %s", i, on, how) {
					assert.Equal(t, f.Payload, got)
				}
				file := filepath.Join(t.TempDir(), "label.png")
				var out bytes.Buffer
				require.NoError(t, png.Encode(&out, img))
				require.NoError(t, os.WriteFile(file, out.Bytes(), 0o600))
				read, err := exec.Command("zbarimg", "-q", "--raw", "-Sdisable", "-Sqrcode.enable",
					file).Output()
				if assert.NoError(t, err, "script %d, %v, %s", i, on, how) {
					assert.Equal(t, f.Payload, strings.TrimSpace(string(read)))
				}
			}
		}
	}
}

// mapped draws each dot of a picture with a margin from where at says it comes, in between dots as a lens
// does.
func mapped(src image.Image, at func(x, y float64) (float64, float64)) image.Image {
	const margin, zoom = 40, 2
	wide, high := src.Bounds().Dx(), src.Bounds().Dy()
	out := image.NewGray(image.Rect(0, 0, wide*zoom+2*margin, high*zoom*5/3+2*margin))
	grey := func(x, y int) float64 {
		if x < 0 || y < 0 || x >= wide || y >= high {
			return 255
		}
		return float64(color.GrayModel.Convert(src.At(x, y)).(color.Gray).Y)
	}
	middle, level := float64(out.Rect.Dx())/2, float64(out.Rect.Dy())/2
	for y := range out.Rect.Dy() {
		for x := range out.Rect.Dx() {
			u, v := at((float64(x)-middle)/zoom, (float64(y)-level)/zoom)
			u, v = u+float64(wide)/2, v+float64(high)/2
			i, j := int(math.Floor(u)), int(math.Floor(v))
			fu, fv := u-float64(i), v-float64(j)
			out.SetGray(x, y,
				color.Gray{uint8(grey(i, j)*(1-fu)*(1-fv) + grey(i+1, j)*fu*(1-fv) + grey(i, j+1)*(1-fu)*fv +
					grey(i+1, j+1)*fu*fv)})
		}
	}
	return out
}

func turned(src image.Image, by float64) image.Image {
	sin, cos := math.Sincos(by)
	return mapped(src, func(x, y float64) (float64, float64) { return x*cos + y*sin, y*cos - x*sin })
}

// fromTheSide is a label seen at an angle: what is further away is smaller.
func fromTheSide(src image.Image) image.Image {
	reach := float64(src.Bounds().Dx())
	return mapped(src, func(x, y float64) (float64, float64) {
		w := 1 + 0.25*x/reach
		return x / w * 1.1, y / w
	})
}

// Labels pass over what is spoiled on the first sheet, and the next free one is behind the last of them.
func TestLabelsPassOverWhatIsSpoiled(t *testing.T) {
	stock := stockNamed(t, "a4-2x4")
	for _, c := range []struct {
		o     SheetOptions
		n     int
		at    []int
		next  int
		pages int
	}{
		{SheetOptions{}, 8, []int{0, 1, 2, 3, 4, 5, 6, 7}, 1, 1},
		{SheetOptions{StartAt: 3, Skip: []int{4, 8}}, 3, []int{2, 4, 5}, 7, 1},
		{SheetOptions{StartAt: 7, Skip: []int{1, 8}}, 2, []int{6, 8}, 2, 2},
		{SheetOptions{StartAt: 8, Skip: []int{8, 8}}, 1, []int{8}, 2, 2},
		{SheetOptions{StartAt: 5, Skip: []int{6, 7}}, 1, []int{4}, 8, 1},
		{SheetOptions{StartAt: 6, Skip: []int{7, 8}}, 1, []int{5}, 1, 1},
	} {
		assert.Equal(t, c.at, c.o.places(stock, c.n))
		assert.Equal(t, c.next, c.o.Next(stock, c.n))
		assert.Equal(t, c.at[0] >= 8, c.o.Full(stock))
		pages, err := Sheet(stock, slices.Repeat([]*Drawing{{Width: 99.1, Height: 67.7}}, c.n), c.o)
		require.NoError(t, err)
		assert.Len(t, pages, c.pages)
	}
}
