package labels

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A label that has no room for what must be whole is refused, and the reason given.
func TestWhatMustBeWhole(t *testing.T) {
	s := Default()
	face := func(f *Face, err error) *Face {
		require.NoError(t, err)
		return f
	}
	low := func(wide, high float64) Stock {
		return Stock{Name: "low", PageWidth: wide, PageHeight: high, Columns: 1, Rows: 1, LabelWidth: wide,
			LabelHeight: high}
	}
	for _, row := range []struct {
		f     *Face
		stock Stock
		why   string
	}{
		{face(sample(1).Face(s)), low(100, 11),
			"low is too small: its QR symbol has 29 modules a side with the quiet zone, 11.6 mm at the " +
				"least of 0.4 mm each, and there is room for 8.0 mm;"},
		{face(Machine{Tag: strings.Repeat("A", 40), Drive: "hand"}.Face(s)), stockNamed(t, "roll-62x29"),
			`"` + strings.Repeat("A", 40) + `" does not fit;`},
		{face(Shelf{Code: "4829131SK", Place: strings.Repeat("behind the loom ", 12)}.Face(s)), low(100, 22),
			"low is too small: "},
		{face(sample(2).Face(s)), low(30, 15), "low is too small: "},
		{face(Base{Tag: "AB00003K", Weight: strings.Repeat("9", 3000) + " kg", Heavy: true}.Face(s)),
			stockNamed(t, "a4-3x7"),
			"no stock in the starter table would do: shorten the text or the base_url"},
	} {
		_, err := Draw(row.f, row.stock, s, Device{})
		assert.ErrorContains(t, err, row.why)
	}
}

// A caution is whole or the label is refused, and faults are counted where they do not all fit.
func TestCautionsAndFaults(t *testing.T) {
	s := Default()
	m := sample(2)
	f, err := m.Face(s)
	require.NoError(t, err)
	for _, stock := range DefaultStock() {
		d, err := Draw(f, stock, s, Device{})
		if err != nil {
			continue
		}
		assert.Contains(t, d.words(), notTested, stock.Name)
	}
	m.Model = "Northern Light Rotary 44"
	f, err = m.Face(s)
	require.NoError(t, err)
	d, err := Draw(f, stockNamed(t, "a4-tag-2x5"), s, Device{})
	require.NoError(t, err)
	assert.True(t, d.says("do not plug in:") && d.says("not safety tested"),
		"parted at its colon, beside a line that is wrapped: %s", d.words())

	slip := Slip{Tag: "AB00001K", Maker: "Meadowlark", Stage: "bench", Tested: "2026-03-02"}
	for range 30 {
		slip.Faults = append(slip.Faults, Fault{"tension", "loops below the cloth"})
	}
	f, err = slip.Face(s)
	require.NoError(t, err)
	d, err = Draw(f, stockNamed(t, "a4-3x7"), s, Device{})
	require.NoError(t, err)
	assert.Contains(t, d.words(), "… more in the record")
	assert.Contains(t, d.words(), "tension: loops below the cloth")
}

// Glue lifts old decals: every sticker that goes on a machine or base says so, itself or in the margin of its
// sheet. A tag that is tied on and a slip that lies beside need not.
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
	}{{"roll-62x29", true, false}, {"a4-1x2", true, false}, {"a4-3x7", false, true},
		{"roll-tag-80x40", false, false}, {"a4-tag-2x5", false, false}} {
		stock := stockNamed(t, row.stock)
		for name, f := range map[string]*Face{"machine": machine, "base": base, "slip": slip} {
			d, err := Draw(f, stock, s, Device{})
			require.NoError(t, err)
			assert.Equal(t, row.label && f != slip, strings.Contains(d.words(), notOnDecals), "%s on %s",
				name, row.stock)
			pages, err := Sheet(stock, []*Drawing{d}, SheetOptions{})
			require.NoError(t, err)
			assert.Equal(t, row.label && f != slip || row.page,
				strings.Contains(pages[0].words(), notOnDecals), "%s on a sheet of %s", name, row.stock)
		}
	}
}

// On a fault slip what is to be mended stands whole; that the machine has a maker and a place is left out for
// it.
func TestFaultsComeBeforeTheRest(t *testing.T) {
	s := Default()
	slip := Slip{Tag: "AB00001K", Maker: "Meadowlark", Serial: "T4712883", Stage: "bench",
		Since: "2026-03-02", Place: "Shelf 3", Tested: "2026-03-02", Faults: []Fault{
			{"needle-bar", "knocks at the lowest point, needle touches the plate"},
			{"tension", "loops below"},
			{"stitch-length", "3.2 mm where the dial says 2.5 mm"}}}
	for name, placed := range map[string]bool{"a4-3x7": false, "a4-2x4": true} {
		f, err := slip.Face(s)
		require.NoError(t, err)
		d, err := Draw(f, stockNamed(t, name), s, Device{})
		require.NoError(t, err)
		assert.Contains(t, d.words(),
			"needle-bar: knocks at the lowest point, needle touches the plate • tension: loops below • "+
				"stitch-length: 3.2 mm where the dial says 2.5 mm")
		assert.NotContains(t, d.words(), "…", name)
		assert.Equal(t, placed, strings.Contains(d.words(), "Shelf 3"), name)
	}
}

// says tells whether a text stands on one row.
func (d *Drawing) says(text string) bool {
	return slices.ContainsFunc(slices.Collect(d.steps()), func(o op) bool { return o.text == text })
}

// words are all that a drawing says.
func (d *Drawing) words() string {
	var all strings.Builder
	for o := range d.steps() {
		if o.text != "" && !o.joined && all.Len() > 0 {
			all.WriteByte(' ')
		}
		all.WriteString(o.text)
	}
	return all.String()
}
