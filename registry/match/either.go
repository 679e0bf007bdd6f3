package match

import (
	"container/heap"
	"slices"
)

// solve runs the flow once when no head may leave in two ways, and else searches over how many of each such
// group leave alone.
func (s *stock) solve() Plan {
	shared := s.build(s.groups)
	shared.run()
	search := &search{stock: s, shared: shared, tried: map[string]bool{}}
	search.limit = s.p.Effort
	if search.limit == 0 {
		search.limit = defaultEffort
	}
	for i, g := range shared.groups {
		if g.shared() {
			search.groups = append(search.groups, i)
		}
	}
	search.run()
	plan := Plan{Sets: search.best, Filled: search.worth.filled, Minutes: search.worth.minutes,
		Optimal: search.proved, Gap: search.gap}
	return plan
}

// defaultEffort is a few seconds' search on a small computer (measured, not guaranteed).
const defaultEffort = 100_000_000

// search is branch and bound over the spans of the shared groups.
type search struct {
	*stock
	shared *plumbing
	groups []int // shared groups
	limit  int64
	tried  map[string]bool

	best   [][]Set
	worth  value
	found  bool
	proved bool
	gap    Gap
}

// branch is spans still to be searched: bound is what no plan in them can beat, group the one to split.
type branch struct {
	spans []span
	bound value
	group int // in search.groups
	split int
}

func (s *search) run() {
	open := &branches{}
	if root := s.root(); root != nil {
		heap.Push(open, *root)
	}
	for open.Len() > 0 {
		b := heap.Pop(open).(branch)
		if b.bound.compare(s.worth) <= 0 {
			break // the best bound left is no better: so is every other
		}
		if s.shared.steps > s.limit {
			s.gap = s.worth.gapTo(b.bound)
			return
		}
		for _, half := range []span{{b.spans[b.group].least, b.split}, {b.split + 1, b.spans[b.group].most}} {
			child := branch{spans: slices.Clone(b.spans)}
			child.spans[b.group] = half
			s.load(child.spans)
			if s.demandsMet(child.spans) && !s.settle(&child) {
				child.bound = worse(child.bound, b.bound)
				heap.Push(open, child)
			}
		}
	}
	s.proved = true
}

// root looks at the whole problem: at the flow, which is a plan if nothing mixes, and at both bounds. It is
// nil when done.
func (s *search) root() *branch {
	root := &branch{spans: make([]span, len(s.groups))}
	for i, g := range s.groups {
		root.spans[i] = span{0, int(s.shared.arcs[s.shared.groups[g].aloneIn].room)}
	}
	ins, outs := s.mixing(root)
	if root.group < 0 {
		s.keep()
		return nil
	}
	mixed, doubled := s.shared.worth(), s.double()
	left, used := make([]int, len(s.groups)), make([]int, len(s.groups))
	for i, g := range s.groups {
		left[i] = len(s.stock.groups[g].heads) - doubled.used(g)
		used[i] = doubled.used(len(s.stock.groups) + i)
	}
	bound := worse(mixed, doubled.worth())
	s.try(left)
	s.try(used)
	if s.worth.equalToWork(doubled.worth()) {
		s.tighten(doubled)
	} else {
		s.try(outs)
		s.try(ins)
	}
	s.load(root.spans)
	if s.shared.worth().minutes < doubled.worth().minutes {
		s.reprice(doubled)
		s.load(root.spans)
	}
	if s.settle(root) {
		return nil
	}
	root.bound = worse(root.bound, bound)
	return root
}

func worse(a, b value) value {
	if a.compare(b) < 0 {
		return a
	}
	return b
}

// load solves the flow for spans.
func (s *search) load(spans []span) {
	for i, g := range s.groups {
		s.shared.allow(g, spans[i])
	}
	s.shared.run()
}

// demandsMet says whether as many heads leave alone, and are taken alone, as the spans demand.
func (s *search) demandsMet(spans []span) bool {
	for i, g := range s.groups {
		in, out := s.alone(g)
		if in < spans[i].least || out < spans[i].least {
			return false
		}
	}
	return true
}

// alone is how many heads of a shared group are taken by lines that want them alone, and how many leave
// alone.
func (s *search) alone(group int) (in, out int) {
	g := s.shared.groups[group]
	return int(s.shared.arcs[g.aloneIn].flow), int(s.shared.arcs[g.aloneOut].flow)
}

// mixing counts for each shared group the heads taken and leaving alone, and notes in the branch where to
// split it: the group in which they differ most, or -1.
func (s *search) mixing(b *branch) (ins, outs []int) {
	b.group = -1
	widest := 0
	ins, outs = make([]int, len(s.groups)), make([]int, len(s.groups))
	for i, g := range s.groups {
		ins[i], outs[i] = s.alone(g)
		if wide := max(ins[i]-outs[i], outs[i]-ins[i]); wide > widest {
			widest = wide
			b.group, b.split = i, min(ins[i], outs[i])+(wide-1)/2
		}
	}
	return ins, outs
}

// settle looks at the flow just solved. The branch is done if that is a plan, or cannot beat the best. Else
// it notes the bound and where to split, and makes plans near by, so that the search has something to compare
// with.
func (s *search) settle(b *branch) (done bool) {
	b.bound = s.shared.worth()
	if s.found && b.bound.compare(s.worth) <= 0 {
		return true
	}
	ins, outs := s.mixing(b)
	if b.group < 0 {
		s.keep()
		return true
	}
	s.try(outs)
	s.try(ins)
	return b.bound.compare(s.worth) <= 0
}

// try makes a plan in which no more than so many heads of each shared group leave alone, and the others only
// on a base. Which of its heads a group gives to either side hardly counts yet: the flow is solved again with
// their number alone.
func (s *search) try(alone []int) {
	key := keyOf(alone)
	if s.tried[key] {
		return
	}
	s.tried[key] = true
	groups := slices.Clone(s.stock.groups)
	for i, g := range s.groups {
		treadle, other := groups[g], groups[g]
		treadle.alone, other.treadle = nil, nil
		treadle.heads, other.heads = treadle.heads[alone[i]:], other.heads[:alone[i]]
		groups[g] = treadle
		groups = append(groups, other)
	}
	p := s.build(groups)
	p.run()
	s.shared.steps += p.steps
	spans := make([]span, len(s.groups))
	for i := range s.groups {
		n := p.used(len(s.stock.groups) + i)
		spans[i] = span{n, n}
	}
	s.load(spans)
	if s.demandsMet(spans) { // with no room between least and most, nothing can mix
		s.keep()
	}
}

// used is how many heads of a group the flow uses.
func (p *plumbing) used(group int) int {
	n := p.arcs[p.groups[group].common.arc].flow
	for _, k := range p.groups[group].kin {
		n += p.arcs[k.arc].flow
	}
	return int(n)
}

// keep takes the flow just solved as the best plan, if it is.
func (s *search) keep() {
	if v := s.shared.worth(); !s.found || v.compare(s.worth) > 0 {
		s.best, s.worth, s.found = s.shared.sets(), v, true
	}
}

type branches []branch

func (b branches) Len() int           { return len(b) }
func (b branches) Less(i, j int) bool { return b[i].bound.compare(b[j].bound) > 0 }
func (b branches) Swap(i, j int)      { b[i], b[j] = b[j], b[i] }
func (b *branches) Push(x any)        { *b = append(*b, x.(branch)) }
func (b *branches) Pop() any {
	last := (*b)[len(*b)-1]
	*b = (*b)[:len(*b)-1]
	return last
}
