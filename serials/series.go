package serials

import (
	"cmp"
	"container/heap"
	"math"
	"slices"
)

// series is all rows of one maker with one prefix, over all files. The line of numbers is parted where a run
// begins or ends, so that all numbers of a segment are answered by the same runs; dating is a binary search
// for the segment.
type series struct {
	prefix   string
	padded   bool
	starts   []uint64 // the first number of each segment; a segment ends where the next one begins
	segments []segment

	// The rows themselves, by their first number, to name what an answer rests on.
	rows  []Row
	cells []*run   // each row alone, as a run
	top   []uint64 // the highest last number of this row and all before it
	topAt []int    // and the row that has it
}

// segment is what the tables say of a stretch of numbers.
type segment struct {
	Estimate        // best is worked out for each number where the basis is Interpolated
	runs     []*run // those that speak; none where no row holds the numbers
	held     bool   // a row holds the numbers
}

// runs that are heard one by one; more on one number is no table made by hand, and only their years are taken
const maxVoices = 32

func newSeries(prefix string, rows []Row) *series {
	s := &series{prefix: prefix, rows: slices.Clone(rows)}
	runs := runsOf(rows)
	s.part(runs)
	last := func(r Row) uint64 {
		if r.Last.Known {
			return r.Last.N
		}
		return math.MaxUint64
	}
	slices.SortFunc(s.rows, func(a, b Row) int {
		return cmp.Or(cmp.Compare(a.First, b.First), cmp.Compare(last(a), last(b)),
			cmp.Compare(a.From, b.From), cmp.Compare(a.To, b.To),
			cmp.Compare(a.File, b.File), cmp.Compare(a.Line, b.Line))
	})
	top, at := uint64(0), 0
	for i, r := range s.rows {
		one := &run{first: r.First, last: r.Last.N, from: r.From, to: r.To, open: !r.Last.Known}
		if one.open { // it ends like the run that was made of it
			k, _ := slices.BinarySearchFunc(runs, r.First,
				func(o *run, first uint64) int { return cmp.Compare(o.first, first) })
			for !runs[k].open {
				k++
			}
			one.last, one.next = runs[k].last, runs[k].next
		}
		if i == 0 || one.last > top {
			top, at = one.last, i
		}
		s.cells, s.top, s.topAt = append(s.cells, one), append(s.top, top), append(s.topAt, at)
		s.padded = s.padded || r.padded
	}
	return s
}

// part cuts the line of numbers into segments.
func (s *series) part(runs []*run) {
	cuts := []uint64{0}
	for _, r := range runs {
		cuts = append(cuts, r.first)
		if r.open && r.from == r.to {
			cuts = append(cuts, r.first+1)
		}
		if r.last != math.MaxUint64 {
			cuts = append(cuts, r.last+1)
		}
	}
	slices.Sort(cuts)
	s.starts = slices.Compact(cuts)
	s.segments = make([]segment, len(s.starts))
	var here voices
	next := 0
	low := span{} // the years of the runs that end highest so far; 0 before the first
	lowEnd := uint64(0)
	for i, n := range s.starts {
		for len(here.runs) > 0 && here.runs[0].last < n {
			r := here.leave()
			switch {
			case low == (span{}) || r.last > lowEnd:
				low, lowEnd = span{r.to, r.to}, r.last
			case r.last == lowEnd:
				low.from = min(low.from, r.to)
			}
		}
		for ; next < len(runs) && runs[next].first == n; next++ {
			here.enter(runs[next])
		}
		if len(here.runs) > 0 {
			s.segments[i] = here.hear(n)
			continue
		}
		above := Year(0)
		for k := next; k < len(runs) && runs[k].first == runs[next].first; k++ {
			above = max(above, runs[k].from)
		}
		switch {
		case low.from == 0:
			s.segments[i].Estimate = Estimate{To: above, Basis: Before}
		case above == 0:
			s.segments[i].Estimate = Estimate{From: low.from, Basis: After}
		default:
			s.segments[i].Estimate = between(low.from, above)
		}
	}
}

// between brackets a number by two years, which may stand the wrong way round in a table. One year left is
// the best year.
func between(a, b Year) Estimate {
	e := Estimate{From: min(a, b), To: max(a, b), Basis: Between}
	if e.From == e.To {
		e.Best = e.From
	}
	return e
}

// voices is the runs that hold the numbers at the place where the line is being cut, the one that ends first
// in front.
type voices struct {
	runs     []*run
	from, to [maxYear + 1]int // how many runs begin and end in each year
}

func (v *voices) Len() int           { return len(v.runs) }
func (v *voices) Less(i, j int) bool { return v.runs[i].last < v.runs[j].last }
func (v *voices) Swap(i, j int)      { v.runs[i], v.runs[j] = v.runs[j], v.runs[i] }
func (v *voices) Push(r any)         { v.runs = append(v.runs, r.(*run)) }
func (v *voices) Pop() any {
	r := v.runs[len(v.runs)-1]
	v.runs = v.runs[:len(v.runs)-1]
	return r
}

func (v *voices) enter(r *run) {
	heap.Push(v, r)
	v.from[r.from]++
	v.to[r.to]++
}

