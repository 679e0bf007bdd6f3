package crate

import (
	"cmp"
	"math"
	"slices"

	"pitman/registry/measure"
)

// Where pieces of few lengths are cut many times, neither first fit nor a search piece by piece comes near
// the best plan. What does is to ask which mixes of cuts one board should be given, and how many boards of
// each: P. C. Gilmore and R. E. Gomory, "A linear programming approach to the cutting-stock problem",
// Operations Research 9, 1961. Boards are divisible at first, which gives a bound; the whole boards of that
// answer are then taken, and the same is asked of what is left, until nothing is.

// mix is what is cut from one board of a kind: how many of each length.
type mix struct {
	kind  int
	count []int
}

// mixed is the question: how many of each length, from which boards, at what cost a board.
type mixed struct {
	kerf   measure.Length
	sizes  []measure.Length
	wanted []int
	kinds  []kindOf
	cost   []float64
}

// maxSizes bounds the lengths of one question; with more, hardly any two boards are cut alike, and the search
// does as well.
const maxSizes = 60

// share is one answer: so many boards of a mix, of which some may be a part of a board.
type share struct {
	mix    mix
	boards float64
}

// solve answers for divisible boards. No plan costs less than its bound, and ok says whether it came to an
// end. A piece that no board is left for costs so much that it stands in no answer where there is another.
func (q mixed) solve() (shares []share, bound float64, ok bool) {
	n := len(q.sizes)
	asks, costs, limited := make([]float64, n), make([]float64, n), []int{}
	dear := 1.0
	for _, c := range q.cost {
		dear = max(dear, c)
	}
	for i, count := range q.wanted {
		asks[i], costs[i] = float64(count), 1e3*dear
	}
	for kind, k := range q.kinds {
		if k.left >= 0 {
			limited = append(limited, kind)
			asks, costs = append(asks, float64(k.left)), append(costs, 0)
		}
	}
	l := newLinear(asks, costs)
	for range 200 * len(asks) {
		prices := l.prices()
		best, gain, sure := q.dearest(prices, limited)
		for row, p := range prices {
			surplus := row < n
			if v := -p; surplus && v > gain {
				best, gain = column{0, unit(len(asks), row, -1), nil}, v
			} else if !surplus && p > gain {
				best, gain = column{0, unit(len(asks), row, 1), nil}, p
			}
		}
		if gain <= tiny*dear {
			if !sure {
				return nil, 0, false
			}
			return l.shares(), q.least(prices, limited), l.whole()
		}
		if !l.enter(best) {
			return nil, 0, false
		}
	}
	return nil, 0, false
}

// whole says whether every piece is cut from a board.
func (l *linear) whole() bool {
	for i, c := range l.basis {
		if c.mix == nil && c.cost > 0 && l.x[i] > 1e-6 {
			return false
		}
	}
	return true
}

func (l *linear) shares() (shares []share) {
	for i, c := range l.basis {
		if c.mix != nil && l.x[i] > tiny {
			shares = append(shares, share{*c.mix, l.x[i]})
		}
	}
	return shares
}

// dearest finds the mix that is worth most above what its board costs, at these prices of pieces; sure says
// that there is none better.
func (q mixed) dearest(prices []float64, limited []int) (best column, gain float64, sure bool) {
	sure = true
	for kind := range q.kinds {
		at := slices.Index(limited, kind)
		count, worth, end := q.fill(kind, prices)
		sure = sure && end
		board := q.cost[kind]
		if at >= 0 {
			board -= prices[len(q.sizes)+at]
		}
		if worth-board > gain {
			gain = worth - board
			adds := make([]float64, len(prices))
			for i, c := range count {
				adds[i] = float64(c)
			}
			if at >= 0 {
				adds[len(q.sizes)+at] = 1
			}
			best = column{q.cost[kind], adds, &mix{kind, count}}
		}
	}
	return best, gain, sure
}

