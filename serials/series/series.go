// Package series lays the rows of one maker and prefix on a line of numbers, and says which years they leave
// to a number on it, and how likely each of them is.
package series

import (
	"cmp"
	"container/heap"
	"math"
	"slices"

	"pitman/serials/table"
	"pitman/serials/years"
)

// Series is all rows of one maker with one prefix, over all files. The line of numbers is parted where a run
// begins or ends, so that all numbers of a segment are answered by the same runs; dating is a binary search
// for the segment.
type Series struct {
	Prefix   string
	padded   bool
	Starts   []uint64 // the first number of each segment; a segment ends where the next one begins
	Segments []Segment

	// The rows themselves, by their first number, to name what an answer rests on.
	Rows  []table.Row
	Cells []*Run   // each row alone, as a run
	Top   []uint64 // the highest last number of this row and all before it
	topAt []int    // and the row that has it
}

// Segment is what the tables say of a stretch of numbers.
type Segment struct {
	years.Estimate        // best is worked out for each number where the basis is Interpolated
	Runs           []*Run // those that speak; none where no row holds the numbers
	Held           bool   // a row holds the numbers
}

// runs that are looked at one by one; more on one number is no table made by hand, and only their years are
// taken
const maxOverlaid = 32

func New(prefix string, rows []table.Row) *Series {
	s := &Series{Prefix: prefix, Rows: slices.Clone(rows)}
	runs := runsOf(rows)
	s.part(runs)
	last := func(r table.Row) uint64 {
		if r.Last.Known {
			return r.Last.N
		}
		return math.MaxUint64
	}
	slices.SortFunc(s.Rows, func(a, b table.Row) int {
		return cmp.Or(cmp.Compare(a.First, b.First), cmp.Compare(last(a), last(b)),
			cmp.Compare(a.From, b.From), cmp.Compare(a.To, b.To),
			cmp.Compare(a.File, b.File), cmp.Compare(a.Line, b.Line))
	})
	top, at := uint64(0), 0
	for i, r := range s.Rows {
		one := &Run{First: r.First, Last: r.Last.N, from: r.From, to: r.To, Open: !r.Last.Known}
		if one.Open { // it ends like the run that was made of it
			k, _ := slices.BinarySearchFunc(runs, r.First,
				func(o *Run, first uint64) int { return cmp.Compare(o.First, first) })
			for !runs[k].Open {
				k++
			}
			one.Last, one.next = runs[k].Last, runs[k].next
		}
		if i == 0 || one.Last > top {
			top, at = one.Last, i
		}
		s.Cells, s.Top, s.topAt = append(s.Cells, one), append(s.Top, top), append(s.topAt, at)
		s.padded = s.padded || r.Padded
	}
	return s
}

// part cuts the line of numbers into segments.
func (s *Series) part(runs []*Run) {
	cuts := []uint64{0}
	for _, r := range runs {
		cuts = append(cuts, r.First)
		if r.Open && r.from == r.to {
			cuts = append(cuts, r.First+1)
		}
		if r.Last != math.MaxUint64 {
			cuts = append(cuts, r.Last+1)
		}
	}
	slices.Sort(cuts)
	s.Starts = slices.Compact(cuts)
	s.Segments = make([]Segment, len(s.Starts))
	var here overlay
	next := 0
	low := years.Span{} // the years of the runs that end highest so far; 0 before the first
	lowEnd := uint64(0)
	for i, n := range s.Starts {
		for len(here.runs) > 0 && here.runs[0].Last < n {
			r := here.leave()
			switch {
			case low == (years.Span{}) || r.Last > lowEnd:
				low, lowEnd = years.Span{From: r.to, To: r.to}, r.Last
			case r.Last == lowEnd:
				low.From = min(low.From, r.to)
			}
		}
		for ; next < len(runs) && runs[next].First == n; next++ {
			here.enter(runs[next])
		}
		if len(here.runs) > 0 {
			s.Segments[i] = here.combined(n)
			continue
		}
		above := years.Year(0)
		for k := next; k < len(runs) && runs[k].First == runs[next].First; k++ {
			above = max(above, runs[k].from)
		}
		switch {
		case low.From == 0:
			s.Segments[i].Estimate = years.Estimate{To: above, Basis: years.Before}
		case above == 0:
			s.Segments[i].Estimate = years.Estimate{From: low.From, Basis: years.After}
		default:
			s.Segments[i].Estimate = Between(low.From, above)
		}
	}
}

// Between brackets a number by two years, which may stand the wrong way round in a table. One year left is
// the best year.
func Between(a, b years.Year) years.Estimate {
	e := years.Estimate{From: min(a, b), To: max(a, b), Basis: years.Between}
	if e.From == e.To {
		e.Best = e.From
	}
	return e
}

// overlay is the runs that hold the numbers at the place where the line is being cut, the one that ends first
// in front.
type overlay struct {
	runs     []*Run
	from, to [years.Last + 1]int // how many runs begin and end in each year
}

func (v *overlay) Len() int           { return len(v.runs) }
func (v *overlay) Less(i, j int) bool { return v.runs[i].Last < v.runs[j].Last }
func (v *overlay) Swap(i, j int)      { v.runs[i], v.runs[j] = v.runs[j], v.runs[i] }
func (v *overlay) Push(r any)         { v.runs = append(v.runs, r.(*Run)) }
func (v *overlay) Pop() any {
	r := v.runs[len(v.runs)-1]
	v.runs = v.runs[:len(v.runs)-1]
	return r
}

