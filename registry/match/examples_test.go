package match

import (
	"fmt"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/optimize/convex/lp"
)

// fromTable makes a problem of one line with as many places as there are heads: which head goes on which
// base, for the least minutes in all.
func fromTable(minutes [][]int) Problem {
	p := Problem{Work: func(h, b int) (int, bool) { return minutes[h][b], true }}
	p.Lines = []Line{{ID: "all", Kind: Treadle, Slots: len(minutes)}}
	for h := range minutes {
		p.Heads = append(p.Heads, Head{ID: fmt.Sprint("H", h), As: Treadle, Pattern: fmt.Sprint(h)})
	}
	for b := range minutes[0] {
		p.Bases = append(p.Bases, Base{ID: fmt.Sprint("B", b), Pattern: fmt.Sprint(b)})
	}
	return p
}

// The assignment problem assign100 of J. E. Beasley's OR-Library: a least sum of 305, as published with it.
func TestOperationalResearchLibrary(t *testing.T) {
	file, err := os.ReadFile("testdata/assign100.txt")
	require.NoError(t, err)
	_, numbers, _ := strings.Cut(string(file), "\n")
	table := [][]int{}
	for line := range strings.Lines(numbers) {
		row := []int{}
		for _, field := range strings.Fields(line) {
			n, err := strconv.Atoi(field)
			require.NoError(t, err)
			row = append(row, n)
		}
		require.Len(t, row, 100)
		table = append(table, row)
	}
	require.Len(t, table, 100)
	plan, err := Solve(fromTable(table))
	require.NoError(t, err)
	assert.EqualValues(t, 305, plan.Minutes)
	assert.Equal(t, 100, plan.Filled)
	assert.True(t, plan.Optimal)
}

// Two worked examples of the assignment problem, tables and answers from memory (both answers were found
// again with another solver):
//
// W. L. Winston, Operations Research: Applications and Algorithms, the chapter on assignment problems: four
// machines, four jobs and set-up times; 15 hours, with machine 1 on job 2, 2 on 4, 3 on 3 and 4 on 1.
//
// H. W. Kuhn, The Hungarian Method for the Assignment Problem, Naval Research Logistics Quarterly 2, 1955:
// four people, four jobs and ratings; the best sum is 27, here as the least sum of what each rating lacks to
// 9.
func TestPublishedExamples(t *testing.T) {
	winston := fromTable([][]int{{14, 5, 8, 7}, {2, 12, 6, 5}, {7, 8, 3, 9}, {2, 4, 6, 10}})
	plan, err := Solve(winston)
	require.NoError(t, err)
	assert.EqualValues(t, 15, plan.Minutes)
	assert.Equal(t, 4, plan.Filled)
	assert.True(t, plan.Optimal)
	for _, set := range plan.Sets[0] {
		assert.Equal(t, []int{1, 3, 2, 0}[set.Head], set.Base)
	}

	ratings := [][]int{{8, 7, 9, 9}, {5, 2, 7, 8}, {6, 1, 4, 9}, {2, 3, 2, 6}}
	for _, row := range ratings {
		for i := range row {
			row[i] = 9 - row[i]
		}
	}
	plan, err = Solve(fromTable(ratings))
	require.NoError(t, err)
	assert.EqualValues(t, 4*9-27, plan.Minutes)

	// The worked example of the web tutorial "Hungarian algorithm", table and answer as printed there.
	plan, err = Solve(fromTable([][]int{{82, 83, 69, 92}, {77, 37, 49, 92}, {11, 69, 5, 86}, {8, 9, 98, 23}}))
	require.NoError(t, err)
	assert.EqualValues(t, 140, plan.Minutes)
}

