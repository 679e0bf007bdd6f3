package match

import (
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
)

// A plan with pins is the best of all plans that have them, as trying everything finds: a pinned head fits no
// other base and no other use, and a plan counts only if every pin fills a place.
func TestPinsAgainstBruteForce(t *testing.T) {
	found := 0
	for seed := range 400 {
		r := rand.New(rand.NewPCG(uint64(seed), 3))
		p := random(r,
			shape{lines: 3, heads: 5, bases: 4, slots: 2, patterns: 3, days: 1 + seed%4, donations: 2,
				either: seed%2 == 0})
		for i := range p.Lines {
			p.Lines[i].Number = r.IntN(3)
		}
		var pins []Pin
		for n := range 1 + seed%2 {
			if pin := (Pin{r.IntN(len(p.Heads)), r.IntN(len(p.Bases))}); n == 0 ||
				pins[0].Head != pin.Head && pins[0].Base != pin.Base {
				pins = append(pins, pin)
			}
		}
		plan, ok, err := SolvePinned(p, pins)
		require.NoError(t, err)
		want := brutePinned(p, pins)
		require.Equal(t, want != nil, ok, "seed %d", seed)
		if !ok {
			continue
		}
		found++
		requireValid(t, p, plan)
		require.True(t, plan.Optimal)
		for _, pin := range pins {
			require.True(t, slices.ContainsFunc(slices.Concat(plan.Sets...),
				func(s Set) bool { return s.Head == pin.Head && s.Base == pin.Base }))
		}
		if plan.SplitProved {
			require.Equal(t, want, rankOf(p, plan.Sets), "seed %d", seed)
		}
	}
	require.Greater(t, found, 40)
}

// brutePinned tries every choice for every head, and keeps the best that has the pins.
func brutePinned(p Problem, pins []Pin) []int {
	q := p
	q.Work = func(h, b int) (int, bool) {
		for _, pin := range pins {
			if (h == pin.Head) != (b == pin.Base) {
				return 0, false
			}
		}
		return p.Work(h, b)
	}
	var best []int
	eachPlan(q, func(sets [][]Set) {
		has := 0
		for _, set := range slices.Concat(sets...) {
			if slices.Contains(pins, Pin{set.Head, set.Base}) {
				has++
			}
		}
		if rank := rankOf(q, sets); has == len(pins) && (best == nil || slices.Compare(rank, best) > 0) {
			best = rank
		}
	})
	return best
}
