package labels

import (
	"maps"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/labels/letters"
)

// Whatever the text and whatever the stock, nothing leaves the label, nothing lies on anything else, no
// letter leaves its plate or band, none is below 6 pt, none is cut, and the hole stays free with room for a
// ring around it.
func TestLongestTextStaysInItsPlace(t *testing.T) {
	s := Default()
	rnd := rand.New(rand.NewPCG(7, 8))
	rounds := 40
	if os.Getenv("NIGHTLY") == "" {
		rounds = 6
	}
	small := Stock{Name: "small", LabelWidth: 40, LabelHeight: 20}
	for _, stock := range append(DefaultStock(), small) {
		for range rounds {
			m := longest(rnd)
			f, err := m.Face(s)
			require.NoError(t, err)
			d, err := Draw(f, stock, s, stock.Device())
			if err != nil {
				require.True(t, m.Mains && !m.Safety.done() && stock.LabelHeight < 27, "%s: %v", stock.Name,
					err)
				assert.ErrorContains(t, err, "would do", "only for a caution's sake")
				continue
			}
			checkPlaces(t, d, stock, f)
			if m.Mains && !m.Safety.done() && !d.says(notTested) {
				assert.True(t, d.says("do not plug in:") && d.says("not safety tested"),
					"%s: parted where it may be: %s", stock.Name, d.words())
			}
		}
	}
}

// wordsIn are words of each script, short and long, as people enter them; Arabic ones join their letters, and
// Chinese has no spaces at which a row could end.
var wordsIn = map[string][]string{
	"Latin":      {"Meadowlark", "& Sønner", "Wäschemangelwerk", "é", "WWWWWWWWWW", "iiii"},
	"Vietnamese": {"Chim", "Sơn Ca", "Ế Ộ Ữ ằ", "Kiểu", "NGHIÊNG", "ợợợợ"},
	"Greek":      {"Κορυδαλλός", "Οικιακή", "ΩΩΩΩΩΩΩ", "ς"},
	"Cyrillic":   {"Северный", "жаворонок", "ЩЩЩЩЩЩЩЩ", "Й"},
	"Arabic":     {"القبرة", "موديل", "للمنزل", "بالحاجي", "28", "ش"},
	"Chinese":    {"云雀缝纫机", "家用", "型", "二十八号大型工业缝纫机台"},
}

// In whatever script people write, and as long as they may: machines, slips with faults, bases and shelves on
// every stock, none of them cut, off its plate, below 6 pt or on something else.
func TestEveryScriptStaysInItsPlace(t *testing.T) {
	needFonts(t)
	s := Default()
	rnd := rand.New(rand.NewPCG(31, 32))
	text := func(words []string, most int) string {
		out := words[rnd.IntN(len(words))]
		for range rnd.IntN(12) {
			if next := out + " " + words[rnd.IntN(len(words))]; len([]rune(next)) <= most {
				out = next
			}
		}
		return out
	}
	for round, script := range slices.Sorted(maps.Keys(wordsIn)) {
		words, drawn, refused := wordsIn[script], 0, 0
		say := func(most int) string { return text(words, most) }
		for i, stock := range DefaultStock() {
			m := sample(i)
			m.Maker, m.Model, m.Serial = say(60), say(60), say(40)
			for j, kind := range []interface{ Face(*Scheme) (*Face, error) }{
				m,
				Slip{Tag: "AB00124M", Maker: say(60), Model: say(60), Serial: say(40),
					Stage: Stages[i%len(Stages)],
					Since: "2026-03-02", Tested: "2026-03-02", Place: say(40), Note: say(80), Points: 16,
					Faults: []Fault{{"tension", say(60)}, {"needle-bar", say(60)}}},
				Base{Tag: "AB00125K", Name: say(80), Weight: "27 kg", Heavy: true,
					Measures: []string{"opening 374 mm × 181 mm"}},
				Shelf{Place: say(40), Code: "4829131SK", About: say(40)},
			} {
				if j != (i+round)%4 && os.Getenv("NIGHTLY") == "" {
					continue // each kind on each stock in one script or the other
				}
				f, err := kind.Face(s)
				require.NoError(t, err)
				d, err := Draw(f, stock, s, stock.Device())
				if err != nil {
					require.ErrorContains(t, err, "too small", "%s on %s", script, stock.Name)
					refused++
					continue
				}
				drawn++
				checkPlaces(t, d, stock, f)
			}
		}
		assert.Greater(t, drawn, 5*refused, "%s: few labels have no room", script)
	}
}