func (v *voices) leave() *run {
	r := heap.Pop(v).(*run)
	v.from[r.from]--
	v.to[r.to]--
	return r
}

// hear returns what the runs say together of the numbers from n to the next cut.
func (v *voices) hear(n uint64) segment {
	if len(v.runs) > maxVoices {
		return v.crowd()
	}
	runs := slices.Clone(v.runs)
	slices.SortFunc(runs, compareRuns)
	var exact, vague []*run
	for _, r := range runs {
		if r.exact(n) {
			exact = append(exact, r)
		} else {
			vague = append(vague, r)
		}
	}
	if len(exact) == 0 {
		both, ok := agree(vague, n)
		switch {
		case !ok:
			return segment{clash(vague, n), vague, true}
		case both.to == 0:
			return segment{Estimate{From: both.from, Basis: After}, vague, true}
		}
		return segment{between(both.from, both.to), vague, true}
	}
	// An open run only tells where to look, so it steps aside for others that it does not contradict.
	both, ok := agree(exact, n)
	if !ok {
		both = hull(exact, n)
	}
	heard := exact
	for _, r := range vague {
		if _, fits := r.says(n).meet(both); !fits {
			heard, ok = append(heard, r), false
		}
	}
	switch {
	case !ok:
		return segment{clash(heard, n), heard, true}
	case both.from == both.to:
		return segment{Estimate{both.from, both.to, both.from, Range}, heard, true}
	}
	return segment{Estimate{From: both.from, To: both.to, Basis: Interpolated}, heard, true}
}

// crowd takes the years of more runs than are heard one by one.
func (v *voices) crowd() segment {
	all, both := span{maxYear, minYear}, span{minYear, maxYear}
	for y := Year(minYear); y <= maxYear; y++ {
		if v.from[y] > 0 {
			all.from, both.from = min(all.from, y), y
		}
		if v.to[y] > 0 {
			all.to, both.to = y, min(both.to, y)
		}
	}
	switch {
	case both.from > both.to:
		return segment{Estimate{From: all.from, To: all.to, Basis: Overlap}, nil, true}
	case both.from == both.to:
		return segment{Estimate{both.from, both.to, both.from, Range}, nil, true}
	}
	return segment{Estimate{From: both.from, To: both.to, Basis: Between}, nil, true}
}

// agree is the years that all the runs leave; ok is false when that is none.
func agree(runs []*run, n uint64) (both span, ok bool) {
	both, ok = runs[0].says(n), true
	for _, r := range runs[1:] {
		if both, ok = both.meet(r.says(n)); !ok {
			return span{}, false
		}
	}
	return both, true
}

func hull(runs []*run, n uint64) span {
	all := runs[0].says(n)
	for _, r := range runs[1:] {
		all = all.hull(r.says(n))
	}
	return all
}

func clash(runs []*run, n uint64) Estimate {
	all := hull(runs, n)
	return Estimate{From: all.from, To: all.to, Basis: Overlap}
}

// find returns the place of the segment that holds n.
func (s *series) find(n uint64) int {
	lo, hi := 0, len(s.starts)
	for lo < hi {
		mid := int(uint(lo+hi) >> 1)
		if s.starts[mid] <= n {
			lo = mid + 1
		} else {
			hi = mid
		}
	}
	return lo - 1
}

// end is the last number of a segment.
func (s *series) end(i int) uint64 {
	if i+1 == len(s.starts) {
		return math.MaxUint64
	}
	return s.starts[i+1] - 1
}

// at dates a number by the rows alone. It allocates nothing.
func (s *series) at(n uint64) Estimate {
	seg := &s.segments[s.find(n)]
	if seg.Basis != Interpolated {
		return seg.Estimate
	}
	e := seg.Estimate
	e.Best = seg.best(n)
	return e
}

// best is the year in which the number's place lies, in the mean of the sources that agree.
func (g *segment) best(n uint64) Year {
	if len(g.runs) == 1 {
		return g.runs[0].best(n)
	}
	sum := Year(0)
	for _, r := range g.runs {
		sum += r.best(n)
	}
	return min(max(sum/Year(len(g.runs)), g.From), g.To)
}

// spans is the years that the segment's runs give to a number, each once: several only where they clash.
func (g *segment) spans(n uint64) []span {
	if g.Basis != Overlap || g.runs == nil {
		return []span{{g.From, g.To}}
	}
	var out []span
	for _, r := range g.runs {
		if one := r.says(n); !slices.Contains(out, one) {
			out = append(out, one)
		}
	}
	return out
}

// hits returns the places of the rows that hold n; around is true when none does and its neighbours are
// returned instead.
func (s *series) hits(n uint64) (places []int, around bool) {
	i, _ := slices.BinarySearchFunc(s.rows, n, func(r Row, n uint64) int {
		if r.First <= n {
			return -1
		}
		return 1
	})
	i-- // the last row that begins at n or below
	for j := i; j >= 0 && s.top[j] >= n; j-- {
		if s.cells[j].last >= n {
			places = append(places, j)
		}
	}
	if places != nil {
		slices.Reverse(places)
		return places, false
	}
	if i >= 0 {
		places = append(places, s.topAt[i])
	}
	if i+1 < len(s.rows) {
		places = append(places, i+1)
	}
	return places, true
}
