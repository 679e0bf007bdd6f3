package crate

import (
	"cmp"
	"fmt"
	"math/rand/v2"
	"os"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry/measure"
)

const mm = measure.Millimetre

func pieces(lengths ...measure.Length) []Piece {
	var list []Piece
	for i, l := range lengths {
		list = append(list, Piece{fmt.Sprint("p", i), l * mm})
	}
	return list
}

// bruteForce tries every way to share the pieces out, and for each every board for every share.
func bruteForce(list []Piece, hand []Board, saw Saw) (best value, found bool) {
	var shares []measure.Length // wood and kerfs of each share; the last cut needs none
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
	inHand, cut := map[measure.Length]int{}, map[Piece]int{}
	for _, b := range hand {
		inHand[b.Length] += b.Count
	}
	used, bought := measure.Length(0), measure.Length(0)
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
		require.True(t,
			slices.IsSortedFunc(c.Pieces, func(a, b Piece) int { return cmp.Compare(b.Length, a.Length) }),
			"longest first")
		require.LessOrEqual(t, wood, c.Board)
		require.Equal(t, max(0, c.Board-wood-saw.Kerf), c.Offcut)
	}
	require.Equal(t, used, plan.Used)
	require.Equal(t, bought, plan.Bought)
	require.LessOrEqual(t, plan.Least, plan.Used)
	if plan.Optimal {
		require.Equal(t, plan.Least, plan.Used)
	}
	require.True(t,
		slices.IsSortedFunc(plan.Cuts, func(a, b Cut) int { return cmp.Compare(b.Board, a.Board) }),
		"longest board first")
	for _, p := range list {
		cut[p]--
	}
	for p, n := range cut {
		require.Zero(t, n, "%v", p)
	}
}

func TestCutListAgainstBruteForce(t *testing.T) {
	cases := 3000
	if os.Getenv("NIGHTLY") == "" {
		cases = 300
	}
	for seed := range cases {
		r := rand.New(rand.NewPCG(uint64(seed), 1))
		var lengths []measure.Length
		for range r.IntN(8) {
			lengths = append(lengths, measure.Length(50+50*r.IntN(14)))
		}
		list := pieces(lengths...)
		var hand []Board
		for range r.IntN(4) {
			hand = append(hand,
				Board{measure.Length(300+100*r.IntN(12)+r.IntN(2)*r.IntN(100)) * mm, r.IntN(3)})
		}
		// A wide kerf sets what a board holds apart from its length, on which the bounds rest.
		saw := Saw{Kerf: []measure.Length{0, 3, 60}[r.IntN(3)] * mm,
			Buy: measure.Length(r.IntN(2)) * 1200 * mm}
		want, found := bruteForce(list, hand, saw)
		if c := (&cutter{saw: saw, pieces: list}); found && c.take(hand) == nil {
			bound := c.bound(0)
			require.LessOrEqual(t, bound.bought, want.bought, "seed %d: %v %v %v", seed, list, hand, saw)
			require.LessOrEqual(t, bound.used, want.used, "seed %d: %v %v %v", seed, list, hand, saw)
			c.pieces = slices.SortedFunc(slices.Values(list),
				func(a, b Piece) int { return cmp.Compare(b.Length, a.Length) })
			mixes := c.relax()
			require.LessOrEqual(t, mixes.bought, want.bought, "seed %d: %v %v %v", seed, list, hand, saw)
			if c.worth.bought == want.bought { // it bounds the plans that buy no more
				require.LessOrEqual(t, mixes.used, want.used, "seed %d: %v %v %v", seed, list, hand, saw)
			}
		}
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

// An order of many crates is past what can be proved: the plan must still be whole, and near the bound that
// it gives. Where boards of every length are left, those must be chosen well; where they run out, all are
// used, and the bound counts no waste on what is bought.
func TestCutListOfAWholeOrder(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 5))
	var lengths []measure.Length
	for range 400 {
		lengths = append(lengths, measure.Length(150+r.IntN(900)))
	}
	list := pieces(lengths...)
	for _, tt := range []struct {
		hand []Board
		buy  measure.Length
		near float64
	}{
		{[]Board{{2400 * mm, 100}, {1800 * mm, 100}, {1200 * mm, 100}}, 0, 1.015},
		{[]Board{{2400 * mm, 40}, {1800 * mm, 25}, {1200 * mm, 30}}, 3000 * mm, 1.025},
	} {
		saw := Saw{Kerf: 3 * mm, Buy: tt.buy}
		plan, err := CutList(list, tt.hand, saw)
		require.NoError(t, err)
		requireValid(t, list, tt.hand, saw, plan)
		assert.False(t, plan.Optimal)
		assert.Less(t, plan.Least, plan.Used)
		assert.Less(t, float64(plan.Used), tt.near*float64(plan.Least))
		again, err := CutList(list, tt.hand, saw)
		require.NoError(t, err)
		assert.Equal(t, plan, again)
	}
}

