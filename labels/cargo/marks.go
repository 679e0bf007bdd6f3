package cargo

import (
	"fmt"
	"math"
	"strings"

	"pitman/labels"
	"pitman/labels/colour"
)

// Mark is a handling mark, by the name that a house writes.
type Mark string

// The marks that crates of machines bear. Source: ISO 780, from memory of its pictures; they need no words,
// whatever is spoken on the way.
const (
	ThisWayUp  Mark = "this-way-up"
	Fragile    Mark = "fragile"
	KeepDry    Mark = "keep-dry"
	DoNotStack Mark = "do-not-stack"
)

// Marks are all of them, in the order in which they stand from the corner.
var Marks = []Mark{ThisWayUp, Fragile, KeepDry, DoNotStack}

// Validate refuses what is no mark.
func (m Mark) Validate() error {
	names := make([]string, len(Marks))
	for i, one := range Marks {
		if names[i] = string(one); one == m {
			return nil
		}
	}
	return fmt.Errorf("mark %q is not known: type %s", string(m), strings.Join(names, ", "))
}

// draw draws a mark as high as side, with its top left corner at x, y; a mark is as wide as it is high.
func (m Mark) draw(d *labels.Drawing, x, y, side float64) {
	pen := pen{d, x, y, side / 100}
	switch m {
	case ThisWayUp:
		for _, at := range []float64{12, 56} {
			pen.fill([2]float64{at + 16, 4}, [2]float64{at + 32, 32}, [2]float64{at + 22, 32},
				[2]float64{at + 22, 80}, [2]float64{at + 10, 80}, [2]float64{at + 10, 32}, [2]float64{at, 32})
		}
		pen.box(8, 88, 84, 8)
	case Fragile:
		bowl := [][2]float64{{24, 4}, {76, 4}}
		for i := range 13 { // the lower half of an ellipse
			t := float64(i) / 12 * math.Pi
			bowl = append(bowl, [2]float64{50 + 26*math.Cos(t), 20 + 34*math.Sin(t)})
		}
		pen.fill(bowl...)
		pen.box(46, 50, 8, 38)
		pen.box(28, 88, 44, 8)
	case KeepDry:
		pen.umbrella()
	case DoNotStack:
		pen.box(28, 58, 44, 38)
		pen.frame(28, 10, 44, 38, 5)
		pen.line(14, 4, 86, 54, 6)
		pen.line(86, 4, 14, 54, 6)
	}
}

// pen draws in hundredths of a mark.
type pen struct {
	d       *labels.Drawing
	x, y, k float64
}

func (p pen) fill(corners ...[2]float64) {
	for i, c := range corners {
		corners[i] = [2]float64{p.x + c[0]*p.k, p.y + c[1]*p.k}
	}
	p.d.Polygon(colour.Black, corners...)
}

func (p pen) box(x, y, w, h float64) { p.d.Box(colour.Black, p.x+x*p.k, p.y+y*p.k, w*p.k, h*p.k) }

func (p pen) frame(x, y, w, h, line float64) {
	p.d.Frame(colour.Black, p.x+x*p.k, p.y+y*p.k, w*p.k, h*p.k, line*p.k)
}

func (p pen) line(x1, y1, x2, y2, thick float64) {
	long := math.Hypot(x2-x1, y2-y1)
	dx, dy := (x2-x1)/long*thick/2, (y2-y1)/long*thick/2
	p.fill([2]float64{x1 - dy, y1 + dx}, [2]float64{x1 + dy, y1 - dx}, [2]float64{x2 + dy, y2 - dx},
		[2]float64{x2 - dy, y2 + dx})
}

// umbrella is an umbrella under falling drops.
func (p pen) umbrella() {
	for _, drop := range [][2]float64{{16, 4}, {36, 0}, {58, 0}, {80, 4}, {26, 16}, {70, 16}} {
		p.line(drop[0]+4, drop[1], drop[0], drop[1]+12, 4)
	}
	roof := [][2]float64{}
	for i := range 25 { // from the left edge over the top
		t := math.Pi - float64(i)/24*math.Pi
		roof = append(roof, [2]float64{50 + 42*math.Cos(t), 64 - 36*math.Sin(t)})
	}
	for _, middle := range []float64{78, 50, 22} { // back below, in three scallops
		for i := 1; i <= 8; i++ {
			t := float64(i) / 8 * math.Pi
			roof = append(roof, [2]float64{middle + 14*math.Cos(t), 64 - 7*math.Sin(t)})
		}
	}
	p.fill(roof...)
	p.box(47.5, 56, 5, 32)
	var handle [][2]float64
	for i := range 18 { // out along the bend, and back within it
		at, r := i, 10.0
		if i > 8 {
			at, r = 17-i, 5.0
		}
		t := math.Pi * float64(at) / 8
		handle = append(handle, [2]float64{42.5 + r*math.Cos(t), 88 + r*math.Sin(t)})
	}
	p.fill(handle...)
}
