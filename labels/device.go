package labels

import "math"

// Device is what a label is drawn for. The zero value is a printer of any fineness that prints colours.
type Device struct {
	DPI  int  // its dots per inch: symbols, bands and patterns stand on whole dots; 0 where it is not known
	Mono bool // it prints black or nothing, as thermal printers do: patterns and words tell bands apart
}

// whole rounds a length down to whole dots.
func (v Device) whole(mm float64) float64 {
	if v.DPI == 0 {
		return mm
	}
	return math.Floor(mm*float64(v.DPI)/25.4+1e-6) * 25.4 / float64(v.DPI)
}

// near rounds a length to the nearest whole dot, and to one at least.
func (v Device) near(mm float64) float64 {
	if v.DPI == 0 {
		return mm
	}
	return max(math.Round(mm*float64(v.DPI)/25.4), 1) * 25.4 / float64(v.DPI)
}

// onDots moves a box to whole dots within itself.
func (v Device) onDots(b box) box {
	x, y := v.up(b.x), v.up(b.y)
	return box{x, y, v.whole(b.x + b.w - x), v.whole(b.y + b.h - y)}
}

func (v Device) up(mm float64) float64 {
	if v.DPI == 0 {
		return mm
	}
	return math.Ceil(mm*float64(v.DPI)/25.4-1e-6) * 25.4 / float64(v.DPI)
}

// scheme is what the device makes of the house's scheme.
func (v Device) scheme(s *Scheme) *Scheme {
	if !v.Mono {
		return s
	}
	plain := *s
	plain.Text, plain.Paper = black, white
	return &plain
}

// band is what the device makes of a band: without colours it is a pattern and a word in black.
func (v Device) band(b Band) Band {
	if v.Mono {
		b.Colour, b.Ink = white, black
	}
	return b
}
