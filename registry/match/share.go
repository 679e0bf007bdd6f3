package match

import (
	"cmp"
	"slices"
)

// Which order the work falls to is settled last: the fewest minutes go to the orders that are served first,
// by priority, due date and number. That bears on no rank before it, for each order keeps as many places, and
// the total stays. It is a question of its own, because what a set costs an order depends on the line, the
// head and the base at once, which no flow can price. Given the sets, giving them out is one: each set to a
// line that allows its head, so it is solved exactly, by cancelling cycles. Which bases the heads of the plan
// have is then bettered pair by pair, while the total stays and the pieces are the same. In a small stock all
// plans are looked through first (exact.go), and the answer is proved; in a large one a fixed number of steps
// is spent, and the answer is as good as they made it.

// exchange is the plan being settled.
type exchange struct {
	p     Problem
	order []int // of each line, the place of its order among those that are served
	n     int   // orders
	sets  [][]Set
	steps int64 // that may still be spent
	first int   // the day before the first piece arrived, from which ages count
}

func newExchange(p Problem, sets [][]Set) *exchange {
	x := &exchange{p: p, sets: sets, order: make([]int, len(p.Lines)), steps: sharing, first: limit}
	rank := byRank(p.Lines)
	for i, line := range rank {
		if i > 0 && p.Lines[line].order() != p.Lines[rank[i-1]].order() {
			x.n++
		}
		x.order[line] = x.n
	}
	x.n++
	for _, h := range p.Heads {
		x.first = min(x.first, h.Arrived-1)
	}
	for _, b := range p.Bases {
		x.first = min(x.first, b.Arrived-1)
	}
	return x
}

// sharing is what giving out the work may cost: some tenths of a second on a small computer (measured, not
// guaranteed).
const sharing = 30_000_000

// settle gives the fewest minutes to the orders that are served first. It returns whether that is proved:
// when no order before the last one that has work needs any, or only one order has sets with a base.
func settle(p Problem, sets [][]Set) (proved bool) {
	x := newExchange(p, sets)
	if x.proved() || x.exact() {
		return true
	}
	for better := true; better && x.steps > 0; {
		for x.trade() {
		}
		for x.cancel() {
		}
		better = x.swapBases()
	}
	for _, list := range sets {
		slices.SortStableFunc(list, func(a, b Set) int {
			return cmp.Or(cmp.Compare(p.Heads[a.Head].Arrived, p.Heads[b.Head].Arrived),
				cmp.Compare(p.Heads[a.Head].ID, p.Heads[b.Head].ID))
		})
	}
	return x.proved()
}

// proved says whether no exchange can better the split: all the work falls to the last order that could have
// any.
func (x *exchange) proved() bool {
	last, some := -1, make([]int, x.n)
	for line, list := range x.sets {
		if x.p.Lines[line].Kind != Treadle || len(list) == 0 {
			continue
		}
		last = max(last, x.order[line])
		for _, set := range list {
			some[x.order[line]] += set.Minutes
		}
	}
	for order, minutes := range some {
		if minutes > 0 && order < last {
			return false
		}
	}
	return !x.later(some)
}

// later says whether an order of the same priority and due date that is served later has an empty place, to
// which work could go without any loss in the ranks before.
func (x *exchange) later(minutes []int) bool {
	for free, l := range x.p.Lines {
		if l.Kind != Treadle || len(x.sets[free]) == l.Slots {
			continue
		}
		for line, other := range x.p.Lines {
			if compareRank(l, other) == 0 && x.order[line] < x.order[free] && minutes[x.order[line]] > 0 {
				return true
			}
		}
	}
	return false
}

// allows says whether a line may have a set.
func (x *exchange) allows(line int, s Set) bool {
	l := x.p.Lines[line]
	return l.Kind == Treadle && x.p.Heads[s.Head].As&Treadle != 0 &&
		(x.p.Allows == nil || x.p.Allows(line, s.Head))
}

