// Package colour knows colours as people see them and as paper shows them: contrast, difference,
// colour-vision deficiencies, grey print, and what ink can make of a colour on white, brown or coloured
// paper.
package colour

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Colour is an sRGB colour of 8 bits a channel (IEC 61966-2-1), written #rrggbb.
type Colour struct{ R, G, B uint8 }

// RGB is a colour by its channels.
func RGB(r, g, b uint8) Colour { return Colour{r, g, b} }

// The two colours that every printer has.
var (
	Black = Colour{0, 0, 0}
	White = Colour{255, 255, 255}
)

// Parse reads #rrggbb, or #rgb for short; the # may be left out.
func Parse(s string) (Colour, error) {
	digits := strings.TrimPrefix(strings.TrimSpace(s), "#")
	if len(digits) == 3 {
		digits = string([]byte{digits[0], digits[0], digits[1], digits[1], digits[2], digits[2]})
	}
	n, err := strconv.ParseUint(digits, 16, 24)
	if err != nil || len(digits) != 6 {
		return Colour{},
			fmt.Errorf("colour %q is not a colour: type # and six hexadecimal digits, such as #b5532a", s)
	}
	return Colour{uint8(n >> 16), uint8(n >> 8), uint8(n)}, nil
}

func (c Colour) String() string { return fmt.Sprintf("#%02x%02x%02x", c.R, c.G, c.B) }

// MarshalText and UnmarshalText carry a colour through house.toml and JSON as #rrggbb.
func (c Colour) MarshalText() ([]byte, error) { return []byte(c.String()), nil }

// UnmarshalText reads what MarshalText writes.
func (c *Colour) UnmarshalText(text []byte) error {
	parsed, err := Parse(string(text))
	if err != nil {
		return err
	}
	*c = parsed
	return nil
}

// linear holds the three channels in linear light, 0 to 1.
type linear struct{ r, g, b float64 }

// toLinear undoes the sRGB transfer curve (IEC 61966-2-1, the constants WCAG 2.2 uses too), for each of the
// 256 levels.
var toLinear = func() (table [256]float64) {
	for i := range table {
		v := float64(i) / 255
		if v <= 0.04045 {
			table[i] = v / 12.92
		} else {
			table[i] = math.Pow((v+0.055)/1.055, 2.4)
		}
	}
	return table
}()

func (c Colour) linear() linear { return linear{toLinear[c.R], toLinear[c.G], toLinear[c.B]} }

func (l linear) colour() Colour {
	return Colour{fromLinear(l.r), fromLinear(l.g), fromLinear(l.b)}
}

func fromLinear(v float64) uint8 {
	if v <= 0.0031308 {
		v *= 12.92
	} else {
		v = 1.055*math.Pow(v, 1/2.4) - 0.055
	}
	return uint8(math.Round(v * 255))
}

func (l linear) luminance() float64 { return 0.2126*l.r + 0.7152*l.g + 0.0722*l.b }

// Luminance is WCAG 2.2's relative luminance: 0 for black, 1 for white.
func (c Colour) Luminance() float64 { return c.linear().luminance() }

// Lab is the colour in CIELAB.
func (c Colour) Lab() Lab { return c.linear().lab() }

// Contrast is the ratio of WCAG 2.2, success criterion 1.4.3: (L1 + 0.05) / (L2 + 0.05), from 1 (alike) to 21
// (black on white).
func Contrast(a, b Colour) float64 {
	hi, lo := a.linear().luminance(), b.linear().luminance()
	if hi < lo {
		hi, lo = lo, hi
	}
	return (hi + 0.05) / (lo + 0.05)
}

// InkFor returns black or white, whichever reads better. One of them always has a ratio of at least 4.58 =
// √21: the worst case is the luminance that stands equally far from both.
func InkFor(c Colour) Colour {
	if Contrast(Black, c) >= Contrast(White, c) {
		return Black
	}
	return White
}