// Boards that come out even use what the bound says, which proves the plan without any search: 3 × 798 mm and
// two kerfs are 2400 mm.
func TestCutListThatComesOutEven(t *testing.T) {
	list := make([]Piece, 300)
	for i := range list {
		list[i] = Piece{"slat", 798 * mm}
	}
	for _, hand := range [][]Board{{{2400 * mm, 100}}, {{2400 * mm, 101}, {3600 * mm, 5}}} {
		plan, err := CutList(list, hand, Saw{Kerf: 3 * mm})
		require.NoError(t, err)
		assert.Equal(t, 100*2400*mm, plan.Used)
		assert.True(t, plan.Optimal)
	}
	plan, err := CutList(list, []Board{{2400 * mm, 40}}, Saw{Kerf: 3 * mm, Buy: 2400 * mm})
	require.NoError(t, err)
	assert.Equal(t, 60*2400*mm, plan.Bought)
	assert.True(t, plan.Optimal)
}

// The bound by hand. With a kerf of 3 mm, a board of 1200 mm takes 1203 mm of pieces that have a kerf each.
func TestBound(t *testing.T) {
	saw := Saw{Kerf: 3 * mm}
	for _, tt := range []struct {
		pieces []Piece
		hand   []Board
		buy    measure.Length
		want   value
	}{
		// 2403 × 1200 / 1203 mm, rounded up
		{pieces(798, 798, 798), []Board{{1200 * mm, 2}, {2400 * mm, 1}}, 0, value{0, 2_397_008}},
		// 1203 mm are not in hand: one board
		{pieces(1200, 1200), []Board{{1200 * mm, 1}}, 1200 * mm, value{1200 * mm, 2400 * mm}},
		// 1207 mm are not: two; 2410 × 1200 / 1203 mm
		{pieces(1200, 601, 600), []Board{{1200 * mm, 1}}, 1200 * mm, value{2400 * mm, 2_403_991}},
		// 1306 × 1200 / 1203 mm
		{pieces(1200, 100), []Board{{1200 * mm, 5}}, 1200 * mm, value{0, 1_302_744}},
		{pieces(1200), []Board{{2400 * mm, 1}}, 1200 * mm, value{0, 1200 * mm}},
	} {
		saw.Buy = tt.buy
		c := &cutter{saw: saw, pieces: tt.pieces}
		require.NoError(t, c.take(tt.hand))
		assert.Equal(t, tt.want, c.bound(0), "%v", tt.pieces)
	}
}