// linear solves the same question by linear programming: the most places, by priority, then the least work,
// in one price. That price is safe here only because the problems are small: at most 40 places, three
// priorities and 30 minutes a set.
func linear(t *testing.T, p Problem) (filled, value float64) {
	const set, step = 1e7, 5e3
	type unknown struct {
		line, head, base int
		price            float64
	}
	var unknowns []unknown
	for line, l := range p.Lines {
		for head, h := range p.Heads {
			if l.Kind&h.As != 0 && p.Allows(line, head) {
				unknowns = append(unknowns,
					unknown{line, head, -1, -set - step*[]float64{0, 1, 41}[l.Priority]})
			}
		}
	}
	for head, h := range p.Heads {
		for base := range p.Bases {
			if minutes, fits := p.Work(head, base); fits && h.As == Treadle {
				unknowns = append(unknowns, unknown{-1, head, base, float64(minutes)})
			}
		}
	}
	// A row for each line, head and base that bounds its use, and for each treadle head one more: bases used
	// ≥ places filled.
	rows := len(p.Lines) + 2*len(p.Heads) + len(p.Bases)
	a, b, c := mat.NewDense(rows, len(unknowns)+rows, nil), make([]float64, rows),
		make([]float64, len(unknowns)+rows)
	for i, l := range p.Lines {
		b[i] = float64(l.Slots)
	}
	for i := range p.Heads {
		b[len(p.Lines)+i] = 1
	}
	for i := range p.Bases {
		b[len(p.Lines)+2*len(p.Heads)+i] = 1
	}
	for j, u := range unknowns {
		c[j] = u.price
		balance := len(p.Lines) + len(p.Heads) + u.head
		if u.base < 0 {
			a.Set(u.line, j, 1)
			a.Set(len(p.Lines)+u.head, j, 1)
			if p.Lines[u.line].Kind == Treadle {
				a.Set(balance, j, 1)
			}
		} else {
			a.Set(balance, j, -1)
			a.Set(len(p.Lines)+2*len(p.Heads)+u.base, j, 1)
		}
	}
	slack := make([]int, rows)
	for i := range rows {
		a.Set(i, len(unknowns)+i, 1)
		slack[i] = len(unknowns) + i
	}
	value, x, err := lp.Simplex(c, a, b, 1e-9, slack)
	require.NoError(t, err)
	for j, u := range unknowns {
		if u.base < 0 {
			filled += x[j]
		}
	}
	return filled, value
}

// A general-purpose method that knows nothing of flows must find the same on middle-sized problems.
func TestAgainstLinearProgramming(t *testing.T) {
	const set, step = 1e7, 5e3
	cases := 60
	if os.Getenv("NIGHTLY") == "" {
		cases = 10
	}
	for seed := range cases {
		r := rand.New(rand.NewPCG(uint64(seed), 3))
		p := random(r, shape{lines: 6, heads: 20, bases: 14, slots: 6, patterns: 8, days: 9, donations: 3})
		plan, err := Solve(p)
		require.NoError(t, err)
		requireValid(t, p, plan)
		got := float64(plan.Minutes)
		for line, list := range plan.Sets {
			got -= float64(len(list)) * (set + step*[]float64{0, 1, 41}[p.Lines[line].Priority])
		}
		filled, value := linear(t, p)
		assert.InDelta(t, filled, plan.Filled, 1e-6, "seed %d", seed)
		assert.InDelta(t, value, got, 0.5, "seed %d", seed)
	}
}

func TestShortfalls(t *testing.T) {
	p := Problem{
		Lines: []Line{
			{ID: "treadle", Kind: Treadle, Slots: 3},
			{ID: "hand", Kind: Hand, Slots: 1},
			{ID: "electric", Kind: Electric, Slots: 2},
			{ID: "full", Kind: Hand, Slots: 1, Priority: 1},
			{ID: "red", Kind: Treadle, Slots: 1},
		},
		Heads: []Head{
			{ID: "T1", As: Treadle, Pattern: "a"}, {ID: "T2", As: Treadle, Pattern: "a"},
			{ID: "T3", As: Treadle, Pattern: "b"},
			{ID: "M1", As: Hand},
		},
		Bases: []Base{{ID: "B1", Pattern: "a"}},
	}
	p.Work = func(h, b int) (int, bool) { return 0, p.Heads[h].Pattern == p.Bases[b].Pattern }
	p.Allows = func(line, head int) bool { return line != 4 || head == 2 }
	plan, err := Solve(p)
	require.NoError(t, err)
	short := Shortfalls(p, plan)
	assert.Equal(t, Shortfall{Slots: 2, Reason: BasesTaken, Spare: []int{1, 2}}, short[0])
	assert.Equal(t, Shortfall{Slots: 1, Reason: HeadsTaken}, short[1])
	assert.Equal(t, Shortfall{Slots: 2, Reason: NoHead}, short[2])
	assert.Equal(t, Shortfall{}, short[3])
	assert.Equal(t, Shortfall{Slots: 1, Reason: NoBase, Spare: []int{2}}, short[4])
}

