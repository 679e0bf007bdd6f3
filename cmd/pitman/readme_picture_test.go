package main

import (
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// checkPicture compares the picture in README.md with the label and the slip that the demo house prints
// there, or with -update writes it.
func checkPicture(t *testing.T, file string) {
	play(t, "pitman --house demo-house label LR2G -o tag.png --stock a4-tag-2x5 --dpi 130 --outline --by NW")
	play(t, "pitman --house demo-house label LR2G -o slip.png --slip --stock a4-3x7 --dpi 130 --outline "+
		"--by NW")
	tag, slip := readPNG(t, "tag.png"), readPNG(t, "slip.png")
	const gap = 16
	height := tag.Bounds().Dy() + 2*gap
	page := image.NewRGBA(image.Rect(0, 0, tag.Bounds().Dx()+slip.Bounds().Dx()+4*gap, height))
	draw.Draw(page, page.Bounds(), image.White, image.Point{}, draw.Src)
	x := gap
	for _, one := range []image.Image{tag, slip} {
		at := image.Pt(x, (height-one.Bounds().Dy())/2)
		draw.Draw(page, one.Bounds().Add(at), one, image.Point{}, draw.Src)
		x += one.Bounds().Dx() + 2*gap
	}
	if *update {
		out, err := os.Create(file)
		require.NoError(t, err)
		require.NoError(t, png.Encode(out, page))
		require.NoError(t, out.Close())
	}
	kept := readPNG(t, file)
	require.Equal(t, page.Bounds(), kept.Bounds(),
		"the picture has changed: look at it, then run the test with -update")
	worst := 0
	for y := range page.Bounds().Dy() {
		for x := range page.Bounds().Dx() {
			a, b := color.NRGBAModel.Convert(page.At(x, y)).(color.NRGBA),
				color.NRGBAModel.Convert(kept.At(x, y)).(color.NRGBA)
			for _, d := range []int{int(a.R) - int(b.R), int(a.G) - int(b.G), int(a.B) - int(b.B)} {
				worst = max(worst, d, -d)
			}
		}
	}
	// Processors round the edges of letters differently.
	assert.Less(t, worst, 24, "the picture has changed: look at it, then run the test with -update")
}

func readPNG(t *testing.T, file string) image.Image {
	in, err := os.Open(file)
	require.NoError(t, err)
	defer in.Close()
	picture, err := png.Decode(in)
	require.NoError(t, err)
	return picture
}
