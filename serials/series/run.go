package series

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"pitman/serials/table"
	"pitman/serials/years"
)

// Run is the rows of one source that give the same years to adjoining numbers, taken as one: splitting a row
// in two, repeating it or moving it to another file then changes nothing. Rows that say the same in several
// sources make one run, too.
type Run struct {
	First, Last uint64
	from, to    years.Year
	Open        bool         // the row has no last number; last is then where the next run begins, less one
	next        years.Year   // of an open run: the year of the next one, 0 if there is none
	curve       *years.Cubic // cumulative output through the neighbouring rows; nil for a straight line
	ahead       bool         // allotted in a block ahead of making
}

// joinKey is what rows must have in common to be one run. Rows that name no source are of one source: nobody
// knows which.
type joinKey struct {
	source   string
	from, to years.Year
	ahead    bool
}

// runsOf joins the rows of one maker and prefix, in an order that does not depend on files or lines.
func runsOf(rows []table.Row) []*Run {
	same := map[joinKey][]*Run{}
	found := map[Run]*Run{}
	for _, r := range rows {
		one := &Run{First: r.First, Last: r.Last.N, from: r.From, to: r.To, Open: !r.Last.Known,
			ahead: r.Allotted()}
		if one.Open {
			one.Last, one.ahead = 0, false
			found[*one] = one
			continue
		}
		key := joinKey{strings.Join(strings.Fields(strings.ToLower(r.Source)), " "), r.From, r.To, one.ahead}
		same[key] = append(same[key], one)
	}
	bySource := map[string][]*Run{}
	for key, list := range same {
		slices.SortFunc(list, compareRuns)
		joined := list[:1]
		for _, r := range list[1:] {
			if end := joined[len(joined)-1]; r.First <= end.Last+1 {
				end.Last = max(end.Last, r.Last)
			} else {
				joined = append(joined, r)
			}
		}
		bySource[key.source] = append(bySource[key.source], joined...)
	}
	for _, list := range bySource {
		slices.SortFunc(list, compareRuns)
		curves(list)
		for _, r := range list {
			// blocks or not, it is the same statement
			key := Run{First: r.First, Last: r.Last, from: r.from, to: r.to}
			if old := found[key]; old == nil || r.curve != nil && r.curve.Before(old.curve) {
				found[key] = r
			}
		}
	}
	out := make([]*Run, 0, len(found))
	for _, r := range found {
		out = append(out, r)
	}
	slices.SortFunc(out, compareRuns)
	endOpen(out)
	return out
}

func compareRuns(a, b *Run) int {
	open := func(r *Run) int {
		if r.Open {
			return 1
		}
		return 0
	}
	return cmp.Or(cmp.Compare(a.First, b.First), cmp.Compare(open(a), open(b)), cmp.Compare(a.Last, b.Last),
		cmp.Compare(a.from, b.from), cmp.Compare(a.to, b.to))
}

// endOpen lets each open run end where the next one begins; of several that begin there, the latest year
// counts.
func endOpen(runs []*Run) {
	for i, j := len(runs)-1, len(runs); i >= 0; i-- { // runs[j] is the first that begins above runs[i]
		if i+1 < len(runs) && runs[i+1].First > runs[i].First {
			j = i + 1
		}
		if !runs[i].Open {
			continue
		}
		runs[i].Last = math.MaxUint64
		for k := j; k < len(runs) && runs[k].First == runs[j].First; k++ {
			runs[i].Last, runs[i].next = runs[j].First-1, max(runs[i].next, runs[k].from)
		}
	}
}

// curves lays a curve through each stretch of runs of one source whose numbers and years adjoin. Where a
// block was allotted ahead of making, or two rows follow one, numbers do not tell how many were made, and the
// straight line stays.
func curves(list []*Run) {
	type end struct {
		ParseNumber uint64
		year        years.Year
	}
	begins, ends := map[end][]*Run{}, map[end][]*Run{}
	for _, r := range list {
		if !r.ahead {
			begins[end{r.First, r.from}] = append(begins[end{r.First, r.from}], r)
			ends[end{r.Last + 1, r.to + 1}] = append(ends[end{r.Last + 1, r.to + 1}], r)
		}
	}
	after := func(r *Run) *Run {
		at := end{r.Last + 1, r.to + 1}
		if len(begins[at]) == 1 && len(ends[at]) == 1 {
			return begins[at][0]
		}
		return nil
	}
	for _, r := range list {
		at := end{r.First, r.from}
		if r.ahead || len(begins[at]) == 1 && len(ends[at]) == 1 {
			continue // not the beginning of a stretch
		}
		x, y, wide := []float64{float64(r.from)}, []float64{float64(r.First)}, false
		var stretch []*Run
		for ; r != nil; r = after(r) {
			stretch = append(stretch, r)
			x, y = append(x, float64(r.to+1)), append(y, float64(r.Last+1))
			wide = wide || r.from != r.to
		}
		if wide && len(stretch) > 1 {
			curve := years.NewCubic(x, y)
			for _, r := range stretch {
				r.curve = curve
			}
		}
	}
}

// exact says whether the run gives years to this very number: an open one does so only at its first, and if
// that is of one year.
func (r *Run) exact(n uint64) bool { return !r.Open || n == r.First && r.from == r.to }

// says is the years that the run leaves to a number of it.
func (r *Run) YearsOf(n uint64) years.Span {
	switch {
	case r.exact(n):
		return years.Span{From: r.from, To: r.to}
	case r.next == 0:
		return years.Span{From: r.from, To: 0}
	}
	// they may stand the wrong way round in a table
	return years.Span{From: min(r.from, r.next), To: max(r.from, r.next)}
}

// row is the run as the arithmetic takes it.
func (r *Run) row() years.Row {
	return years.Row{First: r.First, Past: r.Last + 1, From: int(r.from), Width: int(r.to-r.from) + 1,
		Curve: r.curve}
}

// best is the year in which the number's place in the run lies.
func (r *Run) best(n uint64) years.Year { return r.from + years.Year(r.row().Bin(n)/years.Bins) }