func TestWhatIf(t *testing.T) {
	p := Problem{Lines: []Line{{ID: "L", Kind: Treadle, Slots: 6}, {ID: "M", Kind: Hand, Slots: 1}}}
	for i, pattern := range []string{"a", "a", "a", "a", "b", "b"} {
		p.Heads = append(p.Heads, Head{ID: fmt.Sprint("H", i), As: Treadle | Hand, Pattern: pattern})
	}
	p.Bases = []Base{{ID: "A", Pattern: "a"}, {ID: "B", Pattern: "b"}}
	p.Work = func(h, b int) (int, bool) { return 0, p.Heads[h].Pattern == p.Bases[b].Pattern }
	// Before, one head of each pattern has a base and one leaves by hand. Three more of a, but only one of b,
	// could use a base.
	for like, most := range []int{3, 1} {
		for more := range 5 {
			filled, err := WhatIf(p, p.Bases[like].Pattern,
				func(head int) (int, bool) { return p.Work(head, like) }, more)
			require.NoError(t, err)
			assert.Equal(t, 3+min(more, most), filled, "%d more like %s", more, p.Bases[like].ID)
		}
	}
	// A pattern that is not in stock fits what the caller says.
	filled, err := WhatIf(p, "c", func(head int) (int, bool) { return 0, p.Heads[head].Pattern == "b" }, 3)
	require.NoError(t, err)
	assert.Equal(t, 4, filled)
	assert.Len(t, p.Bases, 2)
	// The days on which the heads came, however late, keep no base from being thought of.
	p.Bases = nil
	for i := range p.Heads {
		p.Heads[i].Arrived = 2 * limit
	}
	filled, err = WhatIf(p, "c", func(head int) (int, bool) { return 0, true }, 3)
	require.NoError(t, err)
	assert.Equal(t, 4, filled)
}

func TestRefusals(t *testing.T) {
	for want, change := range map[string]func(*Problem){
		"line all asks for -1 places: 0 to 1048575 are possible":                            func(p *Problem) { p.Lines[0].Slots = -1 },
		"line all must ask for one kind":                                                    func(p *Problem) { p.Lines[0].Kind = Hand | Treadle },
		"work of -1 minutes between H0 and B0: 0 to 1048575 are possible":                   func(p *Problem) { p.Work = func(int, int) (int, bool) { return -1, true } },
		"pieces arrived from day 0 to day 1048575: at most 1048574 days apart are possible": func(p *Problem) { p.Bases[0].Arrived = limit - 1 },
	} {
		p := fromTable([][]int{{1}})
		change(&p)
		_, err := Solve(p)
		assert.EqualError(t, err, want)
	}
	plan, err := Solve(Problem{})
	require.NoError(t, err)
	assert.True(t, plan.Optimal)
}

// The largest numbers that are let through must still compare rank by rank.
func TestLargestNumbersDoNotOverflow(t *testing.T) {
	const n = 60
	minutes := make([][]int, n)
	for h := range minutes {
		for range n {
			minutes[h] = append(minutes[h], limit-1)
		}
	}
	minutes[0][0] = limit - 2
	p := fromTable(minutes)
	p.Lines = append(p.Lines, Line{ID: "first", Kind: Treadle, Slots: 1, Priority: 1 << 40})
	for i := range p.Heads {
		p.Heads[i].Arrived = -(limit - 2)
		p.Bases[i].Arrived = 0
		p.Heads[i].Donation, p.Bases[i].Donation = fmt.Sprint(i), fmt.Sprint(n-1-i)
	}
	plan, err := Solve(p)
	require.NoError(t, err)
	assert.True(t, plan.Optimal)
	assert.EqualValues(t, n*(limit-1)-1, plan.Minutes,
		"one pair is a minute less work, and that comes before arriving together")
	assert.Len(t, plan.Sets[1], 1)
}

// A search that is cut short says so, with a plan that keeps every rule and the rank in which it may not be
// the best.
func TestEffort(t *testing.T) {
	p := workshop(200, 100, 20, 2)
	p.Effort = 1
	plan, err := Solve(p)
	require.NoError(t, err)
	requireValid(t, p, plan)
	assert.False(t, plan.Optimal)
	assert.Equal(t, "days in stock", plan.Gap.Rank)
	assert.Positive(t, plan.Gap.Amount)
}