// least makes a bound of the prices: what the pieces are worth less what the boards that may run out are,
// where no mix is worth more than its board. What rounding left above that is taken off, so that the bound
// holds whatever the prices are.
func (q mixed) least(prices []float64, limited []int) float64 {
	y := slices.Clone(prices[:len(q.sizes)])
	for i := range y {
		y[i] = max(0, y[i])
	}
	scale := 1.0
	rent := make([]float64, len(q.kinds))
	for kind, k := range q.kinds {
		_, worth, _ := q.fill(kind, y)
		over := max(0, worth*(1+tiny)-q.cost[kind])
		if k.left >= 0 {
			rent[kind] = max(over, -prices[len(q.sizes)+slices.Index(limited, kind)])
		} else if over > 0 {
			scale = min(scale, q.cost[kind]/(q.cost[kind]+over))
		}
	}
	sum := 0.0
	for i, v := range y {
		sum += v * float64(q.wanted[i]) * scale
	}
	for kind, k := range q.kinds {
		if k.left > 0 {
			sum -= rent[kind] * float64(k.left)
		}
	}
	return sum * (1 - tiny)
}

// fill finds the mix of pieces worth most on one board of a kind, each piece at its price: the knapsack, by
// branch and bound, the piece that is worth most for its length first. end says that the search came to its
// end.
func (q mixed) fill(kind int, prices []float64) (count []int, worth float64, end bool) {
	s := filler{q: q, prices: prices, best: make([]int, len(q.sizes)), now: make([]int, len(q.sizes)),
		steps: effort}
	for i := range q.sizes {
		if prices[i] > tiny && q.wanted[i] > 0 {
			s.order = append(s.order, i)
		}
	}
	slices.SortStableFunc(s.order, func(a, b int) int { return cmp.Compare(s.dense(b), s.dense(a)) })
	s.try(0, q.kinds[kind].length+q.kerf, 0)
	return s.best, s.worth, s.steps > 0
}

type filler struct {
	q         mixed
	prices    []float64
	order     []int
	best, now []int
	worth     float64
	steps     int
}

func (s *filler) dense(i int) float64 { return s.prices[i] / float64(s.q.sizes[i]+s.q.kerf) }

func (s *filler) try(at int, room measure.Length, worth float64) {
	if worth > s.worth {
		s.worth = worth
		copy(s.best, s.now)
	}
	if s.steps--; s.steps <= 0 || at == len(s.order) {
		return
	}
	i := s.order[at]
	if worth+float64(room)*s.dense(i) <= s.worth*(1+1e-12) {
		return
	}
	size := s.q.sizes[i] + s.q.kerf
	for n := min(s.q.wanted[i], int(room/size)); n >= 0; n-- {
		s.now[i] = n
		s.try(at+1, room-measure.Length(n)*size, worth+float64(n)*s.prices[i])
	}
	s.now[i] = 0
}

// question puts the pieces and boards of the cutter as one of mixes.
func (c *cutter) question() (q mixed, pieces [][]int) {
	q = mixed{kerf: c.saw.Kerf, kinds: slices.Clone(c.kinds)}
	for i, p := range c.pieces {
		if n := len(q.sizes); n == 0 || q.sizes[n-1] != p.Length {
			q.sizes, q.wanted, pieces = append(q.sizes, p.Length), append(q.wanted, 0), append(pieces, nil)
		}
		last := len(q.sizes) - 1
		q.wanted[last]++
		pieces[last] = append(pieces[last], i)
	}
	return q, pieces
}

// costs is what one board of each kind counts: its length, and where only buying counts, nothing if in hand.
func (c *cutter) costs(buyingOnly bool) (costs []float64) {
	for kind, k := range c.kinds {
		cost := k.length.MM()
		if buyingOnly && !c.isBuy(kind) {
			cost = 0
		}
		costs = append(costs, cost)
	}
	return costs
}

