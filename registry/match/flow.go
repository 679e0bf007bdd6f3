package match

import "math"

// cost is the price of one unit on an arc, compared rank by rank. Five ranks stand in three numbers, so that
// an arc fits a line of the processor's cache; the ranges in Problem.check keep them apart and far from
// overflow:
//
//   - order: a unit that the branch and bound demands (-1) counts 2³² classes; a class, the place in the
//     order of priority and due date, is below 2²⁰, and a path has only one, because only arcs out of the
//     source have one;
//   - work: minutes, below 2²⁰ for each of fewer than 2²⁰ pairs;
//   - age: a day counts 2²² pairs apart. Days are below 2²⁰ for each of fewer than 2²⁰ pieces, so days stay
//     below 2⁴⁰ and the whole below 2⁶²; pairs apart stay below 2²⁰.
type cost struct{ order, work, age int64 }

const (
	demanded = -1 << 32
	ageBits  = 22
	day      = 1 << ageBits
)

func (a cost) plus(b cost) cost  { return cost{a.order + b.order, a.work + b.work, a.age + b.age} }
func (a cost) minus(b cost) cost { return cost{a.order - b.order, a.work - b.work, a.age - b.age} }

func (a cost) less(b cost) bool {
	switch {
	case a.order != b.order:
		return a.order < b.order
	case a.work != b.work:
		return a.work < b.work
	}
	return a.age < b.age
}

// arc carries up to room units. Its price is the same for each unit or, where steps are given, one step after
// the other; steps never fall, so that the next unit is always the cheapest left and the last one the dearest
// taken.
type arc struct {
	from, to   int32
	room, flow int32
	price      cost
	steps      []cost
}

// next is the price of one more unit, last that of the unit taken last.
func (a *arc) next() cost {
	if a.steps != nil {
		return a.steps[a.flow]
	}
	return a.price
}

func (a *arc) last() cost {
	if a.steps != nil {
		return a.steps[a.flow-1]
	}
	return a.price
}

// slack is how many units more, or fewer, cost the same as the first of them.
func (a *arc) slack(back bool) int32 {
	if a.steps == nil {
		if back {
			return a.flow
		}
		return a.room - a.flow
	}
	n := int32(0)
	if back {
		for i := a.flow - 1; i >= 0 && a.steps[i] == a.steps[a.flow-1]; i-- {
			n++
		}
		return n
	}
	for i := a.flow; i < a.room && a.steps[i] == a.steps[a.flow]; i++ {
		n++
	}
	return n
}

// network is a flow network with one source and one sink.
type network struct {
	arcs []arc
	ends [][]int32 // for each node, its arcs: 2i leaves along arc i, 2i+1 goes back along it

	potential, dist []cost
	seen            []uint8
	by              []int32
	heap            []entry
	level           []int // nodes reached at the distance of the node just settled: they come before the heap
	touched         []int
	steps           int64 // arcs looked at so far: the measure of effort
}

const source, sink = 0, 1

const (
	fresh uint8 = iota
	reached
	settled
)

func (n *network) node() int {
	n.ends = append(n.ends, nil)
	return len(n.ends) - 1
}

func (n *network) add(a arc) int {
	id := len(n.arcs)
	n.arcs = append(n.arcs, a)
	n.ends[a.from] = append(n.ends[a.from], int32(2*id))
	n.ends[a.to] = append(n.ends[a.to], int32(2*id+1))
	return id
}

func (n *network) join(from, to, room int, price cost) int {
	return n.add(arc{from: int32(from), to: int32(to), room: int32(room), price: price})
}

func (n *network) ladder(from, to int, steps []cost) int {
	return n.add(arc{from: int32(from), to: int32(to), room: int32(len(steps)), steps: steps})
}

// residual tells whether one unit can pass an end, where to, and at what price.
func (n *network) residual(end int32) (to int, price cost, open bool) {
	a := &n.arcs[end>>1]
	if end&1 == 0 {
		if a.flow == a.room {
			return 0, cost{}, false
		}
		return int(a.to), a.next(), true
	}
	if a.flow == 0 {
		return 0, cost{}, false
	}
	return int(a.from), cost{}.minus(a.last()), true
}

// run empties the network and fills it along cheapest paths while a path costs no forced unit.
func (n *network) run() {
	for i := range n.arcs {
		n.arcs[i].flow = 0
	}
	n.prepare()
	for n.search() {
		if n.potential[sink].minus(n.potential[source]).order >= -demanded {
			return
		}
		n.push()
	}
}

