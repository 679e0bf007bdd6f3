package match

import (
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// ordersOf is for each line the place of its order among those that are served.
func ordersOf(p Problem) []int {
	n, order := 0, make([]int, len(p.Lines))
	rank := byRank(p.Lines)
	for i, line := range rank {
		if i > 0 && p.Lines[line].order() != p.Lines[rank[i-1]].order() {
			n++
		}
		order[line] = n
	}
	return order
}

// minutesByOrder is what each order's places cost, in the order in which the orders are served.
func minutesByOrder(p Problem, sets [][]Set) []int {
	order := ordersOf(p)
	minutes := make([]int, len(p.Lines)+1)
	for line, list := range sets {
		for _, set := range list {
			minutes[order[line]] += set.Minutes
		}
	}
	return minutes
}

// bestSplit tries every way to give the sets of a plan to its lines.
func bestSplit(p Problem, sets [][]Set) (best []int) {
	var all []Set
	for line, list := range sets {
		if p.Lines[line].Kind == Treadle {
			all = append(all, list...)
		}
	}
	given := make([][]Set, len(sets))
	var try func(i int)
	try = func(i int) {
		if i == len(all) {
			if m := minutesByOrder(p, given); best == nil || slices.Compare(m, best) < 0 {
				best = m
			}
			return
		}
		for line, list := range sets {
			if len(given[line]) == len(list) || p.Lines[line].Kind != Treadle ||
				p.Heads[all[i].Head].As&Treadle == 0 || p.Allows != nil && !p.Allows(line, all[i].Head) {
				continue
			}
			given[line] = append(given[line], all[i])
			try(i + 1)
			given[line] = given[line][:len(given[line])-1]
		}
	}
	try(0)
	return best
}

// Whatever sets a plan has, no other way to give them out leaves less work to the orders that are served
// first.
func TestTheFewestMinutesGoToTheFirstOrders(t *testing.T) {
	apart := 0
	for seed := range 600 {
		r := rand.New(rand.NewPCG(uint64(seed), 7))
		p := random(r, shape{lines: 5, heads: 8, bases: 7, slots: 3, patterns: 4, days: 3, donations: 2})
		for i := range p.Lines {
			p.Lines[i].Number = 1 + r.IntN(4)
		}
		plan, err := Solve(p)
		require.NoError(t, err)
		requireValid(t, p, plan)
		x := &exchange{p: p, sets: plan.Sets, order: ordersOf(p)}
		x.n = 1 + slices.Max(x.order)
		for _, list := range x.sets { // as far from settled as it gets
			slices.Reverse(list)
		}
		for x.cancel() {
		}
		got := minutesByOrder(p, plan.Sets)
		require.Equal(t, bestSplit(p, plan.Sets), got, "seed %d", seed)
		if slices.Max(got[:len(got)-1]) > 0 {
			apart++
		}
	}
	assert.Greater(t, apart, 5, "cases in which the split matters")
}

// An urgent order does not get the set with a new top where an exchange costs no rank.
func TestTheUrgentOrderGetsTheSetWithoutWork(t *testing.T) {
	p := fromTable([][]int{{0, 180}, {0, 180}})
	p.Lines = []Line{{ID: "later", Kind: Treadle, Slots: 1, Due: 20, Number: 1},
		{ID: "urgent", Kind: Treadle, Slots: 1, Due: 10, Number: 2}}
	plan, err := Solve(p)
	require.NoError(t, err)
	assert.Equal(t, []int{180, 0}, []int{plan.Sets[0][0].Minutes, plan.Sets[1][0].Minutes})
	assert.EqualValues(t, 180, plan.Minutes)
	assert.True(t, plan.SplitProved)
	p.Lines[0].Due, p.Lines[0].Number = 10, 12 // of equal days, the lower number goes first
	plan, err = Solve(p)
	require.NoError(t, err)
	assert.Equal(t, []int{180, 0}, []int{plan.Sets[0][0].Minutes, plan.Sets[1][0].Minutes})
}

// In a stock that is too large to look through, giving out the work ends soon: it may ask for the work of a pair
// no more often than a few times for each pair there is.
func TestALargeStockIsGivenUpOnSoon(t *testing.T) {
	p := workshop(300, 300, 50, 10)
	work, asked := p.Work, 0
	p.Work = func(h, b int) (int, bool) {
		asked++
		return work(h, b)
	}
	plan, err := Solve(p)
	require.NoError(t, err)
	assert.True(t, plan.Optimal)
	assert.False(t, plan.SplitProved)
	assert.Less(t, asked, 20*300*300)
}
