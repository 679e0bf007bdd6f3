package match

import (
	"cmp"
	"slices"
)

// value is what a plan is worth, rank by rank; it is compared as a tuple.
type value struct {
	filled                  int
	byPriority, byDue       []int // places filled, best first
	minutes, arrived, apart int64
}

// compare is positive when a is worth more than b.
func (a value) compare(b value) int {
	return cmp.Or(
		cmp.Compare(a.filled, b.filled),
		slices.Compare(a.byPriority, b.byPriority),
		slices.Compare(a.byDue, b.byDue),
		cmp.Compare(b.minutes, a.minutes),
		cmp.Compare(b.arrived, a.arrived),
		cmp.Compare(b.apart, a.apart),
	)
}

// equalToWork says whether two plans are worth the same in all ranks up to the work.
func (a value) equalToWork(b value) bool {
	b.arrived, b.apart = a.arrived, a.apart
	return a.compare(b) == 0
}

// gapTo is the first rank in which a bound is better than a plan.
func (a value) gapTo(bound value) Gap {
	if d := bound.filled - a.filled; d != 0 {
		return Gap{"places", int64(d)}
	}
	for i, n := range bound.byPriority {
		if n != a.byPriority[i] {
			return Gap{"priority", int64(n - a.byPriority[i])}
		}
	}
	for i, n := range bound.byDue {
		if n != a.byDue[i] {
			return Gap{"due date", int64(n - a.byDue[i])}
		}
	}
	switch {
	case bound.minutes != a.minutes:
		return Gap{"minutes of work", a.minutes - bound.minutes}
	case bound.arrived != a.arrived:
		return Gap{"days in stock", a.arrived - bound.arrived}
	}
	return Gap{"arrived together", a.apart - bound.apart}
}

// worth adds up what a flow fills and costs.
func (p *plumbing) worth() value {
	var v value
	v.minutes, v.arrived, v.apart = p.spent()
	v.byPriority, v.byDue = make([]int, len(p.stock.priorities)), make([]int, len(p.stock.dues))
	for line, arc := range p.slots {
		if arc < 0 {
			continue
		}
		n, l := int(p.arcs[arc].flow), p.stock.p.Lines[line]
		v.filled += n
		v.byPriority[slices.Index(p.stock.priorities, -l.Priority)] += n
		v.byDue[slices.Index(p.stock.dues, l.Due)] += n
	}
	return v
}
