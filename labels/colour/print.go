package colour

import "math"

// What ink makes of a colour on white paper is bounded by its solid inks and their overprints: cyan, magenta,
// yellow, and red, green and blue from two of them each, in CIELAB on coated paper after ISO 12647-2:2004/Amd
// 1:2007 (from memory). Office printers differ by a few units; none prints a glowing cyan or green.
var solids = []Lab{{54, -36, -49}, {46, 72, -5}, {87, -6, 90}, {46, 67, 47}, {49, -66, 24}, {24, 16, -45}}

var (
	solidPaper = Lab{93, 0, -3} // the sheet that those are measured on
	solidBlack = Lab{16, 0, 0}
)

// gamut is the solid between paper, black and the inks: halftones mix the light of what they cover
// (Neugebauer 1937), so every print lies within the hull of these eight, here as planes in linear light with
// the inside below.
var gamut = hull(append(relative(solids), linear{0, 0, 0}, linear{1, 1, 1}))

// relative brings measured colours to a scale on which the paper is white and the blackest ink black, as eyes
// do.
func relative(measured []Lab) (out []linear) {
	white, dark := solidPaper.xyz(), solidBlack.xyz()
	for _, m := range measured {
		v := m.xyz()
		for i := range v {
			v[i] = (v[i] - dark[i]) / (white[i] - dark[i])
		}
		out = append(out, fromXYZ(v))
	}
	return out
}

// xyz undoes CIELAB, relative to its white.
func (c Lab) xyz() [3]float64 {
	fy := (c.L + 16) / 116
	back := func(f float64) float64 {
		const delta = 6.0 / 29
		if f > delta {
			return f * f * f
		}
		return 3 * delta * delta * (f - 4.0/29)
	}
	return [3]float64{back(fy + c.A/500), back(fy), back(fy - c.B/200)}
}

// fromXYZ brings XYZ relative to white into linear sRGB: the inverse of the matrix of IEC 61966-2-1.
func fromXYZ(v [3]float64) linear {
	x, y, z := v[0]*0.9505, v[1], v[2]*1.0890
	return linear{3.2406*x - 1.5372*y - 0.4986*z, -0.9689*x + 1.8758*y + 0.0415*z, 0.0557*x - 0.2040*y +
		1.0570*z}
}

type plane struct{ r, g, b, most float64 }

// hull finds the planes through three of the points that have all others on one side.
func hull(points []linear) (planes []plane) {
	for i, p := range points {
		for j, q := range points[:i] {
			for _, s := range points[:j] {
				u, v := linear{q.r - p.r, q.g - p.g, q.b - p.b}, linear{s.r - p.r, s.g - p.g, s.b - p.b}
				n := plane{r: u.g*v.b - u.b*v.g, g: u.b*v.r - u.r*v.b, b: u.r*v.g - u.g*v.r}
				n.most = n.at(p)
				above, below := false, false
				for _, o := range points {
					above = above || n.at(o) > n.most+1e-9
					below = below || n.at(o) < n.most-1e-9
				}
				switch {
				case !above:
					planes = append(planes, n)
				case !below:
					planes = append(planes, plane{-n.r, -n.g, -n.b, -n.most})
				}
			}
		}
	}
	return planes
}

func (n plane) at(l linear) float64 { return n.r*l.r + n.g*l.g + n.b*l.b }

func (l linear) printable() bool {
	const slack = 1e-3 // of a colour's light: less than one step of 8 bits
	for _, n := range gamut {
		if n.at(l) > n.most+slack {
			return false
		}
	}
	return true
}

// Printable says whether ink can make the colour on white paper.
func (c Colour) Printable() bool { return c.linear().printable() }

// On is the colour as ink shows it on paper: no livelier than ink can be, and through ink one sees the paper,
// so each holds back its own share of the light.
func (c Colour) On(paper Colour) Colour {
	l := c.linear()
	if !l.printable() {
		// Towards middle grey, as far as it takes: what a printer's driver does, roughly.
		const y = 0.184 // of lightness 50
		in, out := 0.0, 1.0
		for range 20 {
			t := (in + out) / 2
			if (linear{y + t*(l.r-y), y + t*(l.g-y), y + t*(l.b-y)}).printable() {
				in = t
			} else {
				out = t
			}
		}
		in *= 0.98 // clear of rounding
		l = linear{y + in*(l.r-y), y + in*(l.g-y), y + in*(l.b-y)}
	}
	p := paper.linear()
	clamp := func(v float64) float64 { return math.Min(math.Max(v, 0), 1) }
	return linear{clamp(l.r * p.r), clamp(l.g * p.g), clamp(l.b * p.b)}.colour()
}