// trade gives each order, the first one first, a shorter set of a later order for a longer one of its own,
// where both lines allow the other's. It is the cheap part of what cancel does.
func (x *exchange) trade() (better bool) {
	for a, list := range x.sets {
		for i := range list {
			line, at := -1, 0
			least := list[i].Minutes
			for b, other := range x.sets {
				if x.order[b] <= x.order[a] {
					continue
				}
				x.steps -= int64(len(other))
				for j := range other {
					if other[j].Minutes < least && x.allows(a, other[j]) && x.allows(b, list[i]) {
						line, at, least = b, j, other[j].Minutes
					}
				}
			}
			if line >= 0 {
				list[i], x.sets[line][at] = x.sets[line][at], list[i]
				better = true
			}
			if x.steps <= 0 {
				return false
			}
		}
	}
	return better
}

// cancel finds lines that each hand a set on to the next, so that work moves to orders that are served later,
// and does it. A cycle of negative cost is found by the method of Bellman and Ford, with costs that are
// tuples of minutes by order.
func (x *exchange) cancel() bool {
	n := len(x.p.Lines)
	type step struct{ from, to, set, minutes int }
	var steps []step
	for from, list := range x.sets {
		for to := range n {
			if from == to || x.p.Lines[from].Kind != Treadle || len(x.sets[to]) == 0 {
				continue
			}
			best := -1
			x.steps -= int64(len(list))
			for i, set := range list {
				if !x.allows(to, set) {
					continue
				}
				// The earlier order gives its longest set away, and the later one its shortest.
				if best < 0 || x.order[from] <= x.order[to] && set.Minutes > list[best].Minutes ||
					x.order[from] > x.order[to] && set.Minutes < list[best].Minutes {
					best = i
				}
			}
			if best < 0 {
				continue
			}
			steps = append(steps, step{from, to, best, list[best].Minutes})
		}
	}
	dist, by := make([][]int, n), make([]int, n)
	for i := range dist {
		dist[i], by[i] = make([]int, x.n), -1
	}
	changed := -1
	for range n {
		changed = -1
		if x.steps -= int64(len(steps)); x.steps <= 0 {
			return false
		}
		for i, s := range steps {
			dist[s.from][x.order[s.from]] -= s.minutes
			dist[s.from][x.order[s.to]] += s.minutes
			if slices.Compare(dist[s.from], dist[s.to]) < 0 {
				copy(dist[s.to], dist[s.from])
				by[s.to], changed = i, s.to
				x.steps -= int64(x.n)
			}
			dist[s.from][x.order[s.from]] += s.minutes
			dist[s.from][x.order[s.to]] -= s.minutes
		}
		if changed < 0 {
			return false
		}
	}
	for range n { // now on the cycle
		changed = steps[by[changed]].from
	}
	moved := map[int]Set{}
	for at := changed; ; {
		s := steps[by[at]]
		moved[s.to] = x.sets[s.from][s.set]
		if at = s.from; at == changed {
			break
		}
	}
	gone := map[int]int{}
	for at := changed; ; {
		s := steps[by[at]]
		gone[s.from] = s.set
		if at = s.from; at == changed {
			break
		}
	}
	for line, set := range moved {
		x.sets[line][gone[line]] = set
	}
	return true
}

// swapBases lets two sets of different orders exchange their bases where the total stays and the order that
// is served first has less work after it.
func (x *exchange) swapBases() (better bool) {
	for a, list := range x.sets {
		for b, other := range x.sets {
			if x.order[a] >= x.order[b] || x.p.Lines[a].Kind != Treadle || x.p.Lines[b].Kind != Treadle {
				continue
			}
			for i := range list {
				if x.steps -= int64(len(other)); x.steps <= 0 {
					return false
				}
				for j := range other {
					if list[i].Minutes > 0 && x.swap(&list[i], &other[j]) {
						better = true
					}
				}
			}
		}
	}
	return better
}

func (x *exchange) swap(first, second *Set) bool {
	to, fits := x.p.Work(first.Head, second.Base)
	if !fits || to >= first.Minutes {
		return false
	}
	from, fits := x.p.Work(second.Head, first.Base)
	if !fits || to+from != first.Minutes+second.Minutes {
		return false
	}
	first.Base, second.Base = second.Base, first.Base
	first.Minutes, second.Minutes = to, from
	for _, s := range []*Set{first, second} {
		d := x.p.Heads[s.Head].Donation
		s.Together = d != "" && d == x.p.Bases[s.Base].Donation
	}
	return true
}
