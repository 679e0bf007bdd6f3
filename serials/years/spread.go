package years

import (
	"math"
	"sync"
)

// Bins is how finely a year is parted when a number's place in a row is taken: a number is as good as its
// quarter.
const Bins = 4

// Output is what a maker stamped, as a published table says it year by year without a gap: First[i] is the
// first number of the year From+i, and the last entry is one past the last number.
type Output struct {
	Maker string
	From  int
	First []uint64
	// years that are no evidence, such as those whose figures were estimated evenly; may be nil
	Skip func(year int) bool
}

// Spread tells how far readings within a row of several years lie from the truth of a table. It learns that
// from published tables of single years: their rows are joined to rows of as many years as the one in
// question, read, and compared with what is printed. A maker's own table is left out when it is that maker's
// number that is read.
type Spread struct {
	outputs []Output
	mu      sync.Mutex
	fits    map[fitKey][]score
	scales  map[scaleKey]float64
	kernels map[kernelKey][]float64
}

type fitKey struct {
	width  int
	curved bool
}

type scaleKey struct {
	fitKey
	without string
}

type kernelKey struct {
	width, bin int
	scale      float64
}

// score is what one maker's readings say of each scale in the grid.
type score struct {
	maker string
	log   [grid]float64
}

const (
	grid     = 30   // scales that are tried, from gridStep upward
	gridStep = 0.02 // of the row's width
	// published tables are too short to join more years than this; wider rows are taken to scale
	widest = 10
	floor  = 0.1  // years by which a reading may be off even beside the ends of its row
	even   = 0.05 // share that is spread evenly, so that no year of the row is ever ruled out by likelihood
)

// NewSpread learns from these tables, when first asked.
func NewSpread(outputs []Output) *Spread {
	return &Spread{outputs: outputs, fits: map[fitKey][]score{}, scales: map[scaleKey]float64{},
		kernels: map[kernelKey][]float64{}}
}

// Kernel is the probability of each year of a row of that width for a number that lies in the given bin of
// it. The slice is shared.
func (s *Spread) Kernel(width, bin int, curved bool, without string) []float64 {
	s.mu.Lock()
	defer s.mu.Unlock()
	key := kernelKey{width, bin, s.scale(fitKey{min(width, widest), curved}, without)}
	k, ok := s.kernels[key]
	if !ok {
		k = kernel((float64(bin)+0.5)/Bins, width, key.scale)
		s.kernels[key] = k
	}
	return k
}

// kernel is a two-sided exponential round the place of the reading, cut off at the ends of the row. Output
// between two known counts can stray most halfway between them, as a bridge can, so the scale is largest
// there.
func kernel(at float64, width int, scale float64) []float64 {
	u := at / float64(width)
	s := floor + scale*float64(width)*math.Sqrt(u*(1-u))
	below := func(v float64) float64 {
		if v < at {
			return math.Exp((v-at)/s) / 2
		}
		return 1 - math.Exp((at-v)/s)/2
	}
	all := below(float64(width)) - below(0)
	out := make([]float64, width)
	for y := range out {
		out[y] = even/float64(width) + (1-even)*(below(float64(y+1))-below(float64(y)))/all
	}
	return out
}

// scale is the one under which the other makers' readings are likeliest.
func (s *Spread) scale(key fitKey, without string) float64 {
	if best, ok := s.scales[scaleKey{key, without}]; ok {
		return best
	}
	fit, ok := s.fits[key]
	if !ok {
		for _, o := range s.outputs {
			fit = append(fit, score{o.Maker, o.readings(key)})
		}
		s.fits[key] = fit
	}
	var sum [grid]float64
	for _, one := range fit {
		if one.maker == without {
			continue
		}
		for i, l := range one.log {
			sum[i] += l
		}
	}
	best := 0
	for i := range sum {
		if sum[i] > sum[best] {
			best = i
		}
	}
	scale := float64(best+1) * gridStep
	s.scales[scaleKey{key, without}] = scale
	return scale
}

// readings joins the output to rows of that width, beginning at each year in turn, and scores what reading
// them gives.
func (o Output) readings(key fitKey) (sum [grid]float64) {
	w, n := key.width, len(o.First)-1
	for start := 0; start < w && start+w <= n; start++ {
		var x, y []float64
		for i := start; i <= n; i += w {
			x, y = append(x, float64(i)), append(y, float64(o.First[i]))
		}
		curve := NewCubic(x, y)
		for i := start; i+w <= n; i += w {
			row := Row{First: o.First[i], Past: o.First[i+w], From: i, Width: w}
			if key.curved {
				row.Curve = curve
			}
			for k := range w {
				if o.Skip != nil && o.Skip(o.From+i+k) {
					continue
				}
				for q := range 4 {
					bin := row.Bin(o.First[i+k] + (o.First[i+k+1]-o.First[i+k])*uint64(2*q+1)/8)
					for g := range sum {
						sum[g] += math.Log(kernel((float64(bin)+0.5)/Bins, w, float64(g+1)*gridStep)[k]) / 4
					}
				}
			}
		}
	}
	return sum
}

// Row is a stretch of numbers that were stamped in several years.
type Row struct {
	First, Past uint64 // the first number, and one past the last
	From, Width int    // the first year, and how many
	Curve       *Cubic // cumulative output by year; nil for a straight line
}

// Edge is the first number of a bin; bin Width*Bins is past the row.
func (r Row) Edge(bin int) uint64 {
	all := r.Width * Bins
	switch {
	case bin <= 0:
		return r.First
	case bin >= all:
		return r.Past
	case r.Curve != nil:
		at := math.Ceil(r.Curve.At(float64(r.From) + float64(bin)/Bins))
		return min(max(uint64(max(at, 0)), r.First), r.Past)
	}
	// Numbers have at most 15 digits and a row at most 401 years, so the product stays below 2^64.
	return r.First + (uint64(bin)*(r.Past-r.First)+uint64(all)-1)/uint64(all)
}

// Bin is the bin in which a number of the row lies.
func (r Row) Bin(n uint64) int {
	lo, hi := 0, r.Width*Bins // Edge(lo) <= n < Edge(hi)
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; r.Edge(mid) <= n {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo
}
