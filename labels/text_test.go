package labels

import (
	"image"
	"image/color"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/rivo/uniseg"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The terminal's characters are painted and read with an independent reader.
func TestTextLabelCanBeScanned(t *testing.T) {
	for _, base := range []string{"", "HTTPS://SHED.EXAMPLE/MACHINES/"} {
		for _, o := range []TextOptions{{}, {Paper: true}, {ASCII: true}, {ASCII: true, Paper: true}} {
			s := Default()
			s.BaseURL = base
			f, err := sample(2).Face(s)
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
			code, err := encode(f.Payload, s.QRLevel)
			require.NoError(t, err)
			got, err := readQR(paint(code.text(o), o))
			require.NoError(t, err, "%+v\n%s", o, text)
			assert.Equal(t, base+"AB00002K", got)
		}
	}
}

// paint draws characters as a terminal shows them, on its own background.
func paint(rows []string, o TextOptions) image.Image {
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
	s := Default()
	rnd := rand.New(rand.NewPCG(13, 14))
	for range 50 {
		m := longest(rnd)
		m.Maker = strings.Repeat("縫", 60) // two columns each; a terminal may well have it
		f, err := m.Face(s)
		require.NoError(t, err)
		text, err := Text(f, s, TextOptions{})
		require.NoError(t, err)
		for _, line := range strings.Split(text, "\n") {
			assert.LessOrEqual(t, uniseg.StringWidth(line), 80, "columns of a usual terminal")
		}
	}
}

func TestTextLeavesOutASymbolThatIsTooWide(t *testing.T) {
	s := Default()
	s.BaseURL = "HTTPS://SHED.EXAMPLE/" + strings.Repeat("X", 200) + "/"
	f, err := sample(1).Face(s)
	require.NoError(t, err)
	text, err := Text(f, s, TextOptions{ASCII: true})
	require.NoError(t, err)
	assert.True(t, strings.HasPrefix(text, "AB00001K\n[TREADLE]\n"), text)
}
