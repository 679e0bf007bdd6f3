package serials

import (
	"strconv"
	"sync"

	"pitman/serials/clues"
	"pitman/serials/names"
	"pitman/serials/stamp"
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
	return years.NewSpread(t.Outputs())
})

// Outputs takes from the tables the stretches of single years whose numbers adjoin.
func (t *Tables) Outputs() (out []years.Output) {
	for _, name := range t.names {
		m := t.maker(name)
		for _, s := range m.order {
			var one years.Output
			end := func() {
				if len(one.First) > 2 {
					out = append(out, one)
				}
			}
			for i, r := range s.Rows {
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
	if maker != names.MakerKey("Grover & Baker") {
		return nil
	}
	return func(year int) bool { return 1860 <= year && year <= 1865 }
}

// distribute says how likely each year is, what the years together leave outside, and where the middle 80 %
// lie. Hard bounds have been settled before; nothing here moves them.
func (a *Answer) distribute(m *maker, serial string, limits years.Span) {
	var mass years.Mass
	switch {
	case a.Contradicted:
	case len(a.spans) == 0: // no row answered
		mass.Even(int(a.From), int(a.To), 1)
	case !stamp.Worn(serial):
		d := stamp.Digits{Text: strconv.FormatUint(a.Number.N, 10)}
		m.series[a.Prefix].Weigh(&mass, d, limits, published(), m.key)
	default:
		for _, s := range m.order {
			if d, ok := s.Fit(serial); ok {
				s.Weigh(&mass, d, limits, published(), m.key)
			}
		}
	}
	clues.Weigh(&mass, a.clues, limits, years.Span{From: a.From, To: a.To})
	if !mass.Norm() {
		mass.Undecidable = 1
	}
	a.Outside = mass.Outside()
	from, to := mass.Interval(0.8)
	a.Interval80 = [2]years.Year{years.Year(from), years.Year(to)}
	for i, p := range mass.Year {
		if p > 0 {
			a.Years = append(a.Years, Chance{years.Year(i + years.First), p})
		}
	}
	a.likely(&mass)
	if a.Outside < 0.5 {
		a.Likely = years.Year(mass.Median())
	}
}

// maxLikelyYears is how many years an 80 % interval may span for its middle to be said as a year; common
// practice, no source.
const maxLikelyYears = 15

// likely says the middle year where clues, and not hard bounds, tell when a machine was made.
func (a *Answer) likely(mass *years.Mass) {
	from, to := a.Interval80[0], a.Interval80[1]
	if len(a.clues) == 0 || a.Contradicted || a.Basis == years.Interpolated || a.From != 0 &&
		a.From == a.To ||
		from == 0 || to == 0 || to-from >= maxLikelyYears {
		return
	}
	a.Best, a.About = years.Year(mass.Median()), true
	if a.Basis == years.NoBasis {
		a.Basis = years.Evidence
	}
}
