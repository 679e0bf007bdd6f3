package labels

import (
	"fmt"
	"image"
	"image/color"
	"math/rand/v2"
	"testing"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"
	"github.com/stretchr/testify/require"
)

// sample is an everyday machine of an invented maker.
func sample(i int) Machine {
	return Machine{Tag: fmt.Sprintf("AB%05dK", i), Maker: "Meadowlark", Model: "Brisk 44", Serial: "T4712883",
		Year:  "1921–1925",
		Drive: Drives[i%3], Mains: i%3 == 2, Tested: Test{"2026-03-02", "QX"}}
}

// longest has every text at the longest a house may enter, in one of three scripts.
func longest(rnd *rand.Rand) Machine {
	alphabet := [][]rune{[]rune("WMQ ABCXYZwmé"), []rune("ΩΨΜΞωψμ ξΗΠ"), []rune("ШЩЖЮФшщжюф Ы")}[rnd.IntN(3)]
	text := func(n int) string {
		out := make([]rune, n)
		for i := range out {
			out[i] = alphabet[rnd.IntN(len(alphabet))]
		}
		out[0], out[n-1] = alphabet[0], alphabet[0]
		return string(out)
	}
	m := sample(rnd.IntN(100000))
	m.Maker, m.Model, m.Serial, m.Year = text(60), text(60), text(40), "year unknown"
	if m.Mains && rnd.IntN(2) == 0 {
		m.Safety = Test{"2026-03-01", "ABCD"}
	}
	return m
}

func stockNamed(t testing.TB, name string) Stock {
	s, err := FindStock(DefaultStock(), name)
	require.NoError(t, err)
	return s
}

func drawn(t testing.TB, m Machine, stock Stock, s *Scheme) *Drawing {
	f, err := m.Face(s)
	require.NoError(t, err)
	d, err := Draw(f, stock, s, Device{})
	require.NoError(t, err)
	return d
}

// pixels are a picture's grey levels, row by row.
func pixels(img image.Image) (out []uint8) {
	b := img.Bounds()
	for y := b.Min.Y; y < b.Max.Y; y++ {
		for x := b.Min.X; x < b.Max.X; x++ {
			out = append(out, color.GrayModel.Convert(img.At(x, y)).(color.Gray).Y)
		}
	}
	return out
}

// readQR reads one symbol with a reader that shares no code with what drew it.
func readQR(img image.Image) (string, error) {
	bitmap, err := gozxing.NewBinaryBitmapFromImage(img)
	if err != nil {
		return "", err
	}
	result, err := qrcode.NewQRCodeReader().Decode(bitmap,
		map[gozxing.DecodeHintType]any{gozxing.DecodeHintType_TRY_HARDER: true})
	if err != nil {
		return "", err
	}
	return result.GetText(), nil
}

func (b box) overlaps(o box) bool {
	const touch = 1e-6
	return b.x < o.x+o.w-touch && o.x < b.x+b.w-touch && b.y < o.y+o.h-touch && o.y < b.y+b.h-touch
}

func (b box) holds(o box) bool {
	const touch = 1e-6
	return o.x >= b.x-touch && o.y >= b.y-touch && o.x+o.w <= b.x+b.w+touch && o.y+o.h <= b.y+b.h+touch
}
