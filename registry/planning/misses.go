package planning

import (
	"cmp"
	"fmt"
	"slices"

	"pitman/registry"
	"pitman/registry/fit"
	"pitman/registry/match"
	"pitman/registry/orders"
	"pitman/registry/stock"
)

// maxMisses is how many near misses are told for a line.
const maxMisses = 10

// nearest finds what came near in what a plan leaves over.
type nearest struct {
	*inHand
	plan  match.Plan
	known map[string]bool // whether a change fills a place, by what is changed
	used  []bool
	bases []int // left over, one of each pattern
}

func (s *inHand) nearest(plan match.Plan) *nearest {
	n := &nearest{inHand: s, plan: plan, known: map[string]bool{}, used: make([]bool, len(s.heads))}
	taken := make([]bool, len(s.bases))
	for _, sets := range plan.Sets {
		for _, set := range sets {
			n.used[set.Head] = true
			if set.Base >= 0 {
				taken[set.Base] = true
			}
		}
	}
	seen := map[string]bool{}
	for i, b := range s.problem.Bases {
		if !taken[i] && !seen[b.Pattern] {
			seen[b.Pattern] = true
			n.bases = append(n.bases, i)
		}
	}
	return n
}

// of lists the nearest misses of a line: pairs that nearly fit, or that nobody measured; then heads that are
// ready but outside the line's limits; then bases and heads that would do and are not ready.
func (n *nearest) of(line int, short match.Shortfall) []Miss {
	misses := n.all(line, short)
	// What fills a place by itself comes first.
	slices.SortStableFunc(misses, func(a, b Miss) int {
		switch {
		case a.Fills == b.Fills:
			return 0
		case a.Fills:
			return -1
		}
		return 1
	})
	return misses[:min(len(misses), maxMisses)]
}

func (n *nearest) all(line int, short match.Shortfall) []Miss {
	misses := []Miss{}
	if n.lines[line].Wanted == orders.TreadleSet {
		misses = n.pairs(short.Spare)
	}
	for i := range n.heads {
		m := &n.heads[i]
		if len(misses) >= maxMisses {
			break
		}
		if n.used[i] || !slices.Contains(m.Serves(), n.lines[line].Wanted.Drive()) {
			continue
		}
		if why := n.w.Orders.Usable(m); why != "" {
			misses = append(misses, Miss{Tag: m.Tag, Why: why})
		} else if why := n.w.Orders.Refuses(n.order[line], &n.lines[line], m); why != "" {
			misses = append(misses, Miss{Tag: m.Tag, Why: why})
		}
	}
	// bases are what it wants most
	if n.lines[line].Wanted == orders.TreadleSet && short.Reason != match.NoHead {
		for _, b := range n.unmade {
			why := fmt.Sprintf("is a base at stage %s: it comes into stock once it is made ready", b.Stage)
			misses = append(misses,
				Miss{Tag: b.Tag, Why: why, Fills: n.baseFills(&b),
					Next: []registry.NextStep{registry.Next(registry.DoBaseReady, b.Tag)}})
		}
	}
	for i := range n.coming {
		m := &n.coming[i]
		if n.w.Orders.Refuses(n.order[line], &n.lines[line], m) == "" {
			misses = append(misses, Miss{Tag: m.Tag, Why: "would do, and is at stage " + string(m.Stage),
				Fills: n.headFills(m)})
		}
	}
	return misses
}

// maxTries bounds how many changes are tried: each asks for a plan of its own.
const maxTries = 12

// fills says whether a change of the problem fills a place more, by what is changed; alike changes are tried
// once.
func (n *nearest) fills(what string, change func() (filled int, err error)) bool {
	if !n.try {
		return false
	}
	fills, known := n.known[what]
	if !known && len(n.known) < maxTries {
		filled, err := change()
		fills = err == nil && filled > n.plan.Filled
		n.known[what] = fills
	}
	return fills
}

// baseFills says whether a place more is filled once this base is ready.
func (n *nearest) baseFills(b *stock.Base) bool {
	like := fit.BaseOf(b)
	return n.fills(fmt.Sprint("base ", like), func() (int, error) {
		return match.WhatIf(n.problem, fmt.Sprint(like), func(head int) (int, bool) {
			score := fit.Judge(n.headFit[head], like, n.house)
			return score.Minutes, score.Usable()
		}, 1)
	})
}

// headFills says whether a place more is filled once this head is ready.
func (n *nearest) headFills(m *stock.Machine) bool {
	if slices.ContainsFunc(n.heads, func(o stock.Machine) bool { return o.Tag == m.Tag }) {
		return false // it is counted already
	}
	takes := ""
	for line := range n.lines {
		if n.w.Orders.Refuses(n.order[line], &n.lines[line], m) == "" {
			takes += fmt.Sprint(line, " ")
		}
	}
	return n.fills(fmt.Sprint("head ", fit.HeadOf(m), m.Serves(), takes), func() (int, error) {
		later := *n.inHand
		later.heads = append(slices.Clip(n.heads), *m)
		later.headFit, later.baseFit, later.problem = nil, nil, match.Problem{}
		later.pose()
		plan, err := match.Solve(later.problem)
		return plan.Filled, err
	})
}

// pairs finds for each spare head the base left over that comes nearest.
func (n *nearest) pairs(spare []int) []Miss {
	type pair struct {
		head, base int
		score      fit.Score
	}
	var found []pair
	seen := map[string]int{} // heads of a pattern told already
	for _, h := range spare {
		pattern := n.problem.Heads[h].Pattern
		if seen[pattern]++; seen[pattern] > 3 || len(n.bases) == 0 {
			continue
		}
		best := pair{head: h, base: -1}
		for _, b := range n.bases {
			if score := fit.Judge(n.headFit[h], n.baseFit[b], n.house); best.base < 0 ||
				score.Compare(best.score) < 0 {
				best.base, best.score = b, score
			}
		}
		found = append(found, best)
	}
	slices.SortStableFunc(found, func(a, b pair) int {
		return cmp.Or(a.score.Compare(b.score), cmp.Compare(n.heads[a.head].Tag, n.heads[b.head].Tag))
	})
	misses := []Miss{}
	for _, p := range found[:min(len(found), maxMisses)] {
		why := n.fit(p.head, p.base).InShort()
		if m := &n.heads[p.head]; p.score.Fits == fit.FitsNot || m.BedLength.Known() || m.Pins.Known() {
			// of a head without measures, no base says more
			why = "with " + string(n.inHand.bases[p.base].Tag) + ": " + why
		}
		// Both are left over: where one rule alone keeps them apart, a change of that fills a place.
		r := n.fit(p.head, p.base)
		misses = append(misses, Miss{Tag: n.heads[p.head].Tag, Why: why,
			Fills: n.try && p.score.Fits == fit.FitsNot && len(r.Misses()) == 1 && r.Unknowns() == 0,
			Since: n.heads[p.head].LoggedAt, unmeasured: p.score.Fits == fit.NotMeasured})
	}
	return misses
}
