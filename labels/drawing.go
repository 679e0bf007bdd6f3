package labels

import (
	"iter"

	"pitman/labels/letters"
)

// A Drawing is a finished picture in millimetres, origin at the top left, x to the right and y down: a list
// of filled shapes and runs of text, in the order in which they are painted. Writers only replay it.
type Drawing struct {
	Width, Height float64
	ops           []op
}

// op is one step of a drawing: a filled shape, a run of text when text is set, or a whole drawing that is
// placed on it.
type op struct {
	colour Colour
	joined bool    // to the text before it: a tag's check character
	size   float64 // in mm: of the text, the height of its em square; of a shape, the unit of its lengths
	x, y   float64 // start of the text's baseline, or the origin of the shape
	shape  shape   // filled by the non-zero rule: a hole runs the other way round
	text   string
	font   *letters.Face
	line   *letters.Line
	whole  *Drawing
}

// shape is worked out into outlines each time it is drawn: those of a symbol take fifty times its room, and a
// batch has thousands of symbols.
type shape interface{ rings() []ring }

// outlines are a shape that is worked out already.
type outlines []ring

func (o outlines) rings() []ring { return o }

type point struct{ x, y float64 }

// ring is a closed outline.
type ring []point

// box is an upright rectangle.
type box struct{ x, y, w, h float64 }

func (b box) inset(d float64) box { return box{b.x + d, b.y + d, b.w - 2*d, b.h - 2*d} }

func (b box) ring() ring {
	return ring{{b.x, b.y}, {b.x + b.w, b.y}, {b.x + b.w, b.y + b.h}, {b.x, b.y + b.h}}
}

// frame returns the rings of a line of the given width just inside b.
func (b box) frame(width float64) []ring {
	in := b.inset(width).ring()
	in[1], in[3] = in[3], in[1]
	return []ring{b.ring(), in}
}

func (d *Drawing) fill(c Colour, rings ...ring) {
	if len(rings) > 0 {
		d.draw(c, 0, 0, 1, outlines(rings))
	}
}

// draw fills a shape that has its origin at x, y and its lengths in units of so many mm.
func (d *Drawing) draw(c Colour, x, y, unit float64, s shape) {
	d.ops = append(d.ops, op{colour: c, shape: s, x: x, y: y, size: unit})
}

// write puts text with its baseline starting at x, y. The text must have gone through letters.Clean.
func (d *Drawing) write(c Colour, f *letters.Face, size, x, y float64, text string) {
	if text != "" {
		d.ops = append(d.ops, op{colour: c, font: f, size: size, line: f.Set(text), x: x, y: y, text: text})
	}
}

// Write puts black text on a sheet that is laid out elsewhere. A text that cannot be drawn is refused.
func (d *Drawing) Write(f *letters.Face, size, x, y float64, text string) error {
	text = letters.Clean(text)
	d.write(black, f, size, x, y, text)
	return drawable(text, f)
}

// Box fills an upright rectangle on a sheet that is laid out elsewhere.
func (d *Drawing) Box(c Colour, x, y, w, h float64) { d.fill(c, box{x, y, w, h}.ring()) }

// Frame draws the outline of a rectangle, of a line just inside it.
func (d *Drawing) Frame(c Colour, x, y, w, h, line float64) {
	d.fill(c, box{x, y, w, h}.frame(line)...)
}

// Polygon fills an outline on a sheet that is laid out elsewhere.
func (d *Drawing) Polygon(c Colour, corners ...[2]float64) {
	r := make(ring, len(corners))
	for i, p := range corners {
		r[i] = point{p[0], p[1]}
	}
	d.fill(c, r)
}

// Place paints other on d with its top left corner at x, y.
func (d *Drawing) Place(other *Drawing, x, y float64) {
	d.ops = append(d.ops, op{whole: other, x: x, y: y})
}

// steps gives out each shape and text, those of the drawings that are placed on this one in their place.
func (d *Drawing) steps() iter.Seq[op] {
	return func(yield func(op) bool) {
		for _, o := range d.ops {
			if o.whole == nil {
				if !yield(o) {
					return
				}
				continue
			}
			for step := range o.whole.steps() {
				step.x, step.y = o.x+step.x, o.y+step.y
				if !yield(step) {
					return
				}
			}
		}
	}
}

