package match

import (
	"cmp"
	"slices"
)

// trySteps bounds the search through all plans, in pairs of head and base looked at: some hundredths of a
// second on a small computer (measured). A plan that it gave up on says so (SplitProved).
const trySteps = 300_000

// trial looks through all plans that are worth as much as one in every rank up to the work, for the one that
// is best in all ranks. In a small stock it gets through; in a large one it gives up.
type trial struct {
	*exchange
	heads, bases, lines []int
	priorities, dues    map[int]int // places still to be filled, by priority and by due date
	left                []int       // slots left of each line
	filled              int         // places still to be filled
	minutes             int         // still to be spent
	used                []bool
	steps               int

	now, best [][]Set
	worth     []int
}

// exact replaces the plan by the best one, and says whether the search got through.
func (x *exchange) exact() bool {
	p := x.p
	t := &trial{exchange: x, heads: sequence(len(p.Heads)), bases: sequence(len(p.Bases)),
		lines:      byRank(p.Lines),
		priorities: map[int]int{}, dues: map[int]int{}, used: make([]bool, len(p.Bases)),
		now: make([][]Set, len(p.Lines))}
	slices.SortFunc(t.heads, func(a, b int) int {
		return cmp.Or(cmp.Compare(p.Heads[a].Arrived, p.Heads[b].Arrived),
			cmp.Compare(p.Heads[a].ID, p.Heads[b].ID))
	})
	slices.SortFunc(t.bases, func(a, b int) int {
		return cmp.Or(cmp.Compare(p.Bases[a].Arrived, p.Bases[b].Arrived),
			cmp.Compare(p.Bases[a].ID, p.Bases[b].ID))
	})
	for line, list := range x.sets {
		t.left = append(t.left, p.Lines[line].Slots)
		t.priorities[p.Lines[line].Priority] += len(list)
		t.dues[p.Lines[line].Due] += len(list)
		t.filled += len(list)
		for _, set := range list {
			t.minutes += set.Minutes
		}
	}
	t.worth = x.rank(x.sets)
	if !t.try(0) {
		return false
	}
	if t.best != nil {
		copy(x.sets, t.best)
	}
	return true
}

// rank is what a plan is worth after the total work: the work by order, the age, and pairs kept together.
func (x *exchange) rank(sets [][]Set) []int {
	rank := make([]int, x.n+2)
	for line, list := range sets {
		for _, s := range list {
			rank[x.order[line]] -= s.Minutes
			rank[x.n] -= x.p.Heads[s.Head].Arrived - x.first
			if s.Base >= 0 {
				rank[x.n] -= x.p.Bases[s.Base].Arrived - x.first
				if !s.Together {
					rank[x.n+1]--
				}
			}
		}
	}
	return rank
}

// try decides the heads from at on; false when it gave up.
func (t *trial) try(at int) bool {
	if t.steps++; t.steps > trySteps {
		return false
	}
	if t.filled == 0 {
		if t.minutes == 0 {
			if worth := t.rank(t.now); slices.Compare(worth, t.worth) > 0 {
				t.worth, t.best = worth, make([][]Set, len(t.now))
				for line, list := range t.now {
					t.best[line] = slices.Clone(list)
				}
			}
		}
		return true
	}
	if t.filled > len(t.heads)-at {
		return true
	}
	head := t.heads[at]
	h := t.p.Heads[head]
	for _, line := range t.lines {
		l := t.p.Lines[line]
		if t.left[line] == 0 || t.priorities[l.Priority] == 0 || t.dues[l.Due] == 0 || l.Kind&h.As == 0 ||
			t.p.Allows != nil && !t.p.Allows(line, head) {
			continue
		}
		if l.Kind != Treadle {
			if !t.with(at, line, Set{Head: head, Base: -1}) {
				return false
			}
			continue
		}
		for _, base := range t.bases {
			if t.steps++; t.used[base] {
				continue
			}
			minutes, fits := t.p.Work(head, base)
			if !fits || minutes > t.minutes {
				continue
			}
			t.used[base] = true
			set := Set{Head: head, Base: base, Minutes: minutes,
				Together: h.Donation != "" && h.Donation == t.p.Bases[base].Donation}
			through := t.with(at, line, set)
			t.used[base] = false
			if !through {
				return false
			}
		}
	}
	return t.try(at + 1)
}

// with goes on with a set in a line.
func (t *trial) with(at, line int, set Set) bool {
	l := t.p.Lines[line]
	change := func(n int) {
		t.left[line] += n
		t.filled += n
		t.priorities[l.Priority] += n
		t.dues[l.Due] += n
		t.minutes += n * set.Minutes
	}
	change(-1)
	t.now[line] = append(t.now[line], set)
	through := t.try(at + 1)
	t.now[line] = t.now[line][:len(t.now[line])-1]
	change(1)
	return through
}
