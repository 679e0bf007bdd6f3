package match

import (
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
)

// The plan with the fewest dear pieces has as few as trying everything finds among the plans that fill as
// much, and fills as much as the best plan does.
func TestTheFewestDearPiecesAgainstBruteForce(t *testing.T) {
	spared := 0
	for seed := range 400 {
		r := rand.New(rand.NewPCG(uint64(seed), 5))
		p := random(r, shape{lines: 3, heads: 5, bases: 4, slots: 2, patterns: 3, days: 3, donations: 2,
			either: seed%2 == 0})
		heads, bases := make([]bool, len(p.Heads)), make([]bool, len(p.Bases))
		for i := range heads {
			heads[i] = r.IntN(2) == 0
		}
		for i := range bases {
			bases[i] = r.IntN(2) == 0
		}
		count := func(sets [][]Set) (n int) {
			for _, set := range slices.Concat(sets...) {
				if heads[set.Head] {
					n++
				}
				if set.Base >= 0 && bases[set.Base] {
					n++
				}
			}
			return n
		}
		best, err := Solve(p)
		require.NoError(t, err)
		is := Dear{func(i int) bool { return heads[i] }, func(i int) bool { return bases[i] }}
		plan, ok, used, least, err := Fewest(p, nil, is)
		require.NoError(t, err)
		require.True(t, ok)
		require.True(t, p.FillsAsMuch(best, plan), "seed %d", seed)
		require.Equal(t, count(plan.Sets), used)
		want := len(heads) + len(bases)
		filled := 1 + len(p.priorities()) + len(p.dues())
		rank := rankOf(p, best.Sets)[:filled]
		eachPlan(p, func(sets [][]Set) {
			if slices.Equal(rankOf(p, sets)[:filled], rank) {
				want = min(want, count(sets))
			}
		})
		require.Equal(t, want, used, "seed %d", seed)
		require.Equal(t, used, least, "it is proved")
		if count(best.Sets) > used {
			spared++
		}
	}
	require.Greater(t, spared, 40)
}
