package match

import (
	"fmt"
	"slices"
)

// WhatIf answers how many places more could be filled with more bases like one in stock: what to ask donors for. The
// bases are the newest, and came with nothing.
func WhatIf(p Problem, like, more int) (filled int, err error) {
	before, err := Solve(p)
	if err != nil {
		return 0, err
	}
	base := p.Bases[like]
	base.Donation = ""
	for _, b := range p.Bases {
		base.Arrived = max(base.Arrived, b.Arrived)
	}
	stock, work := len(p.Bases), p.Work
	p.Bases = slices.Clone(p.Bases)
	for i := range more {
		base.ID = fmt.Sprintf("%s + %d", p.Bases[like].ID, i+1)
		p.Bases = append(p.Bases, base)
	}
	p.Work = func(h, b int) (int, bool) {
		if b >= stock {
			b = like
		}
		return work(h, b)
	}
	after, err := Solve(p)
	return after.Filled - before.Filled, err
}
