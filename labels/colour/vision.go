package colour

// Vision is a way of seeing a colour: with usual sight, with one of three deficiencies, or printed in grey.
type Vision string

// The ways of seeing that a scheme is checked in.
const (
	Normal Vision = "normal"
	Protan Vision = "protan"
	Deutan Vision = "deutan"
	Tritan Vision = "tritan"
	Grey   Vision = "grey"
)

// Visions are the ways of seeing in the order of Views.
var Visions = []Vision{Normal, Protan, Deutan, Tritan, Grey}

// Seen says in words who or what sees so.
func (v Vision) Seen() string {
	switch v {
	case Protan:
		return "for someone who sees no red (protan)"
	case Deutan:
		return "for someone who sees no green (deutan)"
	case Tritan:
		return "for someone who sees no blue (tritan)"
	case Grey:
		return "in grey print"
	default:
		return "with usual sight"
	}
}

// Simulation matrices on linear RGB at severity 1.0: Machado, Oliveira and Fernandes, "A
// physiologically-based model for simulation of color vision deficiency", IEEE Transactions on Visualization
// and Computer Graphics 15 (2009), 1291–1298, table of matrices. Each row sums to 1, so that greys stay grey,
// as in the paper.
var machado = map[Vision][3][3]float64{
	Protan: {{0.152286, 1.052583, -0.204868}, {0.114503, 0.786281, 0.099216},
		{-0.003882, -0.048116, 1.051998}},
	Deutan: {{0.367322, 0.860646, -0.227968}, {0.280085, 0.672501, 0.047413},
		{-0.011820, 0.042940, 0.968881}},
	Tritan: {{1.255528, -0.076749, -0.178779}, {-0.078411, 0.930809, 0.147602},
		{0.004733, 0.691367, 0.303900}},
}

// view returns the light that v makes of l.
func (v Vision) view(l linear) linear {
	if v == Grey {
		y := l.luminance()
		return linear{y, y, y}
	}
	m, ok := machado[v]
	if !ok {
		return l
	}
	row := func(i int) float64 { return min(max(m[i][0]*l.r+m[i][1]*l.g+m[i][2]*l.b, 0), 1) }
	return linear{row(0), row(1), row(2)}
}

// See returns the colour as v sees it.
func (v Vision) See(c Colour) Colour { return v.view(c.linear()).colour() }

// Views are a colour's five appearances in CIELAB, in the order of Visions; they are compared often, so they
// are kept.
type Views [5]Lab

// ViewsOf works out how a colour is seen.
func ViewsOf(c Colour) (out Views) {
	l := c.linear()
	for i, v := range Visions {
		out[i] = v.view(l).lab()
	}
	return out
}

// Apart is the smallest difference over all five ways of seeing.
func (p *Views) Apart(q *Views) float64 { return min(p.ApartInColour(q), Difference(p[4], q[4])) }

// ApartInColour is the smallest difference over the four ways of seeing colour, without grey print.
func (p *Views) ApartInColour(q *Views) float64 {
	least := Difference(p[0], q[0])
	for i := 1; i < 4; i++ {
		least = min(least, Difference(p[i], q[i]))
	}
	return least
}
