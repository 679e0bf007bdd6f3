package match

import (
	"fmt"
	"math/rand/v2"
	"os"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// rankOf is what a plan is worth, worked out from its sets alone: larger is better, element by element.
func rankOf(p Problem, sets [][]Set) []int {
	var priorities, dues []int
	for _, l := range p.Lines {
		priorities, dues = append(priorities, l.Priority), append(dues, l.Due)
	}
	slices.Sort(priorities)
	slices.Sort(dues)
	priorities, dues = slices.Compact(priorities), slices.Compact(dues)
	slices.Reverse(priorities)

	var arrived []int
	for _, h := range p.Heads {
		arrived = append(arrived, h.Arrived)
	}
	for _, b := range p.Bases {
		arrived = append(arrived, b.Arrived)
	}
	dayBefore := slices.Min(arrived) - 1

	// The work of each order, first to be served first, stands behind the total work.
	split := minutesByOrder(p, sets)
	rank := make([]int, 1+len(priorities)+len(dues)+3)
	tail := rank[1+len(priorities)+len(dues):]
	for line, list := range sets {
		for _, set := range list {
			rank[0]++
			rank[1+slices.Index(priorities, p.Lines[line].Priority)]++
			rank[1+len(priorities)+slices.Index(dues, p.Lines[line].Due)]++
			tail[1] -= p.Heads[set.Head].Arrived - dayBefore
			if set.Base < 0 {
				continue
			}
			minutes, _ := p.Work(set.Head, set.Base)
			tail[0] -= minutes
			tail[1] -= p.Bases[set.Base].Arrived - dayBefore
			if h, b := p.Heads[set.Head].Donation, p.Bases[set.Base].Donation; h == "" || h != b {
				tail[2]--
			}
		}
	}
	arrivals, apart := tail[1], tail[2]
	rank = rank[:len(rank)-2]
	for _, minutes := range split {
		rank = append(rank, -minutes)
	}
	return append(rank, arrivals, apart)
}

// bruteForce tries every choice for every head.
func bruteForce(p Problem) (best []int) {
	eachPlan(p, func(sets [][]Set) {
		if rank := rankOf(p, sets); best == nil || slices.Compare(rank, best) > 0 {
			best = rank
		}
	})
	return best
}

// eachPlan calls fn with every plan there is.
func eachPlan(p Problem, fn func([][]Set)) {
	sets, left, baseUsed := make([][]Set, len(p.Lines)), make([]int, len(p.Lines)), make([]bool, len(p.Bases))
	for i, l := range p.Lines {
		left[i] = l.Slots
	}
	var try func(head int)
	try = func(head int) {
		if head == len(p.Heads) {
			fn(sets)
			return
		}
		try(head + 1)
		for line, l := range p.Lines {
			if left[line] == 0 || l.Kind&p.Heads[head].As == 0 || p.Allows != nil && !p.Allows(line, head) {
				continue
			}
			left[line]--
			place := len(sets[line])
			if l.Kind != Treadle {
				sets[line] = append(sets[line], Set{Head: head, Base: -1})
				try(head + 1)
				sets[line] = sets[line][:place]
			} else {
				for base := range p.Bases {
					if minutes, fits := p.Work(head, base); fits && !baseUsed[base] {
						baseUsed[base] = true
						sets[line] = append(sets[line], Set{Head: head, Base: base, Minutes: minutes})
						try(head + 1)
						sets[line] = sets[line][:place]
						baseUsed[base] = false
					}
				}
			}
			left[line]++
		}
	}
	try(0)
}

// requireValid checks that a plan keeps every rule, and says of itself what is true.
func requireValid(t testing.TB, p Problem, plan Plan) {
	t.Helper()
	require.Len(t, plan.Sets, len(p.Lines))
	heads, bases := map[int]bool{}, map[int]bool{}
	filled, minutes := 0, 0
	for line, list := range plan.Sets {
		l := p.Lines[line]
		require.LessOrEqual(t, len(list), l.Slots)
		for _, set := range list {
			require.False(t, heads[set.Head], "head used twice")
			heads[set.Head] = true
			filled++
			require.NotZero(t, l.Kind&p.Heads[set.Head].As)
			require.True(t, p.Allows == nil || p.Allows(line, set.Head))
			if l.Kind != Treadle {
				require.Equal(t, -1, set.Base)
				continue
			}
			require.False(t, bases[set.Base], "base used twice")
			bases[set.Base] = true
			work, fits := p.Work(set.Head, set.Base)
			require.True(t, fits)
			require.Equal(t, work, set.Minutes)
			d := p.Heads[set.Head].Donation
			require.Equal(t, d != "" && d == p.Bases[set.Base].Donation, set.Together)
			minutes += work
		}
	}
	require.Equal(t, filled, plan.Filled)
	require.EqualValues(t, minutes, plan.Minutes)
}

// shape says how large random problems are.
type shape struct {
	lines, heads, bases, slots, patterns, days, donations int
	either                                                bool
}

func random(r *rand.Rand, s shape) Problem {
	var p Problem
	up := func(n int) int { return 1 + r.IntN(n) }
	for i := range up(s.lines) {
		p.Lines = append(p.Lines,
			Line{ID: fmt.Sprint("L", i), Kind: []Kind{Treadle, Treadle, Hand, Hand, Electric}[r.IntN(5)],
				Slots: r.IntN(s.slots + 1), Priority: r.IntN(3), Due: r.IntN(3)})
	}
	donation := func() string {
		if d := r.IntN(s.donations + 1); d > 0 {
			return fmt.Sprint("D", d)
		}
		return ""
	}
	for i := range up(s.heads) {
		as := []Kind{Treadle, Hand, Electric}[r.IntN(3)]
		if s.either && r.IntN(3) > 0 {
			as = []Kind{Treadle | Hand, Treadle | Hand | Electric, Treadle | Electric}[max(0, r.IntN(6)-3)]
		}
		p.Heads = append(p.Heads,
			Head{ID: fmt.Sprint("H", i), As: as, Pattern: fmt.Sprint(r.IntN(s.patterns)), Arrived: 100 +
				r.IntN(s.days), Donation: donation()})
	}
	for i := range up(s.bases) {
		p.Bases = append(p.Bases,
			Base{ID: fmt.Sprint("B", i), Pattern: fmt.Sprint(r.IntN(s.patterns)), Arrived: 100 +
				r.IntN(s.days), Donation: donation()})
	}
	work := map[[2]string]int{}
	for h := range s.patterns {
		for b := range s.patterns {
			work[[2]string{fmt.Sprint(h), fmt.Sprint(b)}] = []int{misfit, misfit, 0, 0, 10, 20, 30}[r.IntN(7)]
		}
	}
	p.Work = func(h, b int) (int, bool) {
		minutes := work[[2]string{p.Heads[h].Pattern, p.Bases[b].Pattern}]
		return minutes, minutes != misfit
	}
	allowed := make([][]bool, len(p.Lines))
	for line := range allowed {
		limited := r.IntN(2) == 0
		for range p.Heads {
			allowed[line] = append(allowed[line], !limited || r.IntN(2) == 0)
		}
	}
	p.Allows = func(line, head int) bool { return allowed[line][head] }
	return p
}

func TestAgainstBruteForce(t *testing.T) {
	cases := 4000
	if os.Getenv("NIGHTLY") == "" {
		cases = 500
	}
	for _, either := range []bool{false, true} {
		for seed := range cases {
			r := rand.New(rand.NewPCG(uint64(seed), 1))
			p := random(r,
				shape{lines: 4, heads: 5, bases: 4, slots: 3, patterns: 3, days: 1 + seed%5,
					donations: seed % 4, either: either})
			for i := range p.Lines {
				p.Lines[i].Number = r.IntN(3)
			}
			plan, err := Solve(p)
			require.NoError(t, err)
			requireValid(t, p, plan)
			require.True(t, plan.Optimal && plan.SplitProved, "seed %d", seed)
			require.Equal(t, bruteForce(p), rankOf(p, plan.Sets), "seed %d, either way %t\n%+v", seed, either,
				p)
		}
	}
}

// Listing the same stock in another order must not change who gets what.
func TestOrderOfListingDoesNotMatter(t *testing.T) {
	for seed := range 200 {
		r := rand.New(rand.NewPCG(uint64(seed), 2))
		p := random(r,
			shape{lines: 4, heads: 12, bases: 8, slots: 5, patterns: 3, days: 4, donations: 3, either: true})
		named := func(p Problem) []string {
			plan, err := Solve(p)
			require.NoError(t, err)
			var names []string
			for line, list := range plan.Sets {
				for _, set := range list {
					name := p.Lines[line].ID + " " + p.Heads[set.Head].ID
					if set.Base >= 0 {
						name += " " + p.Bases[set.Base].ID
					}
					names = append(names, name)
				}
			}
			slices.Sort(names)
			return names
		}
		lines, heads, bases := r.Perm(len(p.Lines)), r.Perm(len(p.Heads)), r.Perm(len(p.Bases))
		q := Problem{
			Allows: func(line, head int) bool { return p.Allows(lines[line], heads[head]) },
			Work:   func(head, base int) (int, bool) { return p.Work(heads[head], bases[base]) },
		}
		for _, i := range lines {
			q.Lines = append(q.Lines, p.Lines[i])
		}
		for _, i := range heads {
			q.Heads = append(q.Heads, p.Heads[i])
		}
		for _, i := range bases {
			q.Bases = append(q.Bases, p.Bases[i])
		}
		assert.Equal(t, named(p), named(q), "seed %d", seed)
	}
}
