package labels

import (
	"flag"
	"image"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry/registrytest/lacking"
)

var update = flag.Bool("update", false, "write the golden pictures anew; look at each before you commit it")

// A person looked at each of these pictures once, for overlaps, cut letters, balance and legibility, before
// it was kept; the test only says that nothing has changed since.
func TestGoldenPictures(t *testing.T) {
	s := Default()
	long := Machine{Tag: "AB00124M", Maker: "Северное сияние, завод швейных машин", Model: "Πηνελόπη Οικιακή",
		Serial: "ABCDEFGHJK1234567890ABCDEFGHJK1234567890",
		Year:   "year unknown", Drive: "electric", Mains: true, Tested: Test{"2026-03-02", "QX"}}
	slip, err := Slip{Tag: "AB00001K", Maker: "Meadowlark", Model: "Brisk 44", Serial: "T4712883",
		Stage: "check", Since: "2026-03-01", Place: "Shelf 3"}.Face(s)
	require.NoError(t, err)
	slipDrawing, err := Draw(slip, stockNamed(t, "roll-62x29"), s, Device{})
	require.NoError(t, err)
	tag := stockNamed(t, "a4-tag-2x5")
	for name, d := range map[string]*Drawing{
		"machine-on-tag.png":    drawn(t, sample(1), tag, s),
		"longest-on-a4-3x7.png": drawn(t, long, stockNamed(t, "a4-3x7"), s),
		"slip-on-roll.png":      slipDrawing,
		"scheme.png":            SampleSheet(s),
	} {
		t.Run(name, func(t *testing.T) {
			dpi := 203
			if name == "scheme.png" {
				dpi = 48
			}
			sameAs(t, filepath.Join("testdata", name), d, dpi)
		})
	}
}

// One of each kind on stock of each shape: tall, low, large and with a hole; with cautions, faults, a long
// place and a long word on its band.
func TestKindsPicture(t *testing.T) {
	s := Default()
	words := Default()
	words.Drive["treadle"] = Band{"FUSSBETRIEB MIT GESTELL", mustColour("#b9e4c9"), black, "rising"}
	words.Stage["bench"] = Band{"IN DER WERKSTATT OBEN", mustColour("#e07429"), black, "rising"}
	faults := Slip{Tag: "AB00124M", Maker: "Meadowlark", Model: "Brisk 44", Serial: "T4712883",
		Stage: "bench", Tested: "2026-03-02", Since: "2026-03-02", Place: "Shelf 3", Faults: []Fault{
			{"needle-bar", "knocks at the lowest point"}, {"tension", "loops below"},
			{"stitch-length", "3.2 mm where the dial says 2.5 mm"}}}
	heavy := Base{Tag: "AB00125K", Name: "Brookside Ironworks Alder",
		Measures: []string{"opening 374 mm × 181 mm", "pins 241 mm", "flywheel 305 mm"}, Weight: "27 kg",
		Heavy: true}
	page := &Drawing{Width: 326, Height: 241}
	for _, at := range []struct {
		x, y  float64
		stock string
		s     *Scheme
		kind  interface{ Face(*Scheme) (*Face, error) }
	}{
		{2, 2, "roll-62x100", s, sample(2)},
		{2, 104, "roll-62x29", s, sample(2)},
		{2, 135, "roll-57x32", s, faults},
		{2, 169, "a4-3x7", s, heavy},
		{2, 209, "letter-3x10", s, heavy},
		{72, 2, "roll-102x152", s, heavy},
		{72, 156, "a4-3x7", words, faults},
		{72, 196, "a4-3x8", words, sample(1)},
		{140, 156, "roll-tag-80x40", s, sample(2)},
		{140, 198, "a4-3x8", s, Shelf{Code: "4829131SK", Place: "under the stairs", About: "heads"}},
		{176, 2, "a4-2x4", s, Shelf{Place: "bay 2", Code: "4829131SK"}},
		{176, 71, "a4-2x4", s, faults},
		{222, 156, "roll-102x51", s, sample(0)},
		{278, 2, "narrow", s,
			Slip{Tag: "AB00126I", Maker: "Meadowlark", Stage: "held", Note: "cracked bed", Place: "bay 2"}},
		{278, 82, "narrow", s, Shelf{Place: "Wareneingangslager", Code: "4829131SK"}},
		{222, 209, "roll-62x29", s, Shelf{Code: "4829131SK",
			Place: "far end of the upper gallery, behind the loom, shelf 12"}},
	} {
		f, err := at.kind.Face(at.s)
		require.NoError(t, err)
		stock := Stock{Name: "narrow", LabelWidth: 40, LabelHeight: 70}
		if at.stock != "narrow" {
			stock = stockNamed(t, at.stock)
		}
		d, err := Draw(f, stock, at.s, Device{})
		require.NoError(t, err, at.stock)
		page.Place(d, at.x, at.y)
		page.fill(cutColour, box{at.x, at.y, d.Width, d.Height}.frame(cutLine)...)
	}
	sameAs(t, filepath.Join("testdata", "kinds.png"), page, 75)
}

