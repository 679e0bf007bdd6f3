// Package match decides which head, and for a treadle set which base, goes to which place of which order, so
// that no other choice is better. It knows nothing of machines beyond what bears on that choice.
//
// # What is best
//
// A plan is better than another if it fills more places. Between plans that fill as many, the one that fills
// more places of the highest priority is better, then of the next priority, and so on; after that the one
// that fills more places of the earliest due date, then of the next. Then the least total work counts, then
// the lowest total of the arrival days of all pieces that leave, counted from the day before the oldest piece
// arrived (the oldest in stock go first, and a rare base stays when nothing else decides), then the fewest
// pairs whose head and base did not arrive together. Each rank is compared only when all before it are equal:
// the ranks are a tuple that is compared element by element, and never a weighted sum. To which orders the
// work falls is settled over the plan so found, in share.go.
//
// # Why the answer is optimal
//
// A line's limits bear on heads only, and fit bears on head and base only. So, when each head serves one kind
// of line, every set is a path of one unit of flow
//
//	order lines → lines with the same limits → group of heads → head → group of bases → base → out
//
// and a plan is an integer flow in which every piece has capacity one. Flows are built one unit at a time
// along the cheapest path of the residual network (successive shortest paths): each flow so reached has the
// least cost among all flows out of the same places, because no cycle of negative cost is left. The argument
// needs only that costs are added and compared in an ordered group, which tuples are. That more places and
// places of higher priority come out right needs no cost at all: the sets of places that can be filled
// together are the independent sets of a matroid (a gammoid: the sets linked to the exits by disjoint paths),
// for which taking the best place first, and giving none up again, is optimal. A path leaves the source once,
// so an augmentation never empties a place that is filled.
//
// Heads that are alike to every line and base are one group, and so are alike bases. Inside a group only the
// order of arrival counts, the oldest first; that is a cost that grows with each further unit, and a
// shortest-path method handles growing costs exactly. Pieces of one donation that could stay together have a
// node of their own, with a way between them that saves a point in the last rank. So the network grows with
// the number of patterns, not with the number of pairs.
//
// # Cost in time
//
// With F places filled, V nodes and E arcs, each path is one search of O(E + V log V), and there are at most
// F of them. Patterns × patterns arcs join heads and bases; the pieces themselves add arcs only in proportion
// to their number, and most searches end before they have seen a small part of the network. Where every head
// and base has measures of its own, nothing groups: E grows with heads × bases, and the time with it.
//
// # Where it stops
//
// A head that may leave either alone or on a base breaks the argument: in the flow, half of it can be used by
// a treadle line and leave without a base. Choosing disjoint heads for both uses is then a problem on three
// matroids, for which no fast method is known. Those heads are decided on top of the flow by branch and
// bound. The flow, which lets a group of such heads mix both uses, and the flow with each such head doubled
// both bound what a plan can be worth; see bound.go for how they join. Where a group mixes, the number of its
// heads that leave alone is split into two ranges, each is solved again, and ranges that cannot beat the best
// plan found are dropped. When nothing is left open the plan is optimal and says so.
//
// The search stops at a fixed number of steps, the same on every machine; then the plan says that it is not
// proved, with the first rank in which a better one might exist and by how much. In trials with stocks like a
// workshop's that rank was never above the days in stock. Without such heads the answer is always proved.
package match

import (
	"cmp"
	"fmt"
	"slices"
)

// Kind is what a line asks for. A head has one or several: what it may leave as.
type Kind uint8

const (
	Treadle  Kind = 1 << iota // a head together with a base
	Hand                      // a head alone
	Electric                  // a head alone
)

// Line is a number of equal places in an order.
type Line struct {
	ID       string
	Kind     Kind
	Slots    int
	Priority int // higher goes first
	Due      int // day number; earlier goes first
	Number   int // of the order: of equal rank, the lower goes first
}

// order is what lines of one order have in common.
func (l Line) order() [3]int { return [3]int{l.Priority, l.Due, l.Number} }

