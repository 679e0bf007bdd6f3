package labels

import (
	"image"
	"image/color"
)

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