// inScripts are a machine, a slip or a shelf in each script that the tests know, with words and names in it.
func inScripts() []interface{ Face(*Scheme) (*Face, error) } {
	machine := func(maker, model string) Machine {
		m := sample(1)
		m.Maker, m.Model = maker, model
		return m
	}
	return []interface{ Face(*Scheme) (*Face, error) }{
		machine("Meadowlark & Sønner", "Brisk 44"),
		machine("Chim Sơn Ca Ế Ộ Ữ ằ", "Kiểu 28"),
		machine("Κορυδαλλός", "Οικιακή 28"),
		machine("Северный жаворонок", "Модель 28"),
		machine("القبرة", "موديل 28 للمنزل"),
		machine("云雀缝纫机", "家用 28 型"),
	}
}

// needFonts skips where this computer has no font for a script, or others than the pictures were made with.
func needFonts(t *testing.T) {
	t.Helper()
	if out, err := exec.Command("fc-list", ":", "family").Output(); err != nil ||
		!strings.Contains(string(out), "Noto Sans Arabic") ||
		!strings.Contains(string(out), "WenQuanYi Micro Hei") {
		lacking.Installed(t, "a font of another script", "fonts-noto-core and fonts-wqy-microhei")
	}
}

// Latin, Vietnamese, Greek, Cyrillic, Arabic and Chinese, in colour and black and white: looked at as the
// other pictures are.
func TestScriptsPicture(t *testing.T) {
	needFonts(t)
	s := Default()
	page := &Drawing{Width: 196, Height: 104}
	for i, kind := range inScripts() {
		f, err := kind.Face(s)
		require.NoError(t, err)
		stock, on := stockNamed(t, "roll-62x29"), Device{DPI: 203, Mono: i%2 == 1}
		d, err := Draw(f, stock, s, on)
		require.NoError(t, err)
		x, y := 2+float64(i%3)*65, 2+float64(i/3)*33
		page.Place(d, x, y)
		page.fill(cutColour, box{x, y, d.Width, d.Height}.frame(cutLine)...)
	}
	words := Default()
	words.Stage["held"] = Band{"在等候", mustColour("#c02000"), white, "falling"}
	words.Stage["ready"] = Band{"جاهزة", mustColour("#309070"), black, "level"}
	for i, kind := range []interface{ Face(*Scheme) (*Face, error) }{
		Slip{Tag: "AB00001K", Stage: "held", Maker: "云雀", Note: "等梭子", Place: "货架 3"},
		Slip{Tag: "AB00001K", Stage: "ready", Maker: "القبرة", Place: "رف 3"},
		Shelf{Place: "货架 3", Code: "4829131SK", About: "架子"},
	} {
		f, err := kind.Face(words)
		require.NoError(t, err)
		d, err := Draw(f, stockNamed(t, "roll-62x29"), words, Device{})
		require.NoError(t, err)
		page.Place(d, 2+float64(i)*65, 70)
		page.fill(cutColour, box{2 + float64(i)*65, 70, d.Width, d.Height}.frame(cutLine)...)
	}
	sameAs(t, filepath.Join("testdata", "scripts.png"), page, 127)
}

// What no font draws is refused by name.
func TestWhatCannotBeDrawnIsRefused(t *testing.T) {
	const private = "\U000F1234"
	s := Default()
	m := sample(1)
	m.Maker = "Lark " + private
	f, err := m.Face(s)
	require.NoError(t, err)
	_, err = Draw(f, stockNamed(t, "a4-3x7"), s, Device{})
	assert.ErrorContains(t, err, "has letters that no font of this computer draws, ")
	assert.ErrorContains(t, err, ": install a font with them, or write it in other letters")
}

// sameAs compares a drawing with the picture in a file, or with -update writes the file.
func sameAs(t *testing.T, file string, d *Drawing, dpi int) {
	got, err := d.image(Device{DPI: dpi})
	require.NoError(t, err)
	if *update {
		out, err := os.Create(file)
		require.NoError(t, err)
		require.NoError(t, d.WritePNG(out, Device{DPI: dpi}))
		require.NoError(t, out.Close())
	}
	in, err := os.Open(file)
	require.NoError(t, err)
	defer in.Close()
	want, err := png.Decode(in)
	require.NoError(t, err)
	require.Equal(t, want.Bounds(), got.Bounds())
	assert.Less(t, worstDifference(want, got), 24,
		"the picture has changed: look at it, then run the test with -update")
}

// worstDifference allows for processors that round the edges of letters differently.
func worstDifference(a, b image.Image) (worst int) {
	p, q := pixels(a), pixels(b)
	for i := range p {
		worst = max(worst, int(p[i])-int(q[i]), int(q[i])-int(p[i]))
	}
	return worst
}
