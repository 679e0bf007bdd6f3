package labels

import (
	"fmt"
	"image"
	"image/color"
	"math"

	"golang.org/x/image/vector"

	"pitman/labels/colour"
)

// maxPixels bounds a picture's memory; an A4 page at 600 dpi has 35 million.
const maxPixels = 100e6

// shades are the steps between ink and ground along the edges of letters and slanting lines.
const shades = 15

// image draws on white at the device's dots. Colours and their mixtures along edges are few, so the picture
// has a palette: it is small, and in black and white one bit for each dot.
func (d *Drawing) image(on Device) (*image.Paletted, error) {
	scale := float64(on.DPI) / 25.4
	wide, high := math.Ceil(d.Width*scale-0.01), math.Ceil(d.Height*scale-0.01)
	if on.DPI < 1 || wide*high > maxPixels {
		return nil, fmt.Errorf("%d dots per inch is out of range for a picture of %.0f × %.0f mm: type 72 "+
			"to 600", on.DPI, d.Width, d.Height)
	}
	c := canvas{scale: scale, mono: on.Mono, mixed: make(map[[2]uint8]*[shades]uint8)}
	c.img = image.NewPaletted(image.Rect(0, 0, int(wide), int(high)), color.Palette{rgb(white)})
	if c.mono {
		c.img.Palette = append(c.img.Palette, rgb(black))
	}
	if !c.mono {
		for o := range d.steps() {
			c.index(o.colour) // before any mixture: a page of many colours may fill the palette
		}
	}
	for o := range d.steps() {
		c.fill(o.colour, o.outline())
	}
	return c.img, nil
}

func rgb(c Colour) color.RGBA { return color.RGBA{c.R, c.G, c.B, 255} }

// canvas is a picture in the making.
type canvas struct {
	img   *image.Paletted
	scale float64
	mono  bool
	// by ink and ground: the place in the palette of each shade between them, 0 where it is not known yet
	mixed map[[2]uint8]*[shades]uint8
	cover image.Alpha
	paint vector.Rasterizer
}

// fill paints a shape within its own bounds: a page has many small shapes.
func (c *canvas) fill(ink Colour, rings []ring) {
	if len(rings) == 0 {
		return
	}
	left, top, right, bottom := math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	for _, r := range rings {
		for _, p := range r {
			left, top = min(left, p.x), min(top, p.y)
			right, bottom = max(right, p.x), max(bottom, p.y)
		}
	}
	// Lengths in whole dots come out a hair beside them.
	const hair = 1e-3
	area := image.Rect(int(math.Floor(left*c.scale+hair)), int(math.Floor(top*c.scale+hair)),
		int(math.Ceil(right*c.scale-hair)), int(math.Ceil(bottom*c.scale-hair)))
	area = area.Intersect(c.img.Rect) // a stock table may round up past the edge of the page
	if area.Empty() {
		return
	}
	if n := area.Dx() * area.Dy(); cap(c.cover.Pix) < n {
		c.cover.Pix = make([]uint8, n)
	} else {
		c.cover.Pix = c.cover.Pix[:n]
		clear(c.cover.Pix)
	}
	c.cover.Stride, c.cover.Rect = area.Dx(), image.Rect(0, 0, area.Dx(), area.Dy())
	if upright(rings) {
		for _, r := range rings {
			c.coverBox(r, area.Min)
		}
		c.lay(ink, area)
		return
	}
	c.paint.Reset(area.Dx(), area.Dy())
	for _, r := range rings {
		for i, p := range r {
			x, y := float32(p.x*c.scale-float64(area.Min.X)), float32(p.y*c.scale-float64(area.Min.Y))
			if i == 0 {
				c.paint.MoveTo(x, y)
			} else {
				c.paint.LineTo(x, y)
			}
		}
		c.paint.ClosePath()
	}
	c.paint.Draw(&c.cover, c.cover.Rect, image.Opaque, image.Point{})
	c.lay(ink, area)
}

// upright says whether all rings are upright rectangles, as those of symbols, plates and frames are: of these
// is known without a search how far each covers a dot.
func upright(rings []ring) bool {
	for _, r := range rings {
		if len(r) != 4 || !(r[0].y == r[1].y && r[1].x == r[2].x && r[2].y == r[3].y && r[3].x == r[0].x) &&
			!(r[0].x == r[1].x && r[1].y == r[2].y && r[2].x == r[3].x && r[3].y == r[0].y) {
			return false
		}
	}
	return true
}

