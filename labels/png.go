package labels

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"io"
	"math"

	"golang.org/x/image/font"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"
	"golang.org/x/image/vector"
)

// WritePNG writes the drawing on white at a number of dots per inch, and says so in the file, so that it prints at its size.
func (d *Drawing) WritePNG(w io.Writer, dpi int) error {
	img, err := d.image(dpi)
	if err != nil {
		return err
	}
	var buf bytes.Buffer
	if err := png.Encode(&buf, img); err != nil {
		return fmt.Errorf("writing the PNG: %w", err)
	}
	// image/png writes no pHYs chunk (PNG specification, 11.3.5.3: pixels per metre); it goes right after the header's
	// 8 bytes of signature and 25 of IHDR.
	const header = 33
	perMetre := uint32(math.Round(float64(dpi) / 0.0254))
	chunk := append([]byte("pHYs"), 0, 0, 0, 0, 0, 0, 0, 0, 1)
	binary.BigEndian.PutUint32(chunk[4:], perMetre)
	binary.BigEndian.PutUint32(chunk[8:], perMetre)
	out := append([]byte(nil), buf.Bytes()[:header]...)
	out = binary.BigEndian.AppendUint32(out, uint32(len(chunk)-4))
	out = append(out, chunk...)
	out = binary.BigEndian.AppendUint32(out, crc32.ChecksumIEEE(chunk))
	out = append(out, buf.Bytes()[header:]...)
	if _, err := w.Write(out); err != nil {
		return fmt.Errorf("writing the PNG: %w", err)
	}
	return nil
}

// maxPixels bounds a picture's memory; an A4 page at 600 dpi has 35 million.
const maxPixels = 100e6

func (d *Drawing) image(dpi int) (*image.RGBA, error) {
	scale := float64(dpi) / 25.4
	wide, high := math.Ceil(d.Width*scale-0.01), math.Ceil(d.Height*scale-0.01)
	if dpi < 1 || wide*high > maxPixels {
		return nil, fmt.Errorf("%d dots per inch is out of range for a picture of %.0f × %.0f mm: type 72 to 600", dpi, d.Width, d.Height)
	}
	img := image.NewRGBA(image.Rect(0, 0, int(wide), int(high)))
	draw.Draw(img, img.Bounds(), image.White, image.Point{}, draw.Src)
	faces := make(map[faceKey]font.Face)
	for _, o := range d.ops {
		ink := image.NewUniform(color.RGBA{o.colour.R, o.colour.G, o.colour.B, 255})
		if o.text == "" {
			fillShape(img, ink, o.rings, scale)
			continue
		}
		key := faceKey{o.font, o.size}
		if faces[key] == nil {
			f, err := opentype.NewFace(o.font.font, &opentype.FaceOptions{Size: o.size * scale, DPI: 72, Hinting: font.HintingNone})
			if err != nil {
				return nil, fmt.Errorf("drawing text: %w", err)
			}
			faces[key] = f
		}
		pen := font.Drawer{Dst: img, Src: ink, Face: faces[key], Dot: fixed.Point26_6{X: sixtyFourths(o.x * scale), Y: sixtyFourths(o.y * scale)}}
		pen.DrawString(o.text)
	}
	return img, nil
}

type faceKey struct {
	font *typeface
	size float64
}

func sixtyFourths(v float64) fixed.Int26_6 { return fixed.Int26_6(math.Round(v * 64)) }

// fillShape paints only within the shape's own bounds: a page has many small shapes.
func fillShape(img *image.RGBA, ink image.Image, rings []ring, scale float64) {
	left, top, right, bottom := math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	for _, r := range rings {
		for _, p := range r {
			left, top = min(left, p.x), min(top, p.y)
			right, bottom = max(right, p.x), max(bottom, p.y)
		}
	}
	area := image.Rect(int(math.Floor(left*scale)), int(math.Floor(top*scale)), int(math.Ceil(right*scale)), int(math.Ceil(bottom*scale)))
	area = area.Intersect(img.Bounds()) // a stock table may round up past the edge of the page
	if area.Empty() {
		return
	}
	raster := vector.NewRasterizer(area.Dx(), area.Dy())
	for _, r := range rings {
		for i, p := range r {
			x, y := float32(p.x*scale-float64(area.Min.X)), float32(p.y*scale-float64(area.Min.Y))
			if i == 0 {
				raster.MoveTo(x, y)
			} else {
				raster.LineTo(x, y)
			}
		}
		raster.ClosePath()
	}
	raster.Draw(img, area, ink, image.Point{})
}