// onlyWhole asserts that each line stands on the label whole, or not at all.
func onlyWhole(t *testing.T, d *Drawing, f *Face, where string) {
	said := strings.ReplaceAll(d.words(), " ", "")
	all := append(slices.Clone(f.Lines), Line{Text: f.Headline, Needed: true}, Line{Text: notOnDecals})
	if f.Band != nil {
		all = append(all, Line{Text: f.Band.Word})
	}
	// the longest first, since a short one may stand within a longer one, too
	slices.SortStableFunc(all, func(a, b Line) int { return len(b.Text) - len(a.Text) })
	for _, l := range all {
		text := strings.ReplaceAll(l.Text, " ", "")
		if !strings.Contains(said, text) {
			assert.False(t, l.Caution || l.Needed, "%s: %q", where, l.Text)
			said = strings.Replace(said, "…moreintherecord", "", 1)
		}
		said = strings.Replace(said, text, "", 1)
	}
	assert.Empty(t, said, "%s: nothing in part: %s", where, d.words())
}

func checkPlaces(t *testing.T, d *Drawing, stock Stock, f *Face) {
	t.Helper()
	label := box{1, 1, d.Width - 2, d.Height - 2}
	clear := stock.Hole/2 + holeClear - 0.05 // a letter may lean out of its box by a hair
	hole := box{stock.HoleX - clear, stock.HoleY - clear, 2 * clear, 2 * clear}
	var texts []op
	var boxes []box
	var symbol, band box
	var plates []box
	for o := range d.steps() {
		b := o.bounds()
		assert.True(t, label.holds(b), "%s: %q at %v is not within %v", stock.Name, o.text, b, label)
		if stock.Hole > 0 {
			assert.False(t, hole.overlaps(b), "%s: %q at %v is at the hole", stock.Name, o.text, b)
		}
		switch {
		case o.text != "":
			assert.GreaterOrEqual(t, o.size, 6*25.4/72, "%q", o.text)
			texts, boxes = append(texts, o), append(boxes, b)
		case len(o.outline()) > 60 && math.Abs(b.w-b.h) < 0.2 && o.colour == black && symbol.w == 0 &&
			b.w > 8:
			symbol = b
		case len(o.outline()) == 1 && band.w == 0 && o.colour != black && o.colour != white ||
			len(o.outline()) == 2 && band.w == 0:
			band = b
		case len(o.outline()) == 1 && o.colour == black:
			plates = append(plates, b)
		}
	}
	if f.Payload != "" {
		require.NotZero(t, symbol.w, stock.Name)
	}
	assert.False(t, symbol.overlaps(band))
	for _, p := range plates {
		assert.False(t, p.overlaps(symbol) || p.overlaps(band), "%s: plate at %v", stock.Name, p)
	}
	for i, o := range texts {
		at := boxes[i]
		switch {
		case o.colour == white && !band.overlaps(at):
			assert.True(t, slices.ContainsFunc(plates, func(p box) bool { return p.holds(at) }),
				"%s: %q off its plate", stock.Name, o.text)
		case band.overlaps(at):
			assert.True(t, band.holds(at), "%s: %q off the band", stock.Name, o.text)
			assert.Equal(t, f.Band.Word, o.text)
		}
		assert.False(t, at.overlaps(symbol), "%s: %q on the symbol", stock.Name, o.text)
		for j := range texts[:i] {
			assert.False(t, at.overlaps(boxes[j]), "%s: %q on %q", stock.Name, o.text, texts[j].text)
		}
	}
	onlyWhole(t, d, f, stock.Name)
}

// The most important line is the last to shrink, and one long line makes no other small.
func TestEachLineIsAsLargeAsItCanBe(t *testing.T) {
	s := Default()
	sizes := func(m Machine, stock string) map[string]float64 {
		out := map[string]float64{}
		for o := range drawn(t, m, stockNamed(t, stock), s).steps() {
			if o.text != "" {
				out[o.text] = o.size
			}
		}
		return out
	}
	m := sample(2)
	short := sizes(m, "a4-tag-2x5")
	m.Maker = "Meadowlark and Heron, makers of family sewing machines, est."
	long := sizes(m, "a4-tag-2x5")
	caution := func(of map[string]float64) float64 { return max(of[notTested], of["do not plug in:"]) }
	assert.Greater(t, caution(long), 3.0, "8.5 pt: %v", long)
	assert.GreaterOrEqual(t, caution(short), long["No. T4712883"], "%v", short)
	assert.Greater(t, long["1921–1925"], 2.9, "%v", long)
	for _, name := range []string{"a4-tag-2x5", "a4-3x7", "roll-102x51"} {
		of := sizes(sample(1), name)
		assert.GreaterOrEqual(t, of["1921–1925"], of["No. T4712883"], name)
	}
}