func (v *overlay) enter(r *Run) {
	heap.Push(v, r)
	v.from[r.from]++
	v.to[r.to]++
}

func (v *overlay) leave() *Run {
	r := heap.Pop(v).(*Run)
	v.from[r.from]--
	v.to[r.to]--
	return r
}

// combined returns what the runs say together of the numbers from n to the next cut.
func (v *overlay) combined(n uint64) Segment {
	if len(v.runs) > maxOverlaid {
		return v.combinedMany()
	}
	runs := slices.Clone(v.runs)
	slices.SortFunc(runs, compareRuns)
	var exact, vague []*Run
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
			return Segment{clash(vague, n), vague, true}
		case both.To == 0:
			return Segment{years.Estimate{From: both.From, Basis: years.After}, vague, true}
		}
		return Segment{Between(both.From, both.To), vague, true}
	}
	// An open run only tells where to look, so it steps aside for others that it does not contradict.
	both, ok := agree(exact, n)
	if !ok {
		both = hull(exact, n)
	}
	said := exact
	for _, r := range vague {
		if _, fits := r.YearsOf(n).Meet(both); !fits {
			said, ok = append(said, r), false
		}
	}
	switch {
	case !ok:
		return Segment{clash(said, n), said, true}
	case both.From == both.To:
		return Segment{years.Estimate{From: both.From, To: both.To, Best: both.From, Basis: years.Range},
			said, true}
	}
	return Segment{years.Estimate{From: both.From, To: both.To, Basis: years.Interpolated}, said, true}
}

// combinedMany takes the years of more runs than are looked at one by one.
func (v *overlay) combinedMany() Segment {
	all, both := years.Span{From: years.Last, To: years.First}, years.Span{From: years.First, To: years.Last}
	for y := years.Year(years.First); y <= years.Last; y++ {
		if v.from[y] > 0 {
			all.From, both.From = min(all.From, y), y
		}
		if v.to[y] > 0 {
			all.To, both.To = y, min(both.To, y)
		}
	}
	switch {
	case both.From > both.To:
		return Segment{years.Estimate{From: all.From, To: all.To, Basis: years.Overlap}, nil, true}
	case both.From == both.To:
		return Segment{years.Estimate{From: both.From, To: both.To, Best: both.From, Basis: years.Range}, nil,
			true}
	}
	return Segment{years.Estimate{From: both.From, To: both.To, Basis: years.Between}, nil, true}
}

// agree is the years that all the runs leave; ok is false when that is none.
func agree(runs []*Run, n uint64) (both years.Span, ok bool) {
	both, ok = runs[0].YearsOf(n), true
	for _, r := range runs[1:] {
		if both, ok = both.Meet(r.YearsOf(n)); !ok {
			return years.Span{}, false
		}
	}
	return both, true
}

func hull(runs []*Run, n uint64) years.Span {
	all := runs[0].YearsOf(n)
	for _, r := range runs[1:] {
		all = all.Hull(r.YearsOf(n))
	}
	return all
}

func clash(runs []*Run, n uint64) years.Estimate {
	all := hull(runs, n)
	return years.Estimate{From: all.From, To: all.To, Basis: years.Overlap}
}

// Find returns the place of the segment that holds n.
func (s *Series) Find(n uint64) int {
	lo, hi := 0, len(s.Starts)
	for lo < hi {
		mid := int(uint(lo+hi) >> 1)
		if s.Starts[mid] <= n {
			lo = mid + 1
		} else {
			hi = mid
		}
	}
	return lo - 1
}

// end is the last number of a segment.
func (s *Series) end(i int) uint64 {
	if i+1 == len(s.Starts) {
		return math.MaxUint64
	}
	return s.Starts[i+1] - 1
}

// At dates a number by the rows alone. It allocates nothing.
func (s *Series) At(n uint64) years.Estimate {
	seg := &s.Segments[s.Find(n)]
	if seg.Basis != years.Interpolated {
		return seg.Estimate
	}
	e := seg.Estimate
	e.Best = seg.best(n)
	return e
}

// best is the year in which the number's place lies, in the mean of the sources that agree.
func (g *Segment) best(n uint64) years.Year {
	if len(g.Runs) == 1 {
		return g.Runs[0].best(n)
	}
	sum := years.Year(0)
	for _, r := range g.Runs {
		sum += r.best(n)
	}
	return min(max(sum/years.Year(len(g.Runs)), g.From), g.To)
}

// Spans is the years that the segment's runs give to a number, each once: several only where they clash.
func (g *Segment) Spans(n uint64) []years.Span {
	if g.Basis != years.Overlap || g.Runs == nil {
		return []years.Span{{From: g.From, To: g.To}}
	}
	var out []years.Span
	for _, r := range g.Runs {
		if one := r.YearsOf(n); !slices.Contains(out, one) {
			out = append(out, one)
		}
	}
	return out
}

// hits returns the places of the rows that hold n; around is true when none does and its neighbours are
// returned instead.
func (s *Series) Holding(n uint64) (places []int, around bool) {
	i, _ := slices.BinarySearchFunc(s.Rows, n, func(r table.Row, n uint64) int {
		if r.First <= n {
			return -1
		}
		return 1
	})
	i-- // the last row that begins at n or below
	for j := i; j >= 0 && s.Top[j] >= n; j-- {
		if s.Cells[j].Last >= n {
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
	if i+1 < len(s.Rows) {
		places = append(places, i+1)
	}
	return places, true
}