// The first plan: the longest boards in hand, then bought ones, and at the end each board as short as what is
// on it allows.
func TestFirstFit(t *testing.T) {
	for name, tt := range map[string]struct {
		pieces []Piece
		hand   []Board
		buy    measure.Length
		want   []string
	}{
		"in hand before bought": {pieces(900, 900, 900), []Board{{2706 * mm, 1}, {1500 * mm, 1}}, 1200 * mm,
			[]string{"2706: 900 900 900"}},
		"bought when none in hand is left": {pieces(1100, 1100), []Board{{2100 * mm, 1}, {1000 * mm, 1}},
			1100 * mm, []string{"1100: 1100", "2100: 1100"}},
		"each on the shortest at the end": {pieces(2050, 960),
			[]Board{{3000 * mm, 2}, {2100 * mm, 1}, {960 * mm, 1}}, 0, []string{"2100: 2050", "960: 960"}},
		"not on a longer one that came free": {pieces(1900, 1890),
			[]Board{{3000 * mm, 1}, {2000 * mm, 1}, {1950 * mm, 1}}, 0, []string{"1950: 1900", "2000: 1890"}},
		"no shorter one is left": {pieces(1500, 1450), []Board{{2000 * mm, 1}, {1500 * mm, 1}}, 0,
			[]string{"1500: 1450", "2000: 1500"}},
		"a whole board": {pieces(1200), []Board{{1200 * mm, 1}}, 0,
			[]string{"1200: 1200"}},
		"no way found": {pieces(600, 500, 490), []Board{{1000 * mm, 1}, {700 * mm, 1}},
			0, nil},
	} {
		c := &cutter{saw: Saw{Kerf: 3 * mm, Buy: tt.buy}, pieces: tt.pieces}
		require.NoError(t, c.take(tt.hand), name)
		c.firstFit()
		var got []string
		var used measure.Length
		for _, b := range c.best {
			text := fmt.Sprintf("%g:", c.kinds[b.kind].length.MM())
			for _, p := range b.pieces {
				text += fmt.Sprintf(" %g", c.pieces[p].Length.MM())
			}
			got, used = append(got, text), used+c.kinds[b.kind].length
		}
		slices.Sort(got)
		assert.Equal(t, tt.want, got, name)
		assert.Equal(t, used, c.worth.used, name)
		assert.Equal(t, value{}, c.now, name)
		assert.Empty(t, c.boards, name)
	}

	// Where the first plan fails, the search goes on without it.
	plan, err := CutList(pieces(600, 500, 490), []Board{{1000 * mm, 1}, {700 * mm, 1}}, Saw{Kerf: 3 * mm})
	require.NoError(t, err)
	assert.Len(t, plan.Cuts, 2)
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

	// A piece may take a whole board. Boards without a length, or of which none is left, are none.
	none := []Board{{0, 5}, {1600 * mm, 0}, {1500 * mm, -1}}
	plan, err = CutList(pieces(1200), append(none, Board{1200 * mm, 1}), Saw{})
	require.NoError(t, err)
	assert.Equal(t, []Cut{{Board: 1200 * mm, Pieces: pieces(1200)}}, plan.Cuts)
	_, err = CutList(pieces(1300), append(none, Board{1200 * mm, 1}), Saw{})
	assert.ErrorContains(t, err, "the longest board is 1200 mm")
	_, err = CutList(pieces(0), []Board{{1200 * mm, 1}}, saw)
	assert.ErrorContains(t, err, "cannot be cut")

	plan, err = CutList(nil, nil, saw)
	require.NoError(t, err)
	assert.True(t, plan.Optimal)
	assert.Empty(t, plan.Cuts)

	_, err = CutList(pieces(1300), []Board{{1200 * mm, 1}}, saw)
	assert.EqualError(t, err, `piece "p0" of 1300 mm cannot be cut: the longest board is 1200 mm`)
	_, err = CutList(pieces(700, 700), []Board{{1200 * mm, 1}}, saw)
	assert.EqualError(t, err,
		"no way was found to cut 2 pieces from the boards in hand: add boards, or give the length of a new "+
			"board to buy")
	_, err = CutList(make([]Piece, maxPieces), nil, saw)
	assert.ErrorContains(t, err, "cannot be cut", "so many are read")
	_, err = CutList(make([]Piece, maxPieces+1), nil, saw)
	assert.ErrorContains(t, err, "10001 pieces are too many for one cutting list")
}
