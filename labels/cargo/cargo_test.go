package cargo

import (
	"bytes"
	"image/png"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/labels"
)

var sample = Crate{Order: "ORD1", Number: 2, Of: 11, To: "Saltmarsh training centre",
	Address: []string{"12 Dyke Road", "Estmark"}, From: "Lantern Row", Net: "37.5 kg", Gross: "59.5 kg",
	Heavy: true, Tags: []string{"PM17X", "PM4Z"},
	Holds: []string{"PM17X · head Harrow & Finch", "PM4Z · base"},
	Marks: Marks}

// Every stock either holds all that the carrier needs, or is refused with a sentence; no mark is below its
// least size and nothing leaves the label.
func TestCrateLabelsOnEveryStock(t *testing.T) {
	fits := 0
	long := sample
	long.To, long.Address = "Κέντρο εκπαίδευσης Северный жаворонок",
		[]string{strings.Repeat("Ế Ộ Ữ ằ Wäsche ", 5)}
	for i, stock := range append(labels.DefaultStock(), labels.DefaultStock()...) {
		c := sample
		if i >= len(labels.DefaultStock()) {
			c = long
		}
		d, err := c.Draw(stock, labels.Default(), stock.Device())
		if err != nil {
			assert.Regexp(t, "too small|has a hole", err.Error(), stock.Name)
			continue
		}
		fits++
		var svg bytes.Buffer
		require.NoError(t, d.WriteSVG(&svg))
		placed(t, d, stock.Name)
		assert.Equal(t, [2]float64{stock.LabelWidth, stock.LabelHeight}, [2]float64{d.Width, d.Height},
			stock.Name)
	}
	assert.Greater(t, fits, 4)
}

// placed asserts that no text is cut, below 6 pt or on another.
func placed(t *testing.T, d *labels.Drawing, where string) {
	t.Helper()
	texts := slices.Collect(d.Texts())
	for i, o := range texts {
		assert.True(t, o.X >= 1 && o.Y >= 1 && o.X+o.Width <= d.Width-1 && o.Y+o.Height <= d.Height-1,
			"%s: %v", where, o)
		assert.GreaterOrEqual(t, o.Size, 6*25.4/72, "%s: %q", where, o.Text)
		for _, other := range texts[:i] {
			assert.False(t, o.X < other.X+other.Width && other.X < o.X+o.Width && o.Y < other.Y+
				other.Height &&
				other.Y < o.Y+o.Height, "%s: %q on %q", where, o.Text, other.Text)
		}
	}
}

// A weight that nobody knows is no light crate.
func TestACrateOfUnknownWeightIsLiftedByTwo(t *testing.T) {
	c := sample
	c.Net, c.Gross = "", ""
	f, err := c.face(labels.Default())
	require.NoError(t, err)
	assert.Equal(t, "weight not known: two people lift", f.Lines[0].Text)
	assert.True(t, f.Lines[0].Caution)
	assert.Contains(t, f.Lines[3].Text, "net not known · gross not known")
	assert.Equal(t, "PM17X", f.Payload)
	c.Marks = []Mark{"this-way-down"}
	_, err = c.Draw(labels.DefaultStock()[9], labels.Default(), labels.Device{})
	assert.EqualError(t, err,
		`mark "this-way-down" is not known: type this-way-up, fragile, keep-dry, do-not-stack`)
}

// Each mark draws its own picture within its square, at any size (by the dots that are black).
func TestMarksStandInTheirSquares(t *testing.T) {
	seen := map[string]Mark{}
	for _, m := range Marks {
		d := &labels.Drawing{Width: 30, Height: 30}
		m.draw(d, 5, 5, 20)
		var out bytes.Buffer
		require.NoError(t, d.WritePNG(&out, labels.Device{DPI: 203, Mono: true}))
		img, err := png.Decode(&out)
		require.NoError(t, err)
		var dots strings.Builder
		for y := range img.Bounds().Dy() {
			for x := range img.Bounds().Dx() {
				r, _, _, _ := img.At(x, y).RGBA()
				if r == 0 {
					dots.WriteByte('#')
					mm := func(at int) float64 { return float64(at) * 25.4 / 203 }
					assert.True(t, mm(x) > 4.8 && mm(x) < 25.2 && mm(y) > 4.8 && mm(y) < 25.2, "%s at %d, %d",
						m, x, y)
				} else {
					dots.WriteByte('.')
				}
			}
		}
		assert.Greater(t, strings.Count(dots.String(), "#"), 2000, m)
		assert.Empty(t, seen[dots.String()], m)
		seen[dots.String()] = m
	}
}

// Cards come four on a sheet in any script that this computer has a font for; one that cannot hold its care
// in letters that can be read is refused by its tag.
func TestCardsHoldTheirCare(t *testing.T) {
	card := Card{Tag: "PM17X", Name: "Harrow & Finch", From: "Lantern Row · ORD1",
		Cautions: []string{"Take the needle out first."},
		Care: []Care{{"oil", strings.Repeat("One drop where metal turns in metal. ", 8)},
			{"ремень", "Не туго."}}}
	pages, err := Cards([]Card{card, card, card, card, card})
	require.NoError(t, err)
	require.Len(t, pages, 2)
	placed(t, pages[0], "cards")
	var pdf bytes.Buffer
	require.NoError(t, labels.WritePDF(&pdf, "cards", time.Time{}, pages...))
	card.Care[0].Text = strings.Repeat(card.Care[0].Text, 20)
	_, err = Cards([]Card{card})
	assert.ErrorContains(t, err, "PM17X: its care does not fit on a card")
	card.Care[0].Text = "\U0010fffd"
	_, err = Cards([]Card{card})
	assert.ErrorContains(t, err, "no font of this computer draws")
}
