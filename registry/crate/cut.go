// Package crate works out the timber that an order needs: which boards to take, what to cut from each,
// whether the lid of a treadle crate becomes the top of its table, and how many pallets and containers the
// crates fill.
//
// Cutting pieces from boards of different lengths is bin packing, for which no fast exact method is known. A
// plan is better if less has to be bought, and then if the boards it starts are shorter in all: what is cut
// is given, so that is the waste. First-fit decreasing onto the longest boards gives a plan at once. Mixes of
// cuts (columns.go) give a better one where few lengths are cut many times, and a bound. Branch and bound,
// which begins with the shortest boards, then goes on until there is none better, or a fixed number of steps
// is spent. Either way a bound stands beside the plan.
package crate

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"pitman/registry"
	"pitman/registry/measure"
)

// Piece is one piece to cut.
type Piece struct {
	Name   string         `json:"name"`
	Length measure.Length `json:"length_mm"`
}

// Board is boards of one length in hand.
type Board struct {
	Length measure.Length `json:"length_mm"`
	Count  int            `json:"count"`
}

// Cut is one board and what is cut from it, longest first.
type Cut struct {
	Board  measure.Length `json:"board_mm"`
	Bought bool           `json:"bought"` // it is not in hand
	Pieces []Piece        `json:"pieces"`
	Offcut measure.Length `json:"offcut_mm"`
}

// Plan is a whole cutting list. LeastBought is what every plan must buy, and Least what a plan must use that
// buys no more than this one.
type Plan struct {
	Cuts        []Cut          `json:"cuts"`
	Used        measure.Length `json:"used_mm"`
	Bought      measure.Length `json:"bought_mm"`
	Least       measure.Length `json:"least_mm"`
	LeastBought measure.Length `json:"least_bought_mm"`
	Optimal     bool           `json:"optimal"`
}

// Saw is what a cut costs, and what the dealer sells.
type Saw struct {
	Kerf measure.Length // taken away by each cut
	Buy  measure.Length // length of a new board; zero: none can be bought
}

// maxPieces bounds one list: more than that is not an order for one workshop.
const maxPieces = 10_000

// effort is how many placings are tried before a plan is taken as it is: some tenths of a second.
const effort = 300_000

// CutList plans the cutting of all pieces, from boards in hand as far as they go.
func CutList(pieces []Piece, hand []Board, saw Saw) (Plan, error) {
	if len(pieces) > maxPieces {
		return Plan{},
			registry.Errorf(registry.Invalid,
				"%d pieces are too many for one cutting list: at most %d; plan fewer places at once",
				len(pieces), maxPieces)
	}
	c := &cutter{saw: saw, pieces: slices.Clone(pieces), limit: effort}
	slices.SortFunc(c.pieces, func(a, b Piece) int {
		return cmp.Or(cmp.Compare(b.Length, a.Length), cmp.Compare(a.Name, b.Name))
	})
	if err := c.take(hand); err != nil {
		return Plan{}, err
	}
	c.firstFit()
	least := c.bound(0)
	if c.best == nil || c.worth != least {
		mixes := c.relax()
		least = value{max(least.bought, mixes.bought), max(least.used, mixes.used)}
	}
	if c.best == nil || c.worth != least {
		c.place(0, 0)
	}
	if c.best == nil {
		return Plan{}, registry.Errorf(registry.Conflict,
			"no way was found to cut %d pieces from the boards in hand: add boards, or give the length of "+
				"a new board to buy", len(pieces))
	}
	plan := c.plan()
	plan.Optimal = c.limit > 0 && c.limit < effort || c.worth == least
	plan.Least, plan.LeastBought = least.used, least.bought
	if plan.Optimal {
		plan.Least, plan.LeastBought = plan.Used, plan.Bought
	}
	return plan, nil
}

// kindOf is boards of one length that can still be started; left < 0 means as many as are bought.
type kindOf struct {
	length measure.Length
	left   int
}

// started is a board from which pieces are cut; room counts one kerf more than the wood, since the last cut
// may be none.
type started struct {
	kind   int
	room   measure.Length
	pieces []int
}

// value is what a plan uses, compared as a tuple.
type value struct{ bought, used measure.Length }

func (a value) less(b value) bool {
	return a.bought < b.bought || a.bought == b.bought && a.used < b.used
}