// Lab is a colour in CIELAB 1976 under D65: lightness 0 to 100, and two opponent axes.
type Lab struct{ L, A, B float64 }

func (l linear) lab() Lab {
	// sRGB primaries to XYZ, IEC 61966-2-1. White is the sum of each row, so that grey has a = b = 0 exactly.
	x := (0.4124*l.r + 0.3576*l.g + 0.1805*l.b) / (0.4124 + 0.3576 + 0.1805)
	y := l.luminance()
	z := (0.0193*l.r + 0.1192*l.g + 0.9505*l.b) / (0.0193 + 0.1192 + 0.9505)
	fx, fy, fz := labCurve(x), labCurve(y), labCurve(z)
	return Lab{116*fy - 16, 500 * (fx - fy), 200 * (fy - fz)}
}

// labCurve is the cube root with a straight foot, CIE 15: δ = 6/29.
func labCurve(t float64) float64 {
	const delta = 6.0 / 29
	if t > delta*delta*delta {
		return math.Cbrt(t)
	}
	return t/(3*delta*delta) + 4.0/29
}

// Difference is the colour difference CIEDE2000 with kL = kC = kH = 1, after Sharma, Wu and Dalal, "The
// CIEDE2000 color-difference formula: implementation notes, supplementary test data, and mathematical
// observations", Color Research and Application 30 (2005), 21–30. The numbers in comments are that paper's
// equations.
func Difference(p, q Lab) float64 {
	const deg = math.Pi / 180
	meanC := (math.Hypot(p.A, p.B) + math.Hypot(q.A, q.B)) / 2
	g := 0.5 * (1 - math.Sqrt(pow7(meanC)/(pow7(meanC)+pow7(25)))) // (4)
	ap, aq := (1+g)*p.A, (1+g)*q.A                                 // (5)
	cp, cq := math.Hypot(ap, p.B), math.Hypot(aq, q.B)             // (6)
	hp, hq := hueAngle(ap, p.B), hueAngle(aq, q.B)                 // (7)

	// Where one colour has no hue, (11) is nought, and nothing that rests on a hue bears on the result: it
	// needs no case of its own.
	dL, dC := q.L-p.L, cq-cp                        // (8), (9)
	dh := math.Remainder(hq-hp, 360)                // (10)
	dH := 2 * math.Sqrt(cp*cq) * math.Sin(dh/2*deg) // (11)

	l, c := (p.L+q.L)/2, (cp+cq)/2 // (12), (13)
	h := (hp + hq) / 2             // (14): the hue half way along the shorter arc
	if math.Abs(hp-hq) > 180 {
		h = math.Mod(h+180, 360)
	}
	// (15)
	t := 1 - 0.17*math.Cos((h-30)*deg) + 0.24*math.Cos(2*h*deg) +
		0.32*math.Cos((3*h+6)*deg) - 0.20*math.Cos((4*h-63)*deg)
	// (16)
	turn := 30 * math.Exp(-((h-275)/25)*((h-275)/25))
	// (17)
	rc := 2 * math.Sqrt(pow7(c)/(pow7(c)+pow7(25)))
	// (18)
	sl := 1 + 0.015*(l-50)*(l-50)/math.Sqrt(20+(l-50)*(l-50))
	// (19)
	sc := 1 + 0.045*c
	// (20)
	sh := 1 + 0.015*c*t
	// (21)
	rt := -math.Sin(2*turn*deg) * rc
	vl, vc, vh := dL/sl, dC/sc, dH/sh
	return math.Sqrt(vl*vl + vc*vc + vh*vh + rt*vc*vh) // (22)
}

func pow7(v float64) float64 { return v * v * v * v * v * v * v }

// hueAngle is the hue in degrees, 0 to 360, and 0 for a colour without one.
func hueAngle(a, b float64) float64 {
	h := math.Atan2(b, a) * 180 / math.Pi
	if h < 0 {
		h += 360
	}
	return h
}