// coverBox adds a rectangle to what is covered, or takes it away where it is a hole, which runs the other way
// round. Rectangles that share a dot cover it together.
func (c *canvas) coverBox(r ring, origin image.Point) {
	hole := (r[1].x-r[0].x)*(r[2].y-r[1].y)-(r[1].y-r[0].y)*(r[2].x-r[1].x) < 0
	x1, x2 := c.within(r[0].x, r[2].x, origin.X, c.cover.Rect.Dx())
	y1, y2 := c.within(r[0].y, r[2].y, origin.Y, c.cover.Rect.Dy())
	for y := int(y1); float64(y) < y2; y++ {
		high := min(y2, float64(y+1)) - max(y1, float64(y))
		row := c.cover.Pix[y*c.cover.Stride:]
		for x := int(x1); float64(x) < x2; x++ {
			part := int(255*high*(min(x2, float64(x+1))-max(x1, float64(x))) + 0.5)
			if hole {
				part = -part
			}
			row[x] = uint8(min(max(int(row[x])+part, 0), 255))
		}
	}
}

// within gives two edges in dots, the lower one first, cut to a picture of so many dots.
func (c *canvas) within(a, b float64, origin, dots int) (low, high float64) {
	a, b = a*c.scale-float64(origin), b*c.scale-float64(origin)
	return max(min(a, b), 0), min(max(a, b), float64(dots))
}

// lay mixes the ink into what lies under it, as far as it covers each dot. In black and white a dot is ink
// once half of it is covered, and whatever is not white is black: colours have been replaced before.
func (c *canvas) lay(ink Colour, area image.Rectangle) {
	if c.mono {
		bit := uint8(0)
		if ink.Luminance() < 0.5 {
			bit = 1
		}
		for y := range area.Dy() {
			from := c.cover.Pix[y*area.Dx() : (y+1)*area.Dx()]
			to := c.img.Pix[c.img.PixOffset(area.Min.X, area.Min.Y+y):]
			for x, covered := range from {
				if covered >= 128 {
					to[x] = bit
				}
			}
		}
		return
	}
	solid := c.index(ink)
	var row *[shades]uint8
	ground := -1
	for y := range area.Dy() {
		from := c.cover.Pix[y*area.Dx() : (y+1)*area.Dx()]
		to := c.img.Pix[c.img.PixOffset(area.Min.X, area.Min.Y+y):]
		for x, covered := range from {
			if covered == 0 {
				continue
			}
			switch shade := (int(covered)*shades + 127) / 255; {
			case shade == shades:
				to[x] = solid
			case shade > 0 && to[x] != solid:
				if int(to[x]) != ground {
					ground = int(to[x])
					row = c.between(solid, to[x])
				}
				if row[shade] == 0 {
					row[shade] = c.mix(solid, to[x], shade)
				}
				to[x] = row[shade]
			}
		}
	}
}

// index is a colour's place in the palette. A palette that is full gives the nearest.
func (c *canvas) index(ink Colour) uint8 {
	want := rgb(ink)
	for i, known := range c.img.Palette {
		if known == color.Color(want) {
			return uint8(i)
		}
	}
	if len(c.img.Palette) < 256 {
		c.img.Palette = append(c.img.Palette, want)
		return uint8(len(c.img.Palette) - 1)
	}
	return uint8(c.img.Palette.Index(want))
}

func (c *canvas) between(ink, ground uint8) *[shades]uint8 {
	row := c.mixed[[2]uint8{ink, ground}]
	if row == nil {
		row = new([shades]uint8)
		c.mixed[[2]uint8{ink, ground}] = row
	}
	return row
}

func (c *canvas) mix(inkAt, groundAt uint8, shade int) uint8 {
	ink, ground := c.img.Palette[inkAt].(color.RGBA), c.img.Palette[groundAt].(color.RGBA)
	part := func(a, b uint8) uint8 {
		return uint8((int(a)*shade + int(b)*(shades-shade) + shades/2) / shades)
	}
	return c.index(colour.RGB(part(ink.R, ground.R), part(ink.G, ground.G), part(ink.B, ground.B)))
}
