package match

import "slices"

// plumbing is the network of a stock together with what its arcs stand for.
type plumbing struct {
	network
	stock    *stock
	limits   []limits
	limitsOf []int         // for each line, its limits
	slots    []int         // for each line, the arc into its limits
	quotas   map[quota]int // the arcs out of the source
	exit     int           // node through which heads leave alone,
	leave    int           // and its arc to the sink
	groups   []groupArcs
	bases    []pool // for each group of bases: bases that have no kin among the heads
	kin      [][]pool
	kinAt    []map[string]int // for each group of bases, the pool of a donation
}

// quota is the lines of one class that want heads alone, or on a base.
type quota struct {
	class   int
	treadle bool
}

// limits is the lines that the same groups can serve: to the flow they are one.
type limits struct {
	node  int
	lines []int
}

// pool is pieces behind one arc whose steps are their ages.
type pool struct {
	node   int // where the pool begins
	arc    int
	pieces []int
}

type groupArcs struct {
	headGroup
	in        []flowFrom // from the limits
	out       int        // node at which its heads are chosen and their way out is not
	treadleIn int        // for a shared group: heads taken by lines that want a base with them,
	aloneIn   int        // heads taken by lines that want them alone,
	aloneOut  int        // and heads that leave alone; a plan needs the last two to be equal
	common    pool
	kin       []kinArcs
	onto      []flowTo // to each group of bases
	aloneLine int      // number of places that can take its heads alone
}

// kinArcs is the heads of a group that came with a base that fits them.
type kinArcs struct {
	pool
	onto []flowTo // to the bases they came with; to is the number of the base group, kin that of the pool
}

type flowFrom struct{ limits, arc int }

type flowTo struct{ to, kin, arc int }

func (s *stock) build(groups []headGroup) *plumbing {
	p := &plumbing{stock: s, slots: make([]int, len(s.p.Lines)), quotas: map[quota]int{}}
	p.node() // source
	p.node() // sink
	p.exit = p.node()
	p.leave = p.join(p.exit, sink, len(s.p.Heads), cost{})
	p.buildBases(groups)
	p.buildLines(groups)
	for _, g := range groups {
		p.buildGroup(g)
	}
	return p
}

// buildLines joins lines that the same groups serve.
func (p *plumbing) buildLines(groups []headGroup) {
	serves := make([][]int32, len(p.slots))
	for i, g := range groups {
		for _, line := range g.treadle {
			serves[line] = append(serves[line], int32(i))
		}
		for _, line := range g.alone {
			serves[line] = append(serves[line], int32(i))
		}
	}
	p.limitsOf = make([]int, len(p.slots))
	known := map[string]int{}
	for _, line := range p.stock.rank {
		p.slots[line] = -1
		if len(serves[line]) == 0 {
			continue
		}
		l := p.stock.p.Lines[line]
		key := string(rune(l.Kind)) + keyOf(serves[line])
		at, ok := known[key]
		if !ok {
			at = len(p.limits)
			known[key] = at
			p.limits = append(p.limits, limits{node: p.node()})
		}
		p.limitsOf[line] = at
		p.limits[at].lines = append(p.limits[at].lines, line)
		q := quota{p.stock.class[line], l.Kind == Treadle}
		arc, ok := p.quotas[q]
		if !ok {
			arc = p.join(source, p.node(), 0, cost{order: int64(q.class)})
			p.quotas[q] = arc
		}
		p.arcs[arc].room += int32(l.Slots)
		p.slots[line] = p.join(int(p.arcs[arc].to), p.limits[at].node, l.Slots, cost{})
	}
}

// buildBases gives each group of bases a node, and another to those of its bases that came with a head that
// fits them.
func (p *plumbing) buildBases(groups []headGroup) {
	heads := map[string][]int{} // rows of the heads of each donation
	for _, g := range groups {
		for _, h := range g.heads {
			if d := p.stock.p.Heads[h].Donation; d != "" && g.row != misfit {
				heads[d] = append(heads[d], g.row)
			}
		}
	}
	for at, members := range p.stock.bases {
		in := p.node()
		var common []int
		var kin []pool
		where := map[string]int{}
		for _, b := range members {
			d := p.stock.p.Bases[b].Donation
			if !slices.ContainsFunc(heads[d], func(row int) bool { return p.stock.work[row][at] != misfit }) {
				common = append(common, b)
				continue
			}
			i, ok := where[d]
			if !ok {
				i = len(kin)
				where[d] = i
				kin = append(kin, pool{})
			}
			kin[i].pieces = append(kin[i].pieces, b)
		}
		for i := range kin {
			kin[i].node = p.node()
			p.join(in, kin[i].node, len(kin[i].pieces), cost{})
			kin[i].arc = p.ladder(kin[i].node, sink, p.ages(kin[i].pieces, p.baseArrived))
		}
		p.bases = append(p.bases,
			pool{node: in, arc: p.ladder(in, sink, p.ages(common, p.baseArrived)), pieces: common})
		p.kin, p.kinAt = append(p.kin, kin), append(p.kinAt, where)
	}
}

