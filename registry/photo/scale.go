package photo

import (
	"image"
	"image/color"
	"image/draw"
)

// shrink makes a picture at most so many dots long, by the mean of the dots that fall together; a smaller one
// keeps its dots. What can be seen through becomes white. It goes through a large picture strip by strip, so
// that it needs little memory beside the picture itself.
func shrink(src image.Image, most int) *image.RGBA {
	b := src.Bounds()
	w, h := b.Dx(), b.Dy()
	dw, dh := w, h
	if long := max(w, h); long > most {
		dw, dh = max(1, w*most/long), max(1, h*most/long)
	}
	dst := image.NewRGBA(image.Rect(0, 0, dw, dh))
	for y := range dh {
		from, to := y*h/dh, (y+1)*h/dh
		strip := image.NewRGBA(image.Rect(0, 0, w, to-from))
		draw.Draw(strip, strip.Bounds(), image.White, image.Point{}, draw.Src)
		draw.Draw(strip, strip.Bounds(), src, image.Pt(b.Min.X, b.Min.Y+from), draw.Over)
		for x := range dw {
			dst.SetRGBA(x, y, mean(strip, x*w/dw, (x+1)*w/dw))
		}
	}
	return dst
}

// mean is the mean colour of some columns of a strip, in full height.
func mean(strip *image.RGBA, from, to int) color.RGBA {
	var r, g, b, n uint32
	for y := range strip.Rect.Dy() {
		row := strip.Pix[y*strip.Stride+4*from : y*strip.Stride+4*to]
		for i := 0; i+3 < len(row); i += 4 {
			r, g, b, n = r+uint32(row[i]), g+uint32(row[i+1]), b+uint32(row[i+2]), n+1
		}
	}
	half := n / 2
	return color.RGBA{uint8((r + half) / n), uint8((g + half) / n), uint8((b + half) / n), 255}
}

// upright turns and mirrors a picture as its orientation says, by the table of the Exif standard (CIPA
// DC-008, tag 0x0112): which side of what was seen the first row and the first column of the file show.
func upright(src *image.RGBA, orientation int) *image.RGBA {
	w, h := src.Rect.Dx(), src.Rect.Dy()
	if orientation < 2 || orientation > 8 {
		return src
	}
	dw, dh := w, h
	if orientation >= 5 {
		dw, dh = h, w
	}
	dst := image.NewRGBA(image.Rect(0, 0, dw, dh))
	for y := range h {
		for x := range w {
			dx, dy := x, y
			switch orientation {
			case 2: // top, right
				dx = w - 1 - x
			case 3: // bottom, right
				dx, dy = w-1-x, h-1-y
			case 4: // bottom, left
				dy = h - 1 - y
			case 5: // left, top
				dx, dy = y, x
			case 6: // right, top
				dx, dy = h-1-y, x
			case 7: // right, bottom
				dx, dy = h-1-y, w-1-x
			case 8: // left, bottom
				dx, dy = y, w-1-x
			}
			copy(dst.Pix[dst.PixOffset(dx, dy):dst.PixOffset(dx, dy)+4],
				src.Pix[src.PixOffset(x, y):src.PixOffset(x, y)+4])
		}
	}
	return dst
}