// A tag's check character stands apart, so that nobody reads one without it for another tag; a reader's eye
// takes a fifth of an em for a gap.
func TestCheckCharacterStandsApart(t *testing.T) {
	d := drawn(t, sample(1), stockNamed(t, "a4-tag-2x5"), Default())
	var body, check op
	for o := range d.steps() {
		switch o.text {
		case "AB00001":
			body = o
		case "K":
			check = o
		}
	}
	gap := check.x - (body.x + body.line.Width*body.size)
	assert.InDelta(t, 0.22*body.size, gap, 0.01)
	assert.Equal(t, body.y, check.y)
}

// Small stock keeps tag and symbol, the word of its band where there is room, and any caution; what cannot
// hold that is refused for that machine.
func TestSmallStock(t *testing.T) {
	s := Default()
	small := Stock{Name: "small", PageWidth: 40, PageHeight: 20, Columns: 1, Rows: 1, LabelWidth: 40,
		LabelHeight: 20}
	d := drawn(t, sample(1), small, s)
	assert.Contains(t, d.words(), "AB00001")
	_, err := readQR(must(d.image(Device{DPI: 300})))
	assert.NoError(t, err)
	f, err := sample(2).Face(s)
	require.NoError(t, err)
	d = drawn(t, sample(2), small, s)
	assert.True(t, d.says("do not plug in:") && d.says("not safety tested"), d.words())
	tiny := small
	tiny.Name, tiny.LabelWidth, tiny.LabelHeight = "tiny", 26, 16
	_, err = Draw(f, tiny, s, Device{})
	assert.ErrorContains(t, err, "label tiny is too small")
}

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

// A portrait tag with its hole at the top is laid out from the top: tag, symbol, lines, band.
func TestPortrait(t *testing.T) {
	s := Default()
	d := drawn(t, sample(1), stockNamed(t, "roll-tag-51x102"), s)
	var tag, symbol, year box
	for o := range d.steps() {
		switch {
		case o.text == "AB00001":
			tag = o.bounds()
		case o.text == "1921–1925":
			year = o.bounds()
		case len(o.outline()) > 60 && symbol.w == 0 && math.Abs(o.bounds().w-o.bounds().h) < 0.2:
			symbol = o.bounds()
		}
	}
	assert.Less(t, tag.y+tag.h, symbol.y)
	assert.Less(t, symbol.y+symbol.h, year.y)
	assert.Greater(t, tag.y, 5.0+2+holeClear)
}

// Type on labels, common practice: 6 pt at least, tags and places 9 pt, however much there is to say; and
// where there is little, letters of 14 mm and lines of 5.5 mm are enough, more only on a label that is more
// than 60 mm either way.
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
			f, err := Shelf{Place: place, Code: "4829131SK", About: "x"}.Face(s)
			require.NoError(t, err)
			faces = append(faces, f)
		}
		for _, f := range faces {
			d, err := Draw(f, stock, s, Device{})
			if err != nil {
				continue
			}
			for o := range d.steps() {
				if o.text == "" || f.Band != nil && o.text == f.Band.Word {
					continue // which may fill its band
				}
				head := f.tagged &&
					(o.text == f.Headline[:len(f.Headline)-1] || o.text == f.Headline[len(f.Headline)-1:]) ||
					// a place may stand on several rows
					f.Band == nil && o.text != "x" && o.text != "4829131SK"
				smallest[head], largest[head] = min(smallest[head], o.size), max(largest[head], o.size/roomy)
			}
		}
	}
	assert.GreaterOrEqual(t, smallest[false], 6*pt)
	assert.InDelta(t, 6*pt, smallest[false], 0.1)
	assert.GreaterOrEqual(t, smallest[true], 9*pt)
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
			page.Place(drawn(t, longest(rnd), stock, s), 5, 5)
			img, err := page.image(Device{DPI: 100})
			require.NoError(t, err)
			b, edge := img.Bounds(), 21 // 5.5 mm
			for y := range b.Max.Y {
				for x := range b.Max.X {
					if x < edge || y < edge || x >= b.Max.X-edge || y >= b.Max.Y-edge {
						require.Equal(t, uint32(0xFFFF), first(img.At(x, y).RGBA()), "%s: ink at %d, %d",
							name, x, y)
					}
				}
			}
		}
	}
}

func first(v, _, _, _ uint32) uint32 { return v }