// Head is one head in stock. Heads with the same Pattern are alike to every base.
type Head struct {
	ID       string
	As       Kind // one kind, or several joined with |
	Pattern  string
	Arrived  int    // day number
	Donation string // what arrived together; empty: not known
}

// Base is one treadle base in stock. Bases with the same Pattern are alike to every head.
type Base struct {
	ID       string
	Pattern  string
	Arrived  int
	Donation string
}

// Problem is the stock and what is asked of it.
type Problem struct {
	Lines []Line
	Heads []Head
	Bases []Base
	// Allows says whether a line's limits allow a head, beyond its kind. Nil allows all.
	Allows func(line, head int) bool
	// Work says whether a head fits a base, and the work in minutes. It is asked once for each two patterns.
	Work func(head, base int) (minutes int, fits bool)
	// Effort bounds the search over heads that can leave in more than one way, in steps; zero is a default of
	// a few seconds.
	Effort int64
}

// Set is what fills one place: a head, and a base or -1. The numbers are places in the Problem's lists.
type Set struct {
	Head, Base, Minutes int
	Together            bool // head and base arrived together
}

// Plan is the answer. Sets has one list for each line of the problem.
type Plan struct {
	Sets    [][]Set
	Filled  int
	Minutes int64
	Optimal bool
	Gap     Gap

	SplitProved bool // that no other choice leaves less of the work to the orders that are served first
}

// Gap is how far an unproved plan may be from the best: the first rank in which a better plan might differ,
// and by how much.
type Gap struct {
	Rank   string
	Amount int64
}

// limit bounds every number that costs are made of; with it no sum of them overflows, and no rank reaches
// into the next.
const limit = 1 << 20

func (p Problem) check() error {
	if n := len(p.Heads) + len(p.Bases); n >= limit {
		return fmt.Errorf("%d heads and bases are too many to match: fewer than %d are possible", n, limit)
	}
	if len(p.Lines) >= limit {
		return fmt.Errorf("%d lines are too many to match: fewer than %d are possible", len(p.Lines), limit)
	}
	for _, l := range p.Lines {
		if l.Slots < 0 || l.Slots >= limit {
			return fmt.Errorf("line %s asks for %d places: 0 to %d are possible", l.ID, l.Slots, limit-1)
		}
		if l.Kind != Treadle && l.Kind != Hand && l.Kind != Electric {
			return fmt.Errorf("line %s must ask for one kind", l.ID)
		}
	}
	var days []int
	for _, h := range p.Heads {
		days = append(days, h.Arrived)
	}
	for _, b := range p.Bases {
		days = append(days, b.Arrived)
	}
	if len(days) > 0 && slices.Max(days)-slices.Min(days) >= limit-1 {
		return fmt.Errorf("pieces arrived from day %d to day %d: at most %d days apart are possible",
			slices.Min(days), slices.Max(days), limit-2)
	}
	return nil
}

// Solve finds the best plan. The answer depends on the pieces and not on the order in which they are listed.
func Solve(p Problem) (Plan, error) {
	if err := p.check(); err != nil {
		return Plan{}, err
	}
	s, err := newStock(p)
	if err != nil {
		return Plan{}, err
	}
	plan := s.solve()
	plan.SplitProved = settle(p, plan.Sets)
	return plan, nil
}

// byRank lists the numbers of lines in the order in which they are served.
func byRank(lines []Line) []int {
	order := sequence(len(lines))
	slices.SortFunc(order, func(a, b int) int {
		return cmp.Or(compareRank(lines[a], lines[b]), cmp.Compare(lines[a].Number, lines[b].Number),
			cmp.Compare(lines[a].ID, lines[b].ID))
	})
	return order
}

func compareRank(a, b Line) int {
	return cmp.Or(cmp.Compare(b.Priority, a.Priority), cmp.Compare(a.Due, b.Due))
}

func sequence(n int) []int {
	s := make([]int, n)
	for i := range s {
		s[i] = i
	}
	return s
}
