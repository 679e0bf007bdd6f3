package crate

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
)

const mm = registry.Millimetre

func pieces(lengths ...registry.Length) []Piece {
	var list []Piece
	for i, l := range lengths {
		list = append(list, Piece{fmt.Sprint("p", i), l * mm})
	}
	return list
}

// bruteForce tries every way to share the pieces out, and for each every board for every share.
func bruteForce(list []Piece, hand []Board, saw Saw) (best value, found bool) {
	var shares []registry.Length // wood and kerfs of each share; the last cut needs none
	left := make([]int, len(hand))
	for i, b := range hand {
		left[i] = b.Count
	}
	var boards func(share int, v value)
	boards = func(share int, v value) {
		if share == len(shares) {
			if !found || v.less(best) {
				best, found = v, true
			}
			return
		}
		need := shares[share] - saw.Kerf
		for i, b := range hand {
			if left[i] > 0 && b.Length >= need {
				left[i]--
				boards(share+1, value{v.bought, v.used + b.Length})
				left[i]++
			}
		}
		if saw.Buy > 0 && saw.Buy >= need {
			boards(share+1, value{v.bought + saw.Buy, v.used + saw.Buy})
		}
	}
	var share func(piece int)
	share = func(piece int) {
		if piece == len(list) {
			boards(0, value{})
			return
		}
		size := list[piece].Length + saw.Kerf
		for i := range shares {
			shares[i] += size
			share(piece + 1)
			shares[i] -= size
		}
		shares = append(shares, size)
		share(piece + 1)
		shares = shares[:len(shares)-1]
	}
	share(0)
	return best, found
}

// requireValid checks that a plan cuts every piece once, from boards that are there.
func requireValid(t *testing.T, list []Piece, hand []Board, saw Saw, plan Plan) {
	t.Helper()
	inHand, cut := map[registry.Length]int{}, map[Piece]int{}
	for _, b := range hand {
		inHand[b.Length] += b.Count
	}
	used, bought := registry.Length(0), registry.Length(0)
	for _, c := range plan.Cuts {
		used += c.Board
		if c.Bought {
			bought += c.Board
			require.Equal(t, saw.Buy, c.Board)
		} else {
			inHand[c.Board]--
			require.GreaterOrEqual(t, inHand[c.Board], 0)
		}
		wood := -saw.Kerf
		for _, p := range c.Pieces {
			wood += p.Length + saw.Kerf
			cut[p]++
		}
		require.NotEmpty(t, c.Pieces)
		require.LessOrEqual(t, wood, c.Board)
		require.Equal(t, max(0, c.Board-wood-saw.Kerf), c.Offcut)
	}
	require.Equal(t, used, plan.Used)
	require.Equal(t, bought, plan.Bought)
	require.LessOrEqual(t, plan.Least, plan.Used)
	for _, p := range list {
		cut[p]--
	}
	for p, n := range cut {
		require.Zero(t, n, "%v", p)
	}
}

func TestCutListAgainstBruteForce(t *testing.T) {
	cases := 3000
	if testing.Short() {
		cases = 300
	}
	for seed := range cases {
		r := rand.New(rand.NewPCG(uint64(seed), 1))
		var lengths []registry.Length
		for range r.IntN(8) {
			lengths = append(lengths, registry.Length(50+50*r.IntN(14)))
		}
		list := pieces(lengths...)
		var hand []Board
		for range r.IntN(4) {
			hand = append(hand, Board{registry.Length(300+100*r.IntN(12)) * mm, r.IntN(3)})
		}
		saw := Saw{Kerf: registry.Length(r.IntN(2)*3) * mm, Buy: registry.Length(r.IntN(2)) * 1200 * mm}
		want, found := bruteForce(list, hand, saw)
		plan, err := CutList(list, hand, saw)
		if !found {
			require.Error(t, err, "seed %d", seed)
			continue
		}
		require.NoError(t, err, "seed %d", seed)
		requireValid(t, list, hand, saw, plan)
		require.True(t, plan.Optimal)
		require.Equal(t, want, value{plan.Bought, plan.Used}, "seed %d: %v %v %v", seed, list, hand, saw)
	}
}

// An order of many crates is past what can be proved: the plan must still be whole, and near the bound that it gives.
func TestCutListOfAWholeOrder(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 5))
	var lengths []registry.Length
	for range 400 {
		lengths = append(lengths, registry.Length(150+r.IntN(900)))
	}
	list := pieces(lengths...)
	hand := []Board{{2400 * mm, 40}, {1800 * mm, 25}, {1200 * mm, 30}}
	saw := Saw{Kerf: 3 * mm, Buy: 3000 * mm}
	plan, err := CutList(list, hand, saw)
	require.NoError(t, err)
	requireValid(t, list, hand, saw, plan)
	assert.Less(t, float64(plan.Used), 1.05*float64(plan.Least))
	again, err := CutList(list, hand, saw)
	require.NoError(t, err)
	assert.Equal(t, plan, again)
}

func TestCutList(t *testing.T) {
	saw := Saw{Kerf: 3 * mm}
	// Two pieces of 600 and the kerf between them are 1203: the board of 1200 does not take both.
	plan, err := CutList(pieces(600, 600), []Board{{1200 * mm, 1}, {1203 * mm, 1}}, saw)
	require.NoError(t, err)
	require.Len(t, plan.Cuts, 1)
	assert.Equal(t, "board of 1203 mm: 1 × p0 600 mm, 1 × p1 600 mm", plan.Cuts[0].String())
	assert.Zero(t, plan.Cuts[0].Offcut)

	// A longer board in hand comes before a fitting one that must be bought.
	plan, err = CutList(pieces(900), []Board{{3000 * mm, 1}}, Saw{Buy: 900 * mm})
	require.NoError(t, err)
	assert.Zero(t, plan.Bought)
	assert.Equal(t, 3000*mm, plan.Used)

	// What no board in hand serves is bought as whole boards, and the bound knows it.
	many := make([]Piece, 301)
	for i := range many {
		many[i] = Piece{"slat", 1001 * mm}
	}
	plan, err = CutList(append(many, Piece{"post", 397 * mm}), nil, Saw{Kerf: 3 * mm, Buy: 2400 * mm})
	require.NoError(t, err)
	assert.Equal(t, 151*2400*mm, plan.Used)
	assert.Zero(t, plan.Least%(2400*mm), "%s", plan.Least)
	assert.Equal(t, "board of 2400 mm: 2 × slat 1001 mm", plan.Cuts[1].String())

	plan, err = CutList(nil, nil, saw)
	require.NoError(t, err)
	assert.True(t, plan.Optimal)
	assert.Empty(t, plan.Cuts)

	_, err = CutList(pieces(1300), []Board{{1200 * mm, 1}}, saw)
	assert.EqualError(t, err, `piece "p0" of 1300 mm cannot be cut: the longest board is 1200 mm`)
	_, err = CutList(pieces(700, 700), []Board{{1200 * mm, 1}}, saw)
	assert.EqualError(t, err, "no way was found to cut 2 pieces from the boards in hand: add boards, or give the length of a new board to buy")
	_, err = CutList(make([]Piece, maxPieces+1), nil, saw)
	assert.ErrorContains(t, err, "10001 pieces are too many for one cutting list")
}