func TestShrinkThenWrap(t *testing.T) {
	width := letters.Regular.Width("Meadowlark", 4) + 0.01
	set := func(text string) block { return Line{Text: text}.set(width, 4) }
	one := set("Meadowlark")
	assert.Equal(t, []string{"Meadowlark"}, one.rows)
	assert.InDelta(t, 4, one.size, 0.01)
	shrunk := set("Meadowlarks")
	assert.Equal(t, []string{"Meadowlarks"}, shrunk.rows)
	assert.Less(t, shrunk.size, 3.99)
	wrapped := set("Meadowlark Rotary 44")
	assert.Equal(t, []string{"Meadowlark", "Rotary 44"}, wrapped.rows)
	long := set("Meadowlark Rotary 44 with extension table and knee lever")
	assert.Equal(t, "Meadowlark Rotary 44 with extension table and knee lever", strings.Join(long.rows, " "),
		"whole")
	for _, b := range []block{one, shrunk, wrapped, long} {
		for _, row := range b.rows {
			assert.LessOrEqual(t, letters.Regular.Width(row, b.size), width+1e-9)
		}
	}
	assert.Equal(t, []string{"No. 12345", "67890"},
		letters.Wrap("No. 1234567890", letters.Regular, letters.Regular.Width("No. 12345", 1)))
}

func TestTooSmallNamesALabelThatWouldDo(t *testing.T) {
	s := Default()
	tiny := Stock{Name: "tiny", PageWidth: 20, PageHeight: 12, Columns: 1, Rows: 1, LabelWidth: 20,
		LabelHeight: 12}
	f, err := sample(1).Face(s)
	require.NoError(t, err)
	_, err = Draw(f, tiny, s, Device{})
	require.ErrorContains(t, err,
		"label tiny is too small: its QR symbol has 29 modules a side with the quiet zone, 11.6 mm at the "+
			"least of 0.4 mm each")
	assert.ErrorContains(t, err, "letter-3x10 would do, 66.7 × 25.4 mm")

	s.BaseURL = "HTTPS://REGISTRY.SHED.EXAMPLE/MACHINES/" + strings.Repeat("X", 300) + "/"
	f, err = sample(1).Face(s)
	require.NoError(t, err)
	_, err = Draw(f, stockNamed(t, "roll-62x29"), s, Device{})
	require.ErrorContains(t, err, "would do")

	// What it names does, and nothing smaller that is as large as what was asked for.
	_, after, _ := strings.Cut(err.Error(), "; ")
	name, _, _ := strings.Cut(after, " would do")
	asked, named := stockNamed(t, "roll-62x29"), stockNamed(t, name)
	area := func(s Stock) float64 { return s.LabelWidth * s.LabelHeight }
	for _, stock := range DefaultStock() {
		if _, err := Draw(f, stock, s, Device{}); area(stock) >= area(asked) && area(stock) < area(named) {
			assert.Error(t, err, stock.Name)
		}
	}
	_, err = Draw(f, named, s, Device{})
	assert.NoError(t, err)
}

func TestPlaceTakesTheWholeLabel(t *testing.T) {
	s := Default()
	long := "far end of the upper gallery, behind the loom, shelf 12"
	f, err := Shelf{Place: long, Code: "4829131SK"}.Face(s)
	require.NoError(t, err)
	d, err := Draw(f, stockNamed(t, "a4-3x7"), s, Device{})
	require.NoError(t, err)
	assert.Equal(t, long, d.words())
}

// A base has neither band nor lead; its longest text stays in its place as well.
func TestBaseLabelFitsEveryStock(t *testing.T) {
	s := Default()
	f, err := Base{Tag: "AB00124M", Name: strings.Repeat("Wolkenschade ", 9), Weight: "124.75 kg",
		Heavy: true,
		Measures: []string{"opening 1374.25 mm × 1181.25 mm", "pins 241.25 mm", "flywheel 305.25 mm",
			"no top"}}.Face(s)
	require.NoError(t, err)
	for _, stock := range DefaultStock() {
		d, err := Draw(f, stock, s, Device{})
		if err != nil {
			assert.ErrorContains(t, err, "would do", stock.Name)
			continue
		}
		assert.Contains(t, d.words(), "124.75 kg cast iron: two people lift", stock.Name)
		assert.Contains(t, strings.Fields(d.words()), "AB00124M", stock.Name)
		label := box{1, 1, d.Width - 2, d.Height - 2}
		for o := range d.steps() {
			assert.True(t, label.holds(o.bounds()), "%s: %q", stock.Name, o.text)
		}
	}
}