// outline is a step's shape; text becomes that of its letters.
func (o op) outline() []ring {
	if o.text == "" {
		return moveBy(o.shape.rings(), o.size, o.x, o.y)
	}
	var out []ring
	o.line.Outline(o.x, o.y, o.size, func(n int, at func(int) letters.Point) {
		r := make(ring, n)
		for i := range r {
			p := at(i)
			r[i] = point{p.X, p.Y}
		}
		out = append(out, r)
	})
	return out
}

// Text is a run of text as it stands on a drawing, with the box of its ink, in mm.
type Text struct {
	Text                string
	Size                float64
	X, Y, Width, Height float64
}

// Texts gives out what is written on a drawing, for whoever checks where it stands.
func (d *Drawing) Texts() iter.Seq[Text] {
	return func(yield func(Text) bool) {
		for o := range d.steps() {
			if o.text == "" {
				continue
			}
			b := o.bounds()
			if !yield(Text{o.text, o.size, b.x, b.y, b.w, b.h}) {
				return
			}
		}
	}
}

// bounds is the upright box around a step's ink.
func (o op) bounds() box {
	rings := o.outline()
	b := box{rings[0][0].x, rings[0][0].y, 0, 0}
	for _, r := range rings {
		for _, p := range r {
			right, bottom := max(b.x+b.w, p.x), max(b.y+b.h, p.y)
			b.x, b.y = min(b.x, p.x), min(b.y, p.y)
			b.w, b.h = right-b.x, bottom-b.y
		}
	}
	return b
}

// moveBy copies rings to another place, in mm; all their points stand in one piece of memory, since a sheet
// has tens of thousands.
func moveBy(rings []ring, unit, x, y float64) []ring {
	if unit == 1 && x == 0 && y == 0 {
		return rings
	}
	count := 0
	for _, r := range rings {
		count += len(r)
	}
	points, moved := make(ring, 0, count), make([]ring, len(rings))
	for i, r := range rings {
		start := len(points)
		for _, p := range r {
			points = append(points, point{p.x*unit + x, p.y*unit + y})
		}
		moved[i] = points[start:len(points):len(points)]
	}
	return moved
}

// clip cuts a convex or concave outline to b (Sutherland and Hodgman 1974): one edge of b after the other.
func (b box) clip(r ring) ring {
	left, right, above, below := true, true, true, true // all of r lies there
	within := true
	for _, p := range r {
		left, right = left && p.x <= b.x, right && p.x >= b.x+b.w
		above, below = above && p.y <= b.y, below && p.y >= b.y+b.h
		within = within && p.x >= b.x && p.x <= b.x+b.w && p.y >= b.y && p.y <= b.y+b.h
	}
	if within {
		return r
	}
	if left || right || above || below {
		return nil
	}
	edges := [4]struct {
		inside func(point) bool
		cross  func(p, q point) point
	}{
		{func(p point) bool { return p.x >= b.x }, func(p, q point) point { return atX(p, q, b.x) }},
		{func(p point) bool { return p.x <= b.x+b.w }, func(p, q point) point { return atX(p, q, b.x+b.w) }},
		{func(p point) bool { return p.y >= b.y }, func(p, q point) point { return atY(p, q, b.y) }},
		{func(p point) bool { return p.y <= b.y+b.h }, func(p, q point) point { return atY(p, q, b.y+b.h) }},
	}
	for _, e := range edges {
		var out ring
		for i, p := range r {
			prev := r[(i+len(r)-1)%len(r)]
			if e.inside(p) != e.inside(prev) {
				out = append(out, e.cross(prev, p))
			}
			if e.inside(p) {
				out = append(out, p)
			}
		}
		r = out
	}
	return r
}

func atX(p, q point, x float64) point { return point{x, p.y + (q.y-p.y)*(x-p.x)/(q.x-p.x)} }
func atY(p, q point, y float64) point { return point{p.x + (q.x-p.x)*(y-p.y)/(q.y-p.y), y} }
