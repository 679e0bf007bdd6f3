package serials

import (
	"strconv"
	"sync"

	"pitman/serials/years"
)

// How the years of a number are weighed. Hard bounds say which years remain; the mass says how likely each of
// them is.

// published is what the spread of readings is learnt from: the starter tables, as far as they say a maker's
// output year by year. Left out are Grover & Baker's 1860 to 1865, whose printed counts are almost equal, by
// estimate.
var published = sync.OnceValue(func() *years.Spread {
	t, err := LoadFS(Starters())
	if err != nil {
		panic(err) // the folder is embedded
	}
	return years.NewSpread(outputs(t))
})

// outputs takes from the tables the stretches of single years whose numbers adjoin.
func outputs(t *Tables) (out []years.Output) {
	for _, name := range t.names {
		m := t.maker(name)
		for _, s := range m.order {
			var one years.Output
			end := func() {
				if len(one.First) > 2 {
					out = append(out, one)
				}
			}
			for i, r := range s.rows {
				if !r.Last.Known || r.From != r.To {
					continue
				}
				if i == 0 || len(one.First) == 0 || one.First[len(one.First)-1] != r.First || one.From+
					len(one.First)-1 != int(r.From) {
					end()
					one = years.Output{Maker: m.key, From: int(r.From), First: []uint64{r.First},
						Skip: estimated(m.key)}
				}
				one.First = append(one.First, r.Last.N+1)
			}
			end()
		}
	}
	return out
}

func estimated(maker string) func(year int) bool {
	if maker != MakerKey("Grover & Baker") {
		return nil
	}
	return func(year int) bool { return 1860 <= year && year <= 1865 }
}

// mass adds what the tables make of the fillings, under bounds that hold for certain.
func (s *series) mass(m *years.Mass, d digits, limits span, maker string) {
	s.each(d, func(i int, hits uint64) {
		g := &s.segments[i]
		spans := g.spans(s.starts[i])
		for _, one := range spans {
			left, ok := one.meet(limits)
			if !ok {
				continue
			}
			wide := g.wide(one, s.starts[i])
			if len(wide) == 0 {
				part := 1.0
				if one.from != 0 && one.to != 0 { // evidence leaves only some of its years
					part = float64(left.to-left.from+1) / float64(one.to-one.from+1)
				}
				m.Even(int(left.from), int(left.to), part*float64(hits)/float64(len(spans)))
				continue
			}
			for _, r := range wide {
				r.mass(m, d, s.starts[i], s.end(i), one, limits, maker, 1/float64(len(spans)*len(wide)))
			}
		}
	})
}

// wide is the runs that give several years, of which these remain, and tell where in them a number lies.
func (g *segment) wide(remain span, n uint64) (out []*run) {
	if g.Basis != Interpolated && g.Basis != Overlap {
		return nil
	}
	for _, r := range g.runs {
		if !r.open && r.from != r.to && (g.Basis == Interpolated || r.says(n) == remain) {
			out = append(out, r)
		}
	}
	return out
}

// mass adds a run's fillings between two numbers: by the place of each, within the years that its source and
// others leave.
func (r *run) mass(m *years.Mass, d digits, low, high uint64, remain, limits span, maker string,
	weight float64) {
	row := r.row()
	first, last := d.ends()
	low, high = max(low, first), min(high, last, r.last)
	for bin := row.Bin(low); bin <= row.Bin(high); bin++ {
		hits := d.in(max(low, row.Edge(bin)), min(high, row.Edge(bin+1)-1))
		if hits == 0 {
			continue
		}
		kernel := published().Kernel(row.Width, bin, r.curve != nil, maker)
		all := 0.0
		for y := remain.from; y <= remain.to; y++ {
			all += kernel[y-r.from]
		}
		for y := max(remain.from, limits.from); y <= remain.to && (limits.to == 0 || y <= limits.to); y++ {
			m.Add(int(y), weight*float64(hits)*kernel[y-r.from]/all)
		}
	}
}

// distribute says how likely each year is, what the years together leave outside, and where the middle 80 %
// lie. Hard bounds have been settled before; nothing here moves them.
func (a *Answer) distribute(m *maker, serial string, limits span) {
	var mass years.Mass
	switch {
	case a.Contradicted:
	case len(a.spans) == 0: // no row answered
		mass.Even(int(a.From), int(a.To), 1)
	case !worn(serial):
		d := digits{s: strconv.FormatUint(a.Number.N, 10)}
		m.series[a.Prefix].mass(&mass, d, limits, m.key)
	default:
		for _, s := range m.order {
			if d, ok := fit(serial, s); ok {
				s.mass(&mass, d, limits, m.key)
			}
		}
	}
	a.hint(&mass, limits)
	if !mass.Norm() {
		mass.Undecidable = 1
	}
	a.Outside = mass.Outside()
	from, to := mass.Interval(0.8)
	a.Interval80 = [2]Year{Year(from), Year(to)}
	for i, p := range mass.Year {
		if p > 0 {
			a.Years = append(a.Years, Chance{Year(i + years.First), p})
		}
	}
	a.likely(&mass)
	if a.Outside < 0.5 {
		a.Likely = Year(mass.Median())
	}
}

// nearEnough is how many years an 80 % interval may span for its middle to be said as a year; common
// practice, no source.
const nearEnough = 15

// likely says the middle year where clues, and not hard bounds, tell when a machine was made.
func (a *Answer) likely(mass *years.Mass) {
	from, to := a.Interval80[0], a.Interval80[1]
	if len(a.clues) == 0 || a.Contradicted || a.Basis == Interpolated || a.From != 0 && a.From == a.To ||
		from == 0 || to == 0 || to-from >= nearEnough {
		return
	}
	a.Best, a.About = Year(mass.Median()), true
	if a.Basis == NoBasis {
		a.Basis = Evidence
	}
}
