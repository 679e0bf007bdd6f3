package series

import (
	"pitman/serials/stamp"
	"pitman/serials/years"
)

// mass adds what the tables make of the fillings, under bounds that hold for certain.
func (s *Series) Weigh(m *years.Mass, d stamp.Digits, limits years.Span, spread *years.Spread, maker string) {
	first, _ := d.Ends()
	s.Each(d, func(i int, hits uint64) {
		g := &s.Segments[i]
		spans := g.Spans(s.Starts[i])
		weights := s.weights(spans, max(s.Starts[i], first))
		for k, one := range spans {
			left, ok := one.Meet(limits)
			if !ok {
				continue
			}
			wide := g.wide(one, s.Starts[i])
			if len(wide) == 0 {
				part := 1.0
				if one.From != 0 && one.To != 0 { // evidence leaves only some of its years
					part = float64(left.To-left.From+1) / float64(one.To-one.From+1)
				}
				m.Even(int(left.From), int(left.To), part*float64(hits)*weights[k])
				continue
			}
			for _, r := range wide {
				kernel := func(bin int) []float64 {
					return spread.Kernel(r.row().Width, bin, r.curve != nil, maker)
				}
				r.weigh(m, d, s.Starts[i], s.end(i), one, limits, kernel, weights[k]/float64(len(wide)))
			}
		}
	})
}

// weights says how likely each of several statements about a number is beside the others: by the confidence
// of the surest row that makes it. A row without one counts as sure.
func (s *Series) weights(spans []years.Span, n uint64) []float64 {
	out := make([]float64, len(spans))
	sum := 0.0
	var places []int
	if len(spans) > 1 {
		places, _ = s.Holding(n)
	}
	for k, one := range spans {
		for _, i := range places {
			if s.Cells[i].YearsOf(n) != one {
				continue
			}
			sure := s.Rows[i].Confidence
			if sure == 0 {
				sure = 1
			}
			out[k] = max(out[k], sure)
		}
		if out[k] == 0 {
			out[k] = 1
		}
		sum += out[k]
	}
	for k := range out {
		out[k] /= sum
	}
	return out
}

// wide is the runs that give several years, of which these remain, and tell where in them a number lies.
func (g *Segment) wide(remain years.Span, n uint64) (out []*Run) {
	if g.Basis != years.Interpolated && g.Basis != years.Overlap {
		return nil
	}
	for _, r := range g.Runs {
		if !r.Open && r.from != r.to && (g.Basis == years.Interpolated || r.YearsOf(n) == remain) {
			out = append(out, r)
		}
	}
	return out
}

// mass adds a run's fillings between two numbers: by the place of each, within the years that its source and
// others leave.
func (r *Run) weigh(m *years.Mass, d stamp.Digits, low, high uint64, remain, limits years.Span,
	kernelOf func(bin int) []float64, weight float64) {
	row := r.row()
	first, last := d.Ends()
	low, high = max(low, first), min(high, last, r.Last)
	for bin := row.Bin(low); bin <= row.Bin(high); bin++ {
		hits := d.In(max(low, row.Edge(bin)), min(high, row.Edge(bin+1)-1))
		if hits == 0 {
			continue
		}
		kernel := kernelOf(bin)
		all := 0.0
		for y := remain.From; y <= remain.To; y++ {
			all += kernel[y-r.from]
		}
		for y := max(remain.From, limits.From); y <= remain.To && (limits.To == 0 || y <= limits.To); y++ {
			m.Add(int(y), weight*float64(hits)*kernel[y-r.from]/all)
		}
	}
}
