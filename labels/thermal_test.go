package labels

import (
	"bytes"
	"encoding/binary"
	"encoding/hex"
	"image"
	"image/color"
	"image/png"
	"io"
	"math/rand/v2"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// unpack makes a picture of rows of bits.
func unpack(rows []byte, across, high int) *image.Gray {
	img := image.NewGray(image.Rect(0, 0, across*8, high))
	for y := range high {
		for x := range across * 8 {
			if rows[y*across+x/8]>>(7-x%8)&1 == 0 {
				img.SetGray(x, y, color.Gray{255})
			}
		}
	}
	return img
}

// readESCPOS reads rasters as the format's description has them: ESC @, then GS v 0 m xL xH yL yH and x·y
// bytes, and FF after each label.
func readESCPOS(t *testing.T, data []byte) (pages []*image.Gray) {
	require.True(t, bytes.HasPrefix(data, []byte{0x1b, 0x40}))
	data = data[2:]
	var rows []byte
	across, high := 0, 0
	for len(data) > 0 {
		if data[0] == 0x0c {
			pages = append(pages, unpack(rows, across, high))
			rows, high, data = nil, 0, data[1:]
			continue
		}
		require.Equal(t, []byte{0x1d, 'v', '0', 0}, data[:4])
		x, y := int(binary.LittleEndian.Uint16(data[4:])), int(binary.LittleEndian.Uint16(data[6:]))
		rows, across, high = append(rows, data[8:8+x*y]...), x, high+y
		data = data[8+x*y:]
	}
	return pages
}

var zplLabel = regexp.MustCompile(`^\^XA\^PW(\d+)\^LL(\d+)\^LH0,0\^FO0,0\^GFA,(\d+),(\d+),(\d+),([0-9A-F]+)\^FS\^XZ\n$`)

func readZPL(t *testing.T, text string) (pages []*image.Gray) {
	for label := range strings.Lines(text) {
		m := zplLabel.FindStringSubmatch(label)
		require.NotNil(t, m, label[:60])
		number := func(i int) int { n, err := strconv.Atoi(m[i]); require.NoError(t, err); return n }
		rows, err := hex.DecodeString(m[6])
		require.NoError(t, err)
		require.Equal(t, []int{len(rows), len(rows), (number(1) + 7) / 8},
			[]int{number(3), number(4), number(5)})
		require.Equal(t, len(rows), number(2)*number(5))
		pages = append(pages, unpack(rows, number(5), number(2)))
	}
	return pages
}

// What goes to a label printer is the picture itself, dot for dot, and reads.
func TestLabelPrinterFormats(t *testing.T) {
	s, stock := Default(), stockNamed(t, "roll-62x100")
	on := stock.Device()
	var each []*Drawing
	for i := range 3 {
		each = append(each, drawn(t, sample(i), stock, s))
	}
	var pos, zpl bytes.Buffer
	require.NoError(t, WriteESCPOS(&pos, on, each...))
	require.NoError(t, WriteZPL(&zpl, on, each...))
	for name, pages := range map[string][]*image.Gray{"ESC/POS": readESCPOS(t, pos.Bytes()),
		"ZPL": readZPL(t, zpl.String())} {
		require.Len(t, pages, 3, name)
		for i, page := range pages {
			want, err := each[i].image(on)
			require.NoError(t, err)
			require.Equal(t, image.Pt((want.Rect.Dx()+7)/8*8, want.Rect.Dy()), page.Rect.Size())
			assert.Zero(t, worstDifference(want, page.SubImage(want.Rect)), name)
			got, err := readQR(page)
			require.NoError(t, err, name)
			assert.Equal(t, sample(i).Tag, got)
		}
	}
	assert.Error(t, WriteZPL(io.Discard, Device{}, each...), "a printer's dots must be known")
}

// On a thermal printer each dot is black or nothing. Word and pattern of every band are read back from such a
// picture, by looking for the word's own dots and by comparing a tile of the pattern with each pattern there
// is.
func TestBandsReadBackFromBlackAndWhite(t *testing.T) {
	for _, dpi := range []int{203, 300} {
		for _, name := range []string{"roll-62x29", "roll-102x51", "roll-tag-51x102"} {
			s, stock := Default(), stockNamed(t, name)
			on := Device{DPI: dpi, Mono: true}
			for _, key := range Drives {
				m := sample(1)
				m.Drive = key
				checkBand(t, s, stock, on, m, s.Drive[key])
			}
			for _, key := range Stages {
				checkBand(t, s, stock, on, Slip{Tag: "AB00001K", Maker: "Meadowlark", Stage: key},
					s.Stage[key])
			}
		}
	}
}

func checkBand(t *testing.T, s *Scheme, stock Stock, on Device,
	kind interface{ Face(*Scheme) (*Face, error) }, band Band) {
	t.Helper()
	f, err := kind.Face(s)
	require.NoError(t, err)
	d, err := Draw(f, stock, s, on)
	require.NoError(t, err)
	var out bytes.Buffer
	require.NoError(t, d.WritePNG(&out, on))
	assert.Equal(t, byte(1), out.Bytes()[24], "bit depth, the ninth byte of IHDR (PNG specification, 11.2.2)")
	img, err := png.Decode(&out)
	require.NoError(t, err)
	black := func(x, y int) bool { r, _, _, _ := img.At(x, y).RGBA(); return r == 0 }
	// Where the band is: the last frame of two rings.
	var at box
	var word op
	for o := range d.steps() {
		if o.text == "" && len(o.outline()) == 2 {
			at = o.bounds()
		}
		if o.text == band.Word {
			word = o
		}
	}
	require.NotZero(t, at.w)
	k := float64(on.DPI) / 25.4
	dots := func(mm float64) int { return int(mm*k + 0.5) }
	for _, edge := range []float64{at.x, at.y, at.w, at.h} {
		assert.InDelta(t, float64(dots(edge)), edge*k, 0.01, "%s: the band's edges are whole dots",
			stock.Name)
	}
	// The word: its own letters, drawn alone, lie there dot for dot.
	alone := &Drawing{Width: d.Width, Height: d.Height, ops: []op{word}}
	want, err := alone.image(on)
	require.NoError(t, err)
	ink := word.bounds()
	inked := 0
	for y := dots(ink.y) - 1; y < dots(ink.y+ink.h)+1; y++ {
		for x := dots(ink.x) - 1; x < dots(ink.x+ink.w)+1; x++ {
			if want.ColorIndexAt(x, y) == 1 {
				inked++
			}
			require.Equal(t, want.ColorIndexAt(x, y) == 1, black(x, y), "%s %s: the word at %d, %d",
				stock.Name, band.Word, x, y)
		}
	}
	require.Greater(t, inked, 50, band.Word)
	// The pattern: a tile from the middle of what is beside the word is nearest to the band's own.
	_, side := on.tiles(at.h)
	n := dots(side)
	right, top := dots(at.x+at.w), dots(at.y)
	seen := make(tile, n)
	for y := range n {
		for x := range n {
			// The second tile from the right, in the lower row but for its last dots, which the frame takes.
			if black(right-2*n+x, top+min(n+y, dots(at.h)-3)) {
				seen[y] |= 1 << x
			}
		}
	}
	var found Pattern
	least := 2.0
	for _, p := range patterns {
		if apart := slideApart(seen, tileOf(t, p.name, side, n, on)); apart < least {
			least, found = apart, p.name
		}
	}
	assert.Equal(t, band.Pattern, found, "%s %s at %d dpi", stock.Name, band.Word, on.DPI)
}

func tileOf(t *testing.T, p Pattern, side float64, n int, on Device) tile {
	d := &Drawing{Width: 3 * side, Height: 3 * side}
	d.fill(black, p.rings(box{0, 0, 3 * side, 3 * side}, side)...)
	img, err := d.image(on)
	require.NoError(t, err)
	out := make(tile, n)
	for y := range out {
		for x := range n {
			if img.ColorIndexAt(n+x, n+y) == 1 {
				out[y] |= 1 << x
			}
		}
	}
	return out
}

// Each module of a symbol is a square of whole dots, of one size, so that no printer rounds some up and some
// down.
func TestModulesStandOnDots(t *testing.T) {
	s := Default()
	rnd := rand.New(rand.NewPCG(3, 4))
	for _, stock := range DefaultStock() {
		for _, dpi := range []int{203, 300} {
			m := sample(rnd.IntN(1000))
			m.Mains = false
			f, err := m.Face(s)
			require.NoError(t, err)
			d, err := Draw(f, stock, s, Device{DPI: dpi, Mono: true})
			require.NoError(t, err)
			k := float64(dpi) / 25.4
			for o := range d.steps() {
				// the first run of a symbol is a finder's edge
				if o.text != "" || len(o.outline()) < 60 || o.outline()[0].wide() < 3.9 {
					continue
				}
				module := o.outline()[0].high() * k
				assert.InDelta(t, float64(int(module+0.5)), module, 0.001, stock.Name)
				assert.GreaterOrEqual(t, module, 2.999, stock.Name)
				for _, r := range o.outline() {
					x := r[0].x * k
					assert.InDelta(t, float64(int(x+0.5)), x, 0.01, stock.Name)
				}
				break
			}
		}
	}
}

func (r ring) wide() float64 { return (op{shape: outlines{r}, size: 1}).bounds().w }
func (r ring) high() float64 { return (op{shape: outlines{r}, size: 1}).bounds().h }