type cutter struct {
	saw    Saw
	pieces []Piece
	kinds  []kindOf // by length, and last the board to buy
	limit  int

	boards []started
	now    value
	rest   []measure.Length // for each piece, it and all after it, with their kerfs
	best   []started
	worth  value
}

func (c *cutter) take(hand []Board) error {
	counts := map[measure.Length]int{}
	for _, b := range hand {
		counts[b.Length] += b.Count
	}
	for length, count := range counts {
		if length > 0 && count > 0 {
			c.kinds = append(c.kinds, kindOf{length, count})
		}
	}
	slices.SortFunc(c.kinds, func(a, b kindOf) int { return cmp.Compare(a.length, b.length) })
	longest := c.saw.Buy
	if len(c.kinds) > 0 {
		longest = max(longest, c.kinds[len(c.kinds)-1].length)
	}
	if c.saw.Buy > 0 {
		c.kinds = append(c.kinds, kindOf{c.saw.Buy, -1})
	}
	for _, p := range c.pieces {
		if p.Length <= 0 || p.Length > longest {
			return registry.Errorf(registry.Invalid, "piece %q of %s cannot be cut: the longest board is %s",
				p.Name, p.Length, longest)
		}
	}
	c.sum()
	return nil
}

func (c *cutter) sum() {
	c.rest = make([]measure.Length, len(c.pieces)+1)
	for i := len(c.pieces) - 1; i >= 0; i-- {
		c.rest[i] = c.rest[i+1] + c.pieces[i].Length + c.saw.Kerf
	}
}

// use takes a board of a kind, free gives one back.
func (c *cutter) use(kind int) {
	k := &c.kinds[kind]
	k.left--
	c.now.used += k.length
	if k.left < 0 {
		c.now.bought += k.length
	}
}

func (c *cutter) free(kind int) {
	k := &c.kinds[kind]
	c.now.used -= k.length
	if k.left < 0 {
		c.now.bought -= k.length
	}
	k.left++
}

// start begins a board of a kind, stop gives the last one back with all that is on it.
func (c *cutter) start(kind int) {
	c.use(kind)
	c.boards = append(c.boards, started{kind: kind, room: c.kinds[kind].length + c.saw.Kerf})
}

func (c *cutter) stop() {
	last := len(c.boards) - 1
	c.free(c.boards[last].kind)
	c.boards = c.boards[:last]
}

// bound is the least that a plan can use which goes on from here with this piece.
func (c *cutter) bound(piece int) value {
	need := c.rest[piece]
	for _, b := range c.boards {
		need -= b.room
	}
	if need <= 0 {
		return c.now
	}
	// A board of length L takes L + kerf of pieces with their kerfs, and the shorter the board, the more that
	// helps.
	shortest, inHand := c.kinds[0].length, measure.Length(0)
	for _, k := range c.kinds {
		shortest = min(shortest, k.length)
		inHand += measure.Length(max(0, k.left)) * (k.length + c.saw.Kerf)
	}
	v := c.now
	v.used += (need*shortest + shortest + c.saw.Kerf - 1) / (shortest + c.saw.Kerf)
	if more := need - inHand; more > 0 && c.saw.Buy > 0 {
		v.bought += (more + c.saw.Buy + c.saw.Kerf - 1) / (c.saw.Buy + c.saw.Kerf) * c.saw.Buy
	}
	v.used = max(v.used, v.bought) // what is bought is whole boards
	return v
}

// place tries every board for a piece, and goes on with the next. Pieces of the same length go onto boards in
// their order.
func (c *cutter) place(piece, from int) {
	if c.limit--; c.limit <= 0 {
		return
	}
	if piece == len(c.pieces) {
		if c.best == nil || c.now.less(c.worth) {
			c.keep()
		}
		return
	}
	if c.best != nil && !c.bound(piece).less(c.worth) {
		return
	}
	length := c.pieces[piece].Length
	same := piece+1 < len(c.pieces) && c.pieces[piece+1].Length == length
	next := func(board int) int {
		if same {
			return board
		}
		return 0
	}
	for i := from; i < len(c.boards); i++ {
		room := c.boards[i].room
		alike := func(b started) bool { return b.room == room }
		if room >= length+c.saw.Kerf && !slices.ContainsFunc(c.boards[from:i], alike) {
			c.put(piece, i)
			c.place(piece+1, next(i))
			c.unput(piece, i)
		}
	}
	for kind, k := range c.kinds {
		if (k.left > 0 || c.isBuy(kind)) && k.length >= length {
			c.start(kind)
			c.put(piece, len(c.boards)-1)
			c.place(piece+1, next(len(c.boards)-1))
			c.stop()
		}
	}
}

