package labels

import (
	"flag"
	"image"
	"image/png"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Whatever the text, nothing leaves the label, nothing lies on anything else, and the hole stays free.
func TestLongestTextStaysInItsPlace(t *testing.T) {
	s := Default()
	rnd := rand.New(rand.NewPCG(7, 8))
	rounds := 60
	if testing.Short() {
		rounds = 10
	}
	for _, stock := range DefaultStock() {
		for range rounds {
			m := longest(rnd)
			f, err := m.Face(s)
			require.NoError(t, err)
			d, err := Draw(f, stock, s)
			if stock.LabelHeight < 29 && err != nil {
				assert.ErrorContains(t, err, "too small")
				assert.ErrorContains(t, err, "would do")
				continue
			}
			require.NoError(t, err, "%s: %+v", stock.Name, m)
			checkPlaces(t, d, stock)
			assert.Contains(t, strings.Fields(d.words()), m.Tag, "%s: whole, since a part of it is another tag", stock.Name)
			if m.Mains && !m.Safety.done() && !d.says(doNotPlugIn) {
				assert.True(t, d.says("do not plug in:") && d.says("not safety tested"), "%s: parted where it may be: %s", stock.Name, d.words())
			}
		}
	}
}

func checkPlaces(t *testing.T, d *Drawing, stock Stock) {
	t.Helper()
	label := box{1, 1, d.Width - 2, d.Height - 2}
	hole := box{stock.HoleX - stock.Hole/2, stock.HoleY - stock.Hole/2, stock.Hole, stock.Hole}
	var texts []op
	var symbol, band, plate box
	for _, o := range d.ops {
		b := o.bounds()
		assert.True(t, label.holds(b), "%s: %q at %v is not within %v", stock.Name, o.text, b, label)
		if stock.Hole > 0 {
			assert.False(t, hole.overlaps(b), "%s: %q at %v is in the hole", stock.Name, o.text, b)
		}
		switch {
		case o.text != "":
			assert.GreaterOrEqual(t, o.size, minText*0.99, "%q", o.text)
			texts = append(texts, o)
		case len(o.rings) > 100 && math.Abs(b.w-b.h) < 1e-6:
			symbol = b
		case len(o.rings) == 1 && band.w == 0:
			band = b
		case len(o.rings) == 1:
			plate = b
		}
	}
	require.NotZero(t, symbol.w)
	require.NotZero(t, band.w)
	assert.False(t, symbol.overlaps(band))
	assert.False(t, plate.overlaps(symbol) || plate.overlaps(band), "%s: plate at %v", stock.Name, plate)
	for i, o := range texts {
		if band.holds(o.bounds()) {
			continue // the band's own word
		}
		assert.False(t, o.bounds().overlaps(band), "%s: %q on the band", stock.Name, o.text)
		assert.False(t, o.bounds().overlaps(symbol), "%s: %q on the symbol", stock.Name, o.text)
		assert.True(t, plate.holds(o.bounds()) || !plate.overlaps(o.bounds()), "%s: %q half on the plate", stock.Name, o.text)
		for _, other := range texts[i+1:] {
			assert.False(t, o.bounds().overlaps(other.bounds()), "%s: %q on %q", stock.Name, o.text, other.text)
		}
	}
}

// Type on labels, common practice: 6 pt at least, tags and places 9 pt, however much there is to say; and where there is little, letters
// of 14 mm and lines of 5.5 mm are enough, more only on a label that is more than 60 mm either way.
func TestTypeIsNeitherTooSmallNorTooLarge(t *testing.T) {
	const pt = 25.4 / 72
	s := Default()
	rnd := rand.New(rand.NewPCG(19, 20))
	smallest, largest := map[bool]float64{true: math.Inf(1), false: math.Inf(1)}, map[bool]float64{}
	for _, stock := range DefaultStock() {
		roomy := max(1, min(stock.LabelWidth, stock.LabelHeight)/60)
		var faces []*Face
		for range 10 {
			f, err := longest(rnd).Face(s)
			require.NoError(t, err)
			faces = append(faces, f)
		}
		for _, place := range []string{"A", "bay 2", strings.Repeat("far end ", 9)} {
			f, err := Shelf{Place: place, About: "x"}.Face(s)
			require.NoError(t, err)
			faces = append(faces, f)
		}
		for _, f := range faces {
			d, err := Draw(f, stock, s)
			if err != nil {
				continue
			}
			for _, o := range d.ops {
				if o.text == "" || f.Band != nil && o.text == f.Band.Word {
					continue
				}
				head := o.text == f.Headline || f.Band == nil && o.text != "x" // a place may stand on several rows
				smallest[head], largest[head] = min(smallest[head], o.size), max(largest[head], o.size/roomy)
			}
		}
	}
	assert.InDelta(t, 6*pt, smallest[false], 0.05)
	assert.InDelta(t, 9*pt, smallest[true], 0.05)
	assert.InDelta(t, 14, largest[true], 0.05)
	assert.InDelta(t, 5.5, largest[false], 0.05)
}

// The boxes above are measured; this looks at the ink itself.
func TestNoInkPastTheEdge(t *testing.T) {
	s := Default()
	rnd := rand.New(rand.NewPCG(9, 10))
	for _, name := range []string{"a4-3x7", "roll-62x29", "a4-tag-2x5", "roll-62x100"} {
		stock := stockNamed(t, name)
		for range 5 {
			page := &Drawing{Width: stock.LabelWidth + 10, Height: stock.LabelHeight + 10}
			page.place(drawn(t, longest(rnd), stock, s), 5, 5)
			img, err := page.image(100)
			require.NoError(t, err)
			b, edge := img.Bounds(), 21 // 5.5 mm
			for y := range b.Max.Y {
				for x := range b.Max.X {
					if x < edge || y < edge || x >= b.Max.X-edge || y >= b.Max.Y-edge {
						require.Equal(t, uint32(0xFFFF), first(img.At(x, y).RGBA()), "%s: ink at %d, %d", name, x, y)
					}
				}
			}
		}
	}
}

func first(v, _, _, _ uint32) uint32 { return v }

func TestShrinkThenWrapThenCut(t *testing.T) {
	width := regular.width("Meadowlark", 4)
	one := fit("Meadowlark", regular, width, 4, 2, 2)
	assert.Equal(t, block{rows: []string{"Meadowlark"}, font: regular, size: 4}, one)
	shrunk := fit("Meadowlarks", regular, width, 4, 2, 2)
	assert.Equal(t, []string{"Meadowlarks"}, shrunk.rows)
	assert.Less(t, shrunk.size, 4.0)
	wrapped := fit("Meadowlark Rotary 28", regular, width, 4, 2, 2)
	assert.Equal(t, []string{"Meadowlark", "Rotary 28"}, wrapped.rows)
	assert.False(t, wrapped.cut)
	cut := fit("Meadowlark Rotary 28 with extension table and knee lever", regular, width, 4, 2, 2)
	assert.Len(t, cut.rows, 2)
	assert.True(t, cut.cut)
	assert.True(t, strings.HasSuffix(cut.rows[1], "…"), cut.rows[1])
	for _, b := range []block{one, shrunk, wrapped, cut} {
		for _, row := range b.rows {
			assert.LessOrEqual(t, regular.width(row, b.size), width+1e-9)
		}
	}
	assert.Equal(t, []string{"No. 12345", "67890"}, wrap("No. 1234567890", regular, regular.width("No. 12345", 1)))
}

func TestTooSmallNamesALabelThatWouldDo(t *testing.T) {
	s := Default()
	tiny := Stock{Name: "tiny", PageWidth: 20, PageHeight: 12, Columns: 1, Rows: 1, LabelWidth: 20, LabelHeight: 12}
	f, err := sample(1).Face(s)
	require.NoError(t, err)
	_, err = Draw(f, tiny, s)
	require.ErrorContains(t, err, "label tiny is too small: its QR symbol has 29 modules a side with the quiet zone, 11.6 mm at the least of 0.4 mm each")
	assert.ErrorContains(t, err, "letter-3x10 would do, 66.7 × 25.4 mm")

	s.BaseURL = "HTTPS://REGISTRY.SHED.EXAMPLE/MACHINES/" + strings.Repeat("X", 100) + "/"
	f, err = sample(1).Face(s)
	require.NoError(t, err)
	_, err = Draw(f, stockNamed(t, "roll-62x29"), s)
	require.ErrorContains(t, err, "would do")

	// What it names does, and nothing smaller that is as large as what was asked for.
	_, after, _ := strings.Cut(err.Error(), "; ")
	name, _, _ := strings.Cut(after, " would do")
	asked, named := stockNamed(t, "roll-62x29"), stockNamed(t, name)
	area := func(s Stock) float64 { return s.LabelWidth * s.LabelHeight }
	for _, stock := range DefaultStock() {
		if _, err := Draw(f, stock, s); area(stock) >= area(asked) && area(stock) < area(named) {
			assert.Error(t, err, stock.Name)
		}
	}
	_, err = Draw(f, named, s)
	assert.NoError(t, err)
}

// A label that has no room for what must be whole is refused, and the reason given.
func TestWhatMustBeWhole(t *testing.T) {
	s := Default()
	face := func(f *Face, err error) *Face {
		require.NoError(t, err)
		return f
	}
	low := func(wide, high float64) Stock {
		return Stock{Name: "low", PageWidth: wide, PageHeight: high, Columns: 1, Rows: 1, LabelWidth: wide, LabelHeight: high}
	}
	for _, row := range []struct {
		f     *Face
		stock Stock
		why   string
	}{
		{face(sample(1).Face(s)), low(100, 11), "low is too small: the TREADLE band needs 4.5 mm;"},
		{face(Machine{Tag: strings.Repeat("A", 40), Drive: "hand"}.Face(s)), stockNamed(t, "roll-62x29"), `"` + strings.Repeat("A", 40) + `" does not fit;`},
		{face(Shelf{Place: strings.Repeat("behind the loom ", 12)}.Face(s)), low(100, 22), "low is too small: "},
		{face(sample(2).Face(s)), low(60, 22), "low is too small: "},
		{face(Base{Tag: "AB00003K", Weight: strings.Repeat("9", 400) + " kg", Heavy: true}.Face(s)), stockNamed(t, "a4-3x7"),
			"no stock in the starter table would do: shorten the text or the base_url"},
	} {
		_, err := Draw(row.f, row.stock, s)
		assert.ErrorContains(t, err, row.why)
	}
}

func TestHalve(t *testing.T) {
	for text, want := range map[string][]string{
		doNotPlugIn:                        {"do not plug in:", "not safety tested"},
		"27 kg cast iron: two people lift": {"27 kg cast iron:", "two people lift"},
		"two people lift it":               {"two people", "lift it"},
		"i i i i WWWWWW":                   {"i i i i", "WWWWWW"},
		"WWWWWW i i i i":                   {"WWWWWW", "i i i i"},
		"lift":                             {"lift"},
		"":                                 {""},
	} {
		assert.Equal(t, want, halve(text, bold), text)
	}
}

func TestEllipsis(t *testing.T) {
	width := func(text string) float64 { return regular.width(text, 1) }
	assert.Equal(t, "Meadowlark…", ellipsis("Meadowlark", regular, width("Meadowlark…")), "there is room for both")
	assert.Equal(t, "Meadow…", ellipsis("Meadowlark", regular, width("Meadow…")))
	assert.Equal(t, "Meadow…", ellipsis("Meadow lark", regular, width("Meadow …")), "no blank before it")
}

// A caution is whole or the label is refused, and faults are counted where they do not all fit.
func TestCautionsAndFaults(t *testing.T) {
	s := Default()
	m := sample(2)
	f, err := m.Face(s)
	require.NoError(t, err)
	for _, stock := range DefaultStock() {
		d, err := Draw(f, stock, s)
		if err != nil {
			continue
		}
		assert.Contains(t, d.words(), doNotPlugIn, stock.Name)
	}
	m.Model = "Northern Light Rotary 28"
	f, err = m.Face(s)
	require.NoError(t, err)
	d, err := Draw(f, stockNamed(t, "a4-tag-2x5"), s)
	require.NoError(t, err)
	assert.True(t, d.says("do not plug in:") && d.says("not safety tested"), "parted at its colon, beside a line that is wrapped: %s", d.words())

	slip := Slip{Tag: "AB00001K", Maker: "Meadowlark", Stage: "bench", Tested: "2026-03-02"}
	for range 30 {
		slip.Faults = append(slip.Faults, Fault{"tension", "loops below the cloth"})
	}
	f, err = slip.Face(s)
	require.NoError(t, err)
	d, err = Draw(f, stockNamed(t, "a4-3x7"), s)
	require.NoError(t, err)
	assert.Contains(t, d.words(), "… more in the record")
	assert.Contains(t, d.words(), "tension: loops below the cloth")
}

// Glue lifts old decals: every sticker that goes on a machine or base says so, itself or in the margin of its sheet. A tag that is tied on
// and a slip that lies beside need not.
func TestStickersWarnOfDecals(t *testing.T) {
	s := Default()
	slip, err := Slip{Tag: "AB00001K", Maker: "Meadowlark", Stage: "bench"}.Face(s)
	require.NoError(t, err)
	machine, err := sample(1).Face(s)
	require.NoError(t, err)
	base, err := Base{Tag: "AB00003K"}.Face(s)
	require.NoError(t, err)
	for _, row := range []struct {
		stock       string
		label, page bool
	}{{"roll-62x29", true, false}, {"a4-1x2", true, false}, {"a4-3x7", false, true}, {"roll-tag-80x40", false, false}, {"a4-tag-2x5", false, false}} {
		stock := stockNamed(t, row.stock)
		for name, f := range map[string]*Face{"machine": machine, "base": base, "slip": slip} {
			d, err := Draw(f, stock, s)
			require.NoError(t, err)
			assert.Equal(t, row.label && f != slip, strings.Contains(d.words(), notOnDecals), "%s on %s", name, row.stock)
			pages, err := Sheet(stock, []*Drawing{d}, SheetOptions{})
			require.NoError(t, err)
			assert.Equal(t, row.label && f != slip || row.page, strings.Contains(pages[0].words(), notOnDecals), "%s on a sheet of %s", name, row.stock)
		}
	}
}

// On a fault slip what is to be mended stands whole; that the machine has a maker and a place is left out for it.
func TestFaultsComeBeforeTheRest(t *testing.T) {
	s := Default()
	slip := Slip{Tag: "AB00001K", Maker: "Meadowlark", Serial: "F4712883", Stage: "bench", Since: "2026-03-02", Place: "Shelf 3", Tested: "2026-03-02", Faults: []Fault{
		{"needle-bar", "knocks at the lowest point, needle touches the plate"}, {"tension", "loops below"}, {"stitch-length", "3.2 mm where the dial says 2.5 mm"}}}
	for name, placed := range map[string]bool{"a4-3x7": false, "a4-2x4": true} {
		f, err := slip.Face(s)
		require.NoError(t, err)
		d, err := Draw(f, stockNamed(t, name), s)
		require.NoError(t, err)
		assert.Contains(t, d.words(), "needle-bar: knocks at the lowest point, needle touches the plate • tension: loops below • stitch-length: 3.2 mm where the dial says 2.5 mm")
		assert.NotContains(t, d.words(), "…", name)
		assert.Equal(t, placed, strings.Contains(d.words(), "Shelf 3"), name)
	}
}

func TestPlaceTakesTheWholeLabel(t *testing.T) {
	s := Default()
	long := "far end of the upper gallery, behind the loom, shelf 12"
	f, err := Shelf{Place: long}.Face(s)
	require.NoError(t, err)
	d, err := Draw(f, stockNamed(t, "a4-3x7"), s)
	require.NoError(t, err)
	assert.Equal(t, long, d.words())
}

// A base has neither band nor lead; its longest text stays in its place as well.
func TestBaseLabelFitsEveryStock(t *testing.T) {
	s := Default()
	f, err := Base{Tag: "AB00124M", Name: strings.Repeat("Wattenscheid ", 9), Weight: "124.75 kg", Heavy: true,
		Measures: []string{"opening 1374.25 mm × 1181.25 mm", "pins 241.25 mm", "flywheel 305.25 mm", "no top"}}.Face(s)
	require.NoError(t, err)
	for _, stock := range DefaultStock() {
		d, err := Draw(f, stock, s)
		if err != nil {
			assert.ErrorContains(t, err, "would do", stock.Name)
			continue
		}
		assert.Contains(t, d.words(), "124.75 kg cast iron: two people lift", stock.Name)
		assert.Contains(t, strings.Fields(d.words()), "AB00124M", stock.Name)
		label := box{1, 1, d.Width - 2, d.Height - 2}
		for _, o := range d.ops {
			assert.True(t, label.holds(o.bounds()), "%s: %q", stock.Name, o.text)
		}
	}
}

// says tells whether a text stands on one row.
func (d *Drawing) says(text string) bool {
	return slices.ContainsFunc(d.ops, func(o op) bool { return o.text == text })
}

// words are all that a drawing says.
func (d *Drawing) words() string {
	var texts []string
	for _, o := range d.ops {
		if o.text != "" {
			texts = append(texts, o.text)
		}
	}
	return strings.Join(texts, " ")
}

var update = flag.Bool("update", false, "write the golden pictures anew; look at each before you commit it")

// A person looked at each of these pictures once, for overlaps, cut letters, balance and legibility, before it was kept;
// the test only says that nothing has changed since.
func TestGoldenPictures(t *testing.T) {
	s := Default()
	long := Machine{Tag: "AB00124M", Maker: "Северное сияние, завод швейных машин", Model: "Πηνελόπη Οικιακή", Serial: "ABCDEFGHJK1234567890ABCDEFGHJK1234567890",
		Year: "year unknown", Drive: "electric", Mains: true, Tested: Test{"2026-03-02", "QX"}}
	slip, err := Slip{Tag: "AB00001K", Maker: "Meadowlark", Model: "Vibra 28", Serial: "F4712883", Stage: "check", Since: "2026-03-01", Place: "Shelf 3"}.Face(s)
	require.NoError(t, err)
	slipDrawing, err := Draw(slip, stockNamed(t, "roll-62x29"), s)
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

// One of each kind on stock of each shape: tall, low, large and with a hole; with cautions, faults, a long place and a long word on its band.
func TestKindsPicture(t *testing.T) {
	s := Default()
	words := Default()
	words.Drive["treadle"] = Band{"FUSSBETRIEB MIT GESTELL", mustColour("#b9e4c9"), black, "rising"}
	words.Stage["bench"] = Band{"IN DER WERKSTATT OBEN", mustColour("#e07429"), black, "rising"}
	faults := Slip{Tag: "AB00124M", Maker: "Meadowlark", Model: "Vibra 28", Serial: "F4712883", Stage: "bench", Tested: "2026-03-02", Since: "2026-03-02", Place: "Shelf 3", Faults: []Fault{
		{"needle-bar", "knocks at the lowest point"}, {"tension", "loops below"}, {"stitch-length", "3.2 mm where the dial says 2.5 mm"}}}
	heavy := Base{Tag: "AB00125K", Name: "Brookside Ironworks Alder", Measures: []string{"opening 374 mm × 181 mm", "pins 241 mm", "flywheel 305 mm"}, Weight: "27 kg", Heavy: true}
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
		{140, 198, "a4-3x8", s, Shelf{Place: "under the stairs", About: "heads"}},
		{176, 2, "a4-2x4", s, Shelf{Place: "bay 2"}},
		{176, 71, "a4-2x4", s, faults},
		{222, 156, "roll-102x51", s, sample(0)},
		{278, 2, "narrow", s, Slip{Tag: "AB00126I", Maker: "Meadowlark", Stage: "held", Note: "cracked bed", Place: "bay 2"}},
		{278, 82, "narrow", s, Shelf{Place: "Wareneingangslager"}},
		{222, 209, "roll-62x29", s, Shelf{Place: "far end of the upper gallery, behind the loom, shelf 12"}},
	} {
		f, err := at.kind.Face(at.s)
		require.NoError(t, err)
		stock := Stock{Name: "narrow", LabelWidth: 40, LabelHeight: 70}
		if at.stock != "narrow" {
			stock = stockNamed(t, at.stock)
		}
		d, err := Draw(f, stock, at.s)
		require.NoError(t, err, at.stock)
		page.place(d, at.x, at.y)
		page.fill(cutColour, box{at.x, at.y, d.Width, d.Height}.frame(cutLine)...)
	}
	sameAs(t, filepath.Join("testdata", "kinds.png"), page, 75)
}

// The picture in the README: a lasting label, and the slip that lies by the machine today.
func TestReadmePicture(t *testing.T) {
	s, tag, sticker := Default(), stockNamed(t, "a4-tag-2x5"), stockNamed(t, "a4-3x7")
	lasting := drawn(t, Machine{Tag: "LR2G", Maker: "Harrow & Finch", Model: "Heron", Serial: "KA51244", Year: "1922", Drive: "treadle", Tested: Test{"2026-03-02", "MB"}}, tag, s)
	f, err := Slip{Tag: "LR2G", Maker: "Harrow & Finch", Model: "Heron", Serial: "KA51244", Stage: "reserved", Since: "2026-03-09", Place: "bay 3", Note: "for ORD1, on base LR61E"}.Face(s)
	require.NoError(t, err)
	slip, err := Draw(f, sticker, s)
	require.NoError(t, err)
	page := &Drawing{Width: 176, Height: 61}
	for _, at := range []struct {
		d    *Drawing
		x, y float64
	}{{lasting, 3, 3}, {slip, 106, 11}} {
		page.place(at.d, at.x, at.y)
		page.fill(cutColour, box{at.x, at.y, at.d.Width, at.d.Height}.frame(cutLine)...)
	}
	page.fill(cutColour, circle(3+tag.HoleX, 3+tag.HoleY, tag.Hole/2, cutLine)...)
	sameAs(t, filepath.Join("..", "testdata", "readme-labels.png"), page, 130)
}

// sameAs compares a drawing with the picture in a file, or with -update writes the file.
func sameAs(t *testing.T, file string, d *Drawing, dpi int) {
	got, err := d.image(dpi)
	require.NoError(t, err)
	if *update {
		out, err := os.Create(file)
		require.NoError(t, err)
		require.NoError(t, d.WritePNG(out, dpi))
		require.NoError(t, out.Close())
	}
	in, err := os.Open(file)
	require.NoError(t, err)
	defer in.Close()
	want, err := png.Decode(in)
	require.NoError(t, err)
	require.Equal(t, want.Bounds(), got.Bounds())
	assert.Less(t, worstDifference(want, got), 24, "the picture has changed: look at it, then run the test with -update")
}

// worstDifference allows for processors that round the edges of letters differently.
func worstDifference(a, b image.Image) (worst int) {
	p, q := pixels(a), pixels(b)
	for i := range p {
		worst = max(worst, int(p[i])-int(q[i]), int(q[i])-int(p[i]))
	}
	return worst
}
