package main

import (
	"image"
	"image/color"
	"image/draw"
	"net"
	"path/filepath"
	"testing"
	"time"
	"unicode/utf8"

	"pitman/registry/phone"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The symbol on the desk is drawn as a terminal draws it, black on white amid a dark screen, and read again
// by a reader that did not make it. It leaves room for the rest of a page in a window of 80 by 24.
func TestTheSymbolOfAPairingReads(t *testing.T) {
	for _, at := range []string{"http://127.0.0.1:8421", "https://192.168.178.123:8421"} {
		c := pairedCode{By: "QX", Code: "7KQ2-M4TX", URL: at + "/pair#7KQ2-M4TX"}
		rows := c.rows()
		assert.LessOrEqual(t, len(rows), 18, "lines that a page has there")
		const dot, around = 6, 60
		wide := utf8.RuneCountInString(rows[0])
		screen := image.NewGray(image.Rect(0, 0, wide*dot+2*around, 2*len(rows)*dot+2*around))
		block := func(x, y int, on bool) {
			shade := color.Gray{255}
			if on {
				shade.Y = 0
			}
			draw.Draw(screen, image.Rect(x*dot, y*dot, (x+1)*dot, (y+1)*dot).Add(image.Pt(around, around)),
				image.NewUniform(shade), image.Point{}, draw.Src)
		}
		for y, row := range rows {
			for x, r := range []rune(row) {
				block(x, 2*y, r == '█' || r == '▀')
				block(x, 2*y+1, r == '█' || r == '▄')
			}
		}
		bits, err := gozxing.NewBinaryBitmapFromImage(screen)
		require.NoError(t, err)
		read, err := qrcode.NewQRCodeReader().Decode(bits, nil)
		require.NoError(t, err)
		assert.Equal(t, c.URL, read.GetText())
		assert.Equal(t, at+"/pair", c.page())
	}
}

// A program that was killed leaves its note behind; a code for it would lead a phone nowhere.
func TestNoCodeLeadsNowhere(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	s := phone.In(t.TempDir(), time.Now)
	require.NoError(t, noteServing(s.Dir, filepath.Join(s.Dir, servingFile), "http://"+l.Addr().String()))
	_, err = pairWith(s, "QX")
	require.NoError(t, err)
	require.NoError(t, l.Close())
	_, err = pairWith(s, "QX")
	assert.ErrorContains(t, err, "no pages are served now")
}
