package match

import "slices"

// taken is the pieces of a pool that the flow uses: the oldest of them.
func (p *plumbing) taken(from pool) []int { return slices.Clone(from.pieces[:p.arcs[from.arc].flow]) }

// sets names the head and base of each place. It must be asked only when no shared group mixes.
func (p *plumbing) sets() [][]Set {
	free := make([][]int, len(p.bases)) // bases taken that did not come with their head
	kin := make([][][]int, len(p.bases))
	for at := range p.bases {
		free[at] = p.taken(p.bases[at])
		for _, k := range p.kin[at] {
			kin[at] = append(kin[at], p.taken(k))
		}
	}
	// The pairs that arrived together come first; what is left of each pool is free for any other head.
	pairs, rest := make([][]Set, len(p.groups)), make([][]int, len(p.groups))
	for i := range p.groups {
		g := &p.groups[i]
		rest[i] = p.taken(g.common)
		for _, k := range g.kin {
			heads := p.taken(k.pool)
			for _, to := range k.onto {
				for range p.arcs[to.arc].flow {
					var base int
					base, kin[to.to][to.kin] = first(kin[to.to][to.kin])
					var head int
					head, heads = first(heads)
					pairs[i] = append(pairs[i],
						Set{Head: head, Base: base, Minutes: int(p.stock.work[g.row][to.to]), Together: true})
				}
			}
			rest[i] = append(rest[i], heads...)
		}
		slices.SortFunc(rest[i], p.olderHead)
	}
	for at := range kin {
		free[at] = append(free[at], slices.Concat(kin[at]...)...)
		slices.SortFunc(free[at], p.olderBase)
	}

	filled := make([][]Set, len(p.limits))
	for i := range p.groups {
		g := &p.groups[i]
		for _, to := range g.onto {
			for range p.arcs[to.arc].flow {
				var head, base int
				head, rest[i] = first(rest[i])
				base, free[to.to] = first(free[to.to])
				pairs[i] = append(pairs[i],
					Set{Head: head, Base: base, Minutes: int(p.stock.work[g.row][to.to])})
			}
		}
		slices.SortFunc(pairs[i], func(a, b Set) int { return p.olderHead(a.Head, b.Head) })
		for _, from := range g.in {
			for range p.arcs[from.arc].flow {
				var set Set
				if p.stock.p.Lines[p.limits[from.limits].lines[0]].Kind == Treadle {
					set, pairs[i] = first(pairs[i])
				} else {
					set.Base = -1
					set.Head, rest[i] = first(rest[i])
				}
				filled[from.limits] = append(filled[from.limits], set)
			}
		}
	}

	sets := make([][]Set, len(p.slots))
	for at, l := range p.limits {
		slices.SortFunc(filled[at], func(a, b Set) int { return p.olderHead(a.Head, b.Head) })
		for _, line := range l.lines {
			n := p.arcs[p.slots[line]].flow
			sets[line], filled[at] = filled[at][:n:n], filled[at][n:]
		}
	}
	return sets
}

func first[T any](list []T) (T, []T) { return list[0], list[1:] }

func (p *plumbing) olderHead(a, b int) int { return p.stock.headAge[a] - p.stock.headAge[b] }
func (p *plumbing) olderBase(a, b int) int { return p.stock.baseAge[a] - p.stock.baseAge[b] }