// prepare sets potentials under which no arc of the empty network has a negative price: distances from the
// source, by the method of Bellman and Ford with a queue. Without forced units they are all zero.
func (n *network) prepare() {
	size := len(n.ends)
	n.potential, n.dist = make([]cost, size), make([]cost, size)
	n.seen, n.by = make([]uint8, size), make([]int32, size)
	negative := false
	for i := range n.arcs {
		a := &n.arcs[i]
		negative = negative || a.room > 0 && a.next().less(cost{})
	}
	if !negative {
		return
	}
	known, queued := make([]bool, size), make([]bool, size)
	known[source] = true
	queue := []int{source}
	for len(queue) > 0 {
		u := queue[0]
		queue = queue[1:]
		queued[u] = false
		for _, end := range n.ends[u] {
			v, price, open := n.residual(end)
			if !open {
				continue
			}
			if d := n.potential[u].plus(price); !known[v] || d.less(n.potential[v]) {
				known[v], n.potential[v] = true, d
				if !queued[v] {
					queued[v] = true
					queue = append(queue, v)
				}
			}
		}
	}
}

// search finds a cheapest path from source to sink in the residual network by Dijkstra's method on reduced
// prices, and moves the potentials so that they stay reduced. It ends when the sink is settled: nodes farther
// away keep their potential.
func (n *network) search() bool {
	n.heap = n.heap[:0]
	n.touched = n.touched[:0]
	n.reach(source, cost{}, -1)
	n.level = append(n.level[:0], source)
	found := false
	for len(n.level)+len(n.heap) > 0 {
		var u int
		if last := len(n.level) - 1; last >= 0 {
			u, n.level = n.level[last], n.level[:last]
		} else {
			u = n.pop().node
		}
		if n.seen[u] == settled {
			continue
		}
		n.seen[u] = settled
		if u == sink {
			found = true
			break
		}
		here := n.dist[u]
		base := here.plus(n.potential[u])
		for _, end := range n.ends[u] {
			n.steps++
			v, price, open := n.residual(end)
			if !open || n.seen[v] == settled {
				continue
			}
			d := base.plus(price).minus(n.potential[v])
			if n.seen[v] == fresh || d.less(n.dist[v]) {
				n.reach(v, d, end)
				if d == here {
					n.level = append(n.level, v)
				} else {
					n.queue(v, d)
				}
			}
		}
	}
	far := n.dist[sink]
	for _, v := range n.touched {
		if found && n.seen[v] == settled {
			n.potential[v] = n.potential[v].plus(n.dist[v]).minus(far)
		}
		n.seen[v] = fresh
	}
	return found
}

func (n *network) reach(v int, d cost, by int32) {
	if n.seen[v] == fresh {
		n.seen[v] = reached
		n.touched = append(n.touched, v)
	}
	n.dist[v], n.by[v] = d, by
}

func (n *network) queue(v int, d cost) {
	n.heap = append(n.heap, entry{d, v})
	for i := len(n.heap) - 1; i > 0; {
		up := (i - 1) / 2
		if !n.heap[i].dist.less(n.heap[up].dist) {
			return
		}
		n.heap[i], n.heap[up] = n.heap[up], n.heap[i]
		i = up
	}
}

type entry struct {
	dist cost
	node int
}

func (n *network) pop() entry {
	top, last := n.heap[0], len(n.heap)-1
	n.heap[0] = n.heap[last]
	n.heap = n.heap[:last]
	for i := 0; ; {
		least := i
		for _, child := range [2]int{2*i + 1, 2*i + 2} {
			if child < last && n.heap[child].dist.less(n.heap[least].dist) {
				least = child
			}
		}
		if least == i {
			return top
		}
		n.heap[i], n.heap[least] = n.heap[least], n.heap[i]
		i = least
	}
}

// push sends along the path found as many units as pass at its price.
func (n *network) push() {
	units := int32(math.MaxInt32)
	for v := sink; v != source; v = n.start(n.by[v]) {
		units = min(units, n.arcs[n.by[v]>>1].slack(n.by[v]&1 == 1))
	}
	for v := sink; v != source; v = n.start(n.by[v]) {
		if n.by[v]&1 == 0 {
			n.arcs[n.by[v]>>1].flow += units
		} else {
			n.arcs[n.by[v]>>1].flow -= units
		}
	}
}

func (n *network) start(end int32) int {
	if end&1 == 0 {
		return int(n.arcs[end>>1].from)
	}
	return int(n.arcs[end>>1].to)
}

// spent adds up what the flow costs.
func (n *network) spent() (minutes, days, apart int64) {
	var total cost
	for i := range n.arcs {
		a := &n.arcs[i]
		for unit := range a.flow {
			if a.steps != nil {
				total = total.plus(a.steps[unit])
			} else {
				total = total.plus(a.price)
			}
		}
	}
	days = total.age >> ageBits
	return total.work, days, total.age - days<<ageBits
}