func (c *cutter) isBuy(kind int) bool { return c.saw.Buy > 0 && kind == len(c.kinds)-1 }

func (c *cutter) put(piece, board int) {
	b := &c.boards[board]
	b.room -= c.pieces[piece].Length + c.saw.Kerf
	b.pieces = append(b.pieces, piece)
}

func (c *cutter) unput(piece, board int) {
	b := &c.boards[board]
	b.room += c.pieces[piece].Length + c.saw.Kerf
	b.pieces = b.pieces[:len(b.pieces)-1]
}

// keep takes the boards as they are for the best plan.
func (c *cutter) keep() {
	c.worth, c.best = c.now, make([]started, len(c.boards))
	for i, b := range c.boards {
		c.best[i] = started{b.kind, b.room, slices.Clone(b.pieces)}
	}
}

// firstFit puts each piece, the longest first, onto the first board that takes it, and else starts the
// longest board in hand, or one to buy. Then each board gives way to the shortest one in hand that takes what
// was put on it.
func (c *cutter) firstFit() {
	placed := 0
	for piece, p := range c.pieces {
		at := slices.IndexFunc(c.boards, func(b started) bool { return b.room >= p.Length+c.saw.Kerf })
		if at < 0 {
			kind := c.longest(p.Length)
			if kind < 0 {
				break
			}
			c.start(kind)
			at = len(c.boards) - 1
		}
		c.put(piece, at)
		placed++
	}
	if placed == len(c.pieces) {
		c.shrink()
		c.keep()
	}
	for len(c.boards) > 0 {
		c.stop()
	}
}

func (c *cutter) shrink() {
	for i := range c.boards {
		b := &c.boards[i]
		filled := c.kinds[b.kind].length + c.saw.Kerf - b.room
		kind := slices.IndexFunc(c.kinds,
			func(k kindOf) bool { return k.left > 0 && k.length+c.saw.Kerf >= filled })
		if kind >= 0 && c.kinds[kind].length < c.kinds[b.kind].length {
			c.free(b.kind)
			c.use(kind)
			b.kind, b.room = kind, c.kinds[kind].length+c.saw.Kerf-filled
		}
	}
}

// longest picks the longest board in hand that takes a length, and else one to buy; less than zero: there is
// none.
func (c *cutter) longest(length measure.Length) int {
	for kind := len(c.kinds) - 1; kind >= 0; kind-- {
		if k := c.kinds[kind]; k.left > 0 && k.length >= length {
			return kind
		}
	}
	if c.saw.Buy >= length {
		return len(c.kinds) - 1
	}
	return -1
}

func (c *cutter) plan() Plan {
	p := Plan{Cuts: []Cut{}, Used: c.worth.used, Bought: c.worth.bought}
	for _, b := range c.best {
		length := c.kinds[b.kind].length
		cut := Cut{Board: length, Bought: c.isBuy(b.kind), Offcut: max(0, b.room-c.saw.Kerf)}
		for _, piece := range b.pieces {
			cut.Pieces = append(cut.Pieces, c.pieces[piece])
		}
		p.Cuts = append(p.Cuts, cut)
	}
	slices.SortStableFunc(p.Cuts, func(a, b Cut) int {
		return cmp.Or(cmp.Compare(b.Board, a.Board),
			slices.CompareFunc(b.Pieces, a.Pieces, func(x, y Piece) int {
				return cmp.Or(cmp.Compare(x.Length, y.Length), cmp.Compare(y.Name, x.Name))
			}))
	})
	return p
}

// String names the board and what to cut from it: "board of 2400 mm: 2 × long slat 1000 mm, 1 × short slat
// 284 mm".
func (c Cut) String() string {
	var cuts []string
	for i := 0; i < len(c.Pieces); {
		same := i + 1
		for same < len(c.Pieces) && c.Pieces[same] == c.Pieces[i] {
			same++
		}
		cuts = append(cuts, fmt.Sprintf("%d × %s %s", same-i, c.Pieces[i].Name, c.Pieces[i].Length))
		i = same
	}
	return fmt.Sprintf("board of %s: %s", c.Board, strings.Join(cuts, ", "))
}
