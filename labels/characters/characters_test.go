package characters

import (
	"image"
	"image/color"
	"strings"
	"testing"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"
	"github.com/rivo/uniseg"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/labels"
)

var sample = labels.Machine{Tag: "AB00002K", Maker: "Meadowlark", Year: "1921–1925", Drive: "electric", Mains: true}

// The terminal's characters are painted and read with an independent reader.
func TestTextLabelCanBeScanned(t *testing.T) {
	for _, base := range []string{"", "HTTPS://SHED.EXAMPLE/MACHINES/"} {
		for _, o := range []Options{{}, {Paper: true}, {ASCII: true}, {ASCII: true, Paper: true}} {
			s := labels.Default()
			s.BaseURL = base
			f, err := sample.Face(s)
			require.NoError(t, err)
			text, err := Text(f, s, o)
			require.NoError(t, err)
			for _, line := range strings.Split(text, "\n") {
				assert.LessOrEqual(t, uniseg.StringWidth(line), 80, "columns of a usual terminal")
			}
			assert.Contains(t, text, "AB00002K")
			assert.Contains(t, text, "[ELECTRIC]")
			assert.Contains(t, text, "! do not plug in: not safety tested")
			if o.ASCII {
				assert.Regexp(t, `^[\n -~]*$`, text)
			}
			code, err := f.Symbol(s)
			require.NoError(t, err)
			seen, err := gozxing.NewBinaryBitmapFromImage(paint(draw(code, o), o))
			require.NoError(t, err)
			got, err := qrcode.NewQRCodeReader().Decode(seen, nil)
			require.NoError(t, err, "%+v\n%s", o, text)
			assert.Equal(t, base+"AB00002K", got.GetText())
		}
	}
}

// paint draws characters as a terminal shows them, on its own background.
func paint(rows []string, o Options) image.Image {
	const dot = 4
	wide, high := 2, 2 // of a character, in half modules
	if o.ASCII {
		wide, high = 1, 2
	}
	ground, ink := color.Gray{0}, color.Gray{255}
	if o.Paper {
		ground, ink = ink, ground
	}
	columns := uniseg.StringWidth(rows[0])
	rowHigh := 2 * high
	if o.ASCII {
		rowHigh = high
	}
	img := image.NewGray(image.Rect(0, 0, columns*wide*dot, len(rows)*rowHigh*dot))
	fill := func(x, y, w, h int, c color.Gray) {
		for j := y * dot; j < (y+h)*dot; j++ {
			for i := x * dot; i < (x+w)*dot; i++ {
				img.SetGray(i, j, c)
			}
		}
	}
	for r, row := range rows {
		for c, char := range []rune(row) {
			upper, lower := ground, ground
			switch char {
			case '█', '#':
				upper, lower = ink, ink
			case '▀':
				upper = ink
			case '▄':
				lower = ink
			}
			fill(c*wide, r*rowHigh, wide, rowHigh/2, upper)
			fill(c*wide, r*rowHigh+rowHigh/2, wide, rowHigh/2, lower)
		}
	}
	return img
}

func TestTextWrapsLongFields(t *testing.T) {
	s := labels.Default()
	for n := range 50 {
		m := sample
		m.Model, m.Serial = strings.Repeat("W", n), strings.Repeat("8 ", n)+strings.Repeat("8", n)
		m.Maker = strings.Repeat("縫", 60) // two columns each; a terminal may well have it
		f, err := m.Face(s)
		require.NoError(t, err)
		text, err := Text(f, s, Options{})
		require.NoError(t, err)
		for _, line := range strings.Split(text, "\n") {
			assert.LessOrEqual(t, uniseg.StringWidth(line), 80, "columns of a usual terminal")
		}
	}
}

func TestTextLeavesOutASymbolThatIsTooWide(t *testing.T) {
	s := labels.Default()
	s.BaseURL = "HTTPS://SHED.EXAMPLE/" + strings.Repeat("X", 200) + "/"
	f, err := sample.Face(s)
	require.NoError(t, err)
	text, err := Text(f, s, Options{ASCII: true})
	require.NoError(t, err)
	assert.True(t, strings.HasPrefix(text, "AB00002K\n[ELECTRIC]\n"), text)
}
