package crate

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry/measure"
)

type demand struct{ length, count int }

func cutOf(demands ...demand) (list []Piece) {
	for _, d := range demands {
		for range d.count {
			list = append(list, Piece{"piece", measure.Length(d.length) * mm})
		}
	}
	return list
}

// Cutting-stock problems whose least number of rolls is known. None of them has a kerf.
func TestCutListOfPublishedProblems(t *testing.T) {
	for _, tt := range []struct {
		source  string
		roll    int
		demands []demand
		rolls   int
	}{
		{"Wikipedia, Cutting-stock problem: 13 widths of paper, 73 rolls", 5600,
			[]demand{{1380, 22}, {1520, 25}, {1560, 12}, {1710, 14}, {1820, 18}, {1880, 18}, {1930, 20},
				{2000, 10},
				{2050, 12}, {2100, 14}, {2140, 16}, {2150, 18}, {2200, 20}}, 73},
		{"GAMS model library, CUTSTOCK (SEQ 294), after Gilmore and Gomory 1961 and 1963; the optimum was " +
			"computed with another solver", 100, []demand{{45, 97}, {36, 610}, {31, 395}, {14, 211}}, 453},
		{"AMPL, A Modeling Language for Mathematical Programming, chapter 15: figures from memory, the " +
			"optimum " +
			"computed with another solver", 110, []demand{{20, 48}, {45, 35}, {50, 24}, {55, 10}, {75, 8}},
			47},
		{"the cutting-stock example of the AMPL interface for Java; the optimum was computed with another " +
			"solver",
			6450, []demand{{677, 10}, {756, 40}, {1746, 33}, {1876, 10}}, 18},
	} {
		list, saw := cutOf(tt.demands...), Saw{Buy: measure.Length(tt.roll) * mm}
		plan, err := CutList(list, nil, saw)
		require.NoError(t, err, tt.source)
		requireValid(t, list, nil, saw, plan)
		assert.Len(t, plan.Cuts, tt.rolls, tt.source)
		assert.True(t, plan.Optimal, tt.source)
	}
}

// An order of crates is few lengths, each many times, from boards in hand that run out and boards to buy: its
// plan is within one board of what any plan must use.
func TestCutListOfFewLengths(t *testing.T) {
	used, least := measure.Length(0), measure.Length(0)
	for seed := range uint64(40) {
		r := rand.New(rand.NewPCG(seed, 8))
		var demands []demand
		for range 2 + r.IntN(6) {
			demands = append(demands, demand{200 + r.IntN(900), 5 + r.IntN(60)})
		}
		hand := []Board{{2400 * mm, r.IntN(30)}, {1800 * mm, r.IntN(20)}, {3050 * mm, r.IntN(5)}}
		list, saw := cutOf(demands...), Saw{Kerf: 3 * mm, Buy: 3000 * mm}
		plan, err := CutList(list, hand, saw)
		require.NoError(t, err)
		requireValid(t, list, hand, saw, plan)
		assert.LessOrEqual(t, plan.Used-plan.Least, 3000*mm, "seed %d", seed)
		used, least = used+plan.Used, least+plan.Least
	}
	assert.Less(t, float64(used), 1.01*float64(least))
}