// relax looks for a better plan by mixes, and gives the bounds that divisible boards give: what has to be
// bought at least, and what a plan that buys no more than the best one uses at least.
func (c *cutter) relax() (least value) {
	q, pieces := c.question()
	if len(q.sizes) == 0 || len(q.sizes) > maxSizes {
		return value{}
	}
	c.dive(q, pieces)
	if c.best == nil {
		return value{}
	}
	step := measure.Length(0) // what boards use is a multiple of it
	for _, k := range c.kinds {
		step = gcd(step, k.length)
	}
	up := func(bound float64, step measure.Length) measure.Length {
		return measure.Length(math.Ceil(bound*1000/float64(step)-1e-6)) * step
	}
	if c.saw.Buy > 0 {
		q.cost = c.costs(true)
		if _, bound, ok := q.solve(); ok {
			least.bought = up(bound, c.saw.Buy)
		}
		q.kinds[len(q.kinds)-1].left = int(c.worth.bought / c.saw.Buy)
	}
	q.cost = c.costs(false)
	if _, bound, ok := q.solve(); ok {
		least.used = up(bound, step)
	}
	return least
}

func gcd(a, b measure.Length) measure.Length {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// dive takes the whole boards of the answer for divisible ones, asks again for what is left, and at each step
// lets first fit and the search finish from there. Buying counts before all that is in hand.
func (c *cutter) dive(q mixed, pieces [][]int) {
	hand := 1.0
	for _, k := range c.kinds {
		hand += float64(max(0, k.left)) * k.length.MM()
	}
	q.wanted, q.kinds, q.cost = slices.Clone(q.wanted), slices.Clone(q.kinds), c.costs(false)
	if c.saw.Buy > 0 {
		q.cost[len(q.cost)-1] *= 1 + min(1e4, hand/c.saw.Buy.MM())
	}
	var taken []started
	for {
		c.finish(taken, q, pieces)
		shares, _, ok := q.solve()
		if !ok || len(shares) == 0 {
			return
		}
		slices.SortStableFunc(shares, func(a, b share) int {
			return cmp.Compare(part(b.boards), part(a.boards))
		})
		some := false
		for _, s := range shares {
			for range int(s.boards + tiny) {
				taken, some = append(taken, q.take(s.mix, pieces, c.kinds)), true
			}
		}
		if !some {
			taken = append(taken, q.take(shares[0].mix, pieces, c.kinds))
		}
	}
}

func part(v float64) float64 { return v - math.Floor(v+tiny) }

// take cuts one board of a mix, as far as its pieces are still wanted.
func (q *mixed) take(m mix, pieces [][]int, kinds []kindOf) started {
	b := started{kind: m.kind, room: kinds[m.kind].length + q.kerf}
	if q.kinds[m.kind].left > 0 {
		q.kinds[m.kind].left--
	}
	for i, n := range m.count {
		for range min(n, q.wanted[i]) {
			q.wanted[i]--
			b.pieces = append(b.pieces, pieces[i][q.wanted[i]])
			b.room -= q.sizes[i] + q.kerf
		}
	}
	return b
}

// finish makes a plan of the boards taken and the best that the search finds quickly for the rest.
func (c *cutter) finish(taken []started, q mixed, pieces [][]int) {
	rest := &cutter{saw: c.saw, limit: effort / 20, kinds: slices.Clone(q.kinds)}
	var names []int
	for i, n := range q.wanted {
		names = append(names, pieces[i][:n]...)
	}
	for _, i := range names {
		rest.pieces = append(rest.pieces, c.pieces[i])
	}
	rest.sum()
	rest.firstFit()
	rest.place(0, 0)
	if rest.best == nil {
		return
	}
	whole := &cutter{saw: c.saw, kinds: slices.Clone(c.kinds)}
	for _, b := range slices.Concat(taken, rest.best) {
		whole.use(b.kind)
		whole.boards = append(whole.boards, b)
	}
	for i := len(taken); i < len(whole.boards); i++ {
		b := &whole.boards[i]
		b.pieces = slices.Clone(b.pieces)
		for j, p := range b.pieces {
			b.pieces[j] = names[p]
		}
	}
	whole.shrink()
	if c.best == nil || whole.now.less(c.worth) {
		c.best, c.worth = whole.boards, whole.now
	}
}
