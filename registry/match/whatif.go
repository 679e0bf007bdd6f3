package match

import (
	"fmt"
	"slices"
)

// WhatIf answers how many places would be filled with so many more bases of one pattern, in stock or not:
// what to ask donors for. fits says which heads such a base takes. The bases came with nothing; the day on
// which they come bears on no place that is filled.
func WhatIf(p Problem, pattern string, fits func(head int) (minutes int, fits bool), more int) (filled int,
	err error) {
	base := Base{Pattern: pattern}
	if len(p.Heads) > 0 {
		base.Arrived = p.Heads[0].Arrived
	}
	stock, work := len(p.Bases), p.Work
	p.Bases = slices.Clone(p.Bases)
	for i := range more {
		base.ID = fmt.Sprintf("%s + %d", pattern, i+1)
		p.Bases = append(p.Bases, base)
	}
	p.Work = func(h, b int) (int, bool) {
		if b >= stock {
			return fits(h)
		}
		return work(h, b)
	}
	plan, err := Solve(p)
	return plan.Filled, err
}