func (p *plumbing) buildGroup(g headGroup) {
	a := groupArcs{headGroup: g}
	in := p.node()
	feed := func(to int, lines []int) {
		for _, line := range lines {
			from := p.limitsOf[line]
			if !slices.ContainsFunc(a.in, func(f flowFrom) bool { return f.limits == from }) {
				a.in = append(a.in, flowFrom{from, p.join(p.limits[from].node, to, len(g.heads), cost{})})
			}
		}
	}
	if len(g.treadle) == 0 {
		feed(in, g.alone)
		a.common = pool{node: in, arc: p.ladder(in, p.exit, p.ages(g.heads, p.headArrived)), pieces: g.heads}
		p.groups = append(p.groups, a)
		return
	}

	out := p.node()
	a.out = out
	a.common.node = in
	where := map[string]int{}
	for _, h := range g.heads {
		d := p.stock.p.Heads[h].Donation
		i, ok := where[d]
		if !ok {
			i = p.kinOf(&a, d)
			where[d] = i
		}
		if i < 0 {
			a.common.pieces = append(a.common.pieces, h)
		} else {
			a.kin[i].pieces = append(a.kin[i].pieces, h)
		}
	}
	a.common.arc = p.ladder(in, out, p.ages(a.common.pieces, p.headArrived))
	for i := range a.kin {
		k := &a.kin[i]
		k.node = p.node()
		k.arc = p.ladder(in, k.node, p.ages(k.pieces, p.headArrived))
		p.join(k.node, out, len(k.pieces), cost{})
		for j := range k.onto {
			to := &k.onto[j]
			to.arc = p.join(k.node, p.kin[to.to][to.kin].node, len(k.pieces),
				cost{work: int64(p.stock.work[g.row][to.to])})
		}
	}
	fitting := 0
	for at, minutes := range p.stock.work[g.row] {
		if minutes != misfit {
			fitting += len(p.stock.bases[at])
			a.onto = append(a.onto,
				flowTo{to: at,
					arc: p.join(out, p.bases[at].node, len(g.heads), cost{work: int64(minutes), age: 1})})
		}
	}
	if !g.shared() {
		feed(in, g.treadle)
		p.groups = append(p.groups, a)
		return
	}

	treadle, alone := p.node(), p.node()
	a.treadleIn = p.join(treadle, in, min(fitting, len(g.heads)), cost{})
	feed(treadle, g.treadle)
	feed(alone, g.alone)
	for _, line := range g.alone {
		a.aloneLine += p.stock.p.Lines[line].Slots
	}
	a.aloneIn = p.ladder(alone, in, nil)
	a.aloneOut = p.ladder(out, p.exit, nil)
	p.groups = append(p.groups, a)
	p.allow(len(p.groups)-1, span{0, min(a.aloneLine, len(g.heads))})
}

// kinOf adds the arcs between the heads of a donation and the bases that came with them; -1 when no such base
// fits.
func (p *plumbing) kinOf(a *groupArcs, donation string) int {
	if donation == "" {
		return -1
	}
	var onto []flowTo
	for at, minutes := range p.stock.work[a.row] {
		if i, ok := p.kinAt[at][donation]; ok && minutes != misfit {
			onto = append(onto, flowTo{to: at, kin: i})
		}
	}
	if len(onto) == 0 {
		return -1
	}
	a.kin = append(a.kin, kinArcs{onto: onto})
	return len(a.kin) - 1
}

// span is how many heads of a shared group leave alone, at least and at most.
type span struct{ least, most int }

// allow sets the span of a shared group. The units it demands come before every other rank.
func (p *plumbing) allow(group int, s span) {
	steps := make([]cost, s.most)
	for i := range s.least {
		steps[i].order = demanded
	}
	for _, arc := range []int{p.groups[group].aloneIn, p.groups[group].aloneOut} {
		p.arcs[arc].steps, p.arcs[arc].room, p.arcs[arc].flow = steps, int32(s.most), 0
	}
}

func (p *plumbing) headArrived(h int) int { return p.stock.p.Heads[h].Arrived }
func (p *plumbing) baseArrived(b int) int { return p.stock.p.Bases[b].Arrived }

func (p *plumbing) ages(pieces []int, arrived func(int) int) []cost {
	steps := make([]cost, len(pieces))
	for i, piece := range pieces {
		steps[i].age = day * int64(arrived(piece)-p.stock.dayBeforeFirst)
	}
	return steps
}
