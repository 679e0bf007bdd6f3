package match

import "slices"

// Two bounds hold for a problem with shared groups. The flow mixes: it lets a head that a treadle line took
// leave alone, and so is loose where bases are scarce. The flow with every shared head doubled, one for each
// way, is loose where heads are. Where the second is met by a plan in all ranks up to the work, which is the
// rule in a workshop, both can be joined.

// double is the flow with every shared head doubled; the copies that leave alone follow the stock's groups.
func (s *search) double() *plumbing {
	groups := slices.Clone(s.stock.groups)
	for _, g := range s.groups {
		treadle, alone := groups[g], groups[g]
		treadle.alone, alone.treadle = nil, nil
		groups[g] = treadle
		groups = append(groups, alone)
	}
	p := s.build(groups)
	p.run()
	s.shared.steps += p.steps
	return p
}

// reprice moves a part of each base's work onto the line that takes the head: as much as the doubled flow
// says that a way out is worth. A plan pays the same, because its treadle lines take as many heads of a group
// as leave on bases; a flow that mixes groups pays what the mixing would save. Any amount gives a true bound,
// this one is never below the doubled flow's.
func (s *search) reprice(doubled *plumbing) {
	for _, g := range s.groups {
		group := &s.shared.groups[g]
		worth := doubled.potential[doubled.groups[g].out].minus(doubled.potential[sink])
		worth.order = 0
		s.shared.charge(group.treadleIn, cost{}.minus(worth))
		for _, to := range group.onto {
			s.shared.charge(to.arc, worth)
		}
		for _, k := range group.kin {
			for _, to := range k.onto {
				s.shared.charge(to.arc, worth)
			}
		}
	}
}

// tighten leaves in the flow only what a plan can use that is worth as much as the doubled flow in all ranks
// up to the work. Both sides of such a plan, treadle sets and heads alone, are each the best possible. So
// each class has as many places on either side (the best sets of a matroid have as many elements of each
// weight), and no arc is used whose price is above the difference of its ends' potentials.
func (s *search) tighten(doubled *plumbing) {
	p := s.shared
	for q, arc := range p.quotas {
		p.arcs[arc].room = doubled.arcs[doubled.quotas[q]].flow
	}
	p.arcs[p.leave].room = doubled.arcs[doubled.leave].flow
	loose := func(arc int) bool {
		a := &doubled.arcs[arc]
		over := a.price.plus(doubled.potential[a.from]).minus(doubled.potential[a.to])
		return a.flow == 0 && a.room > 0 && (over.order > 0 || over.order == 0 && over.work > 0)
	}
	for i := range p.groups {
		g, treadle := &p.groups[i], &doubled.groups[i]
		alone := treadle
		if at := slices.Index(s.groups, i); at >= 0 {
			alone = &doubled.groups[len(s.stock.groups)+at]
		}
		for _, from := range g.in {
			line := p.limits[from.limits].lines[0]
			copied := alone
			if s.p.Lines[line].Kind == Treadle {
				copied = treadle
			}
			if arc := copied.from(doubled.limitsOf[line]); loose(arc) {
				p.arcs[from.arc].room = 0
			}
		}
		for j, to := range g.onto {
			if loose(treadle.onto[j].arc) {
				p.arcs[to.arc].room = 0
			}
		}
	}
}

// from is the arc from a line's limits into a group.
func (g *groupArcs) from(limits int) int {
	at := slices.IndexFunc(g.in, func(f flowFrom) bool { return f.limits == limits })
	return g.in[at].arc
}

func (n *network) charge(arc int, more cost) { n.arcs[arc].price = n.arcs[arc].price.plus(more) }
