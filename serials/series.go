package serials

import (
	"math"
	"sort"
)

// series is all rows of one maker with one prefix, over all files, in the order of their numbers. It is laid out for
// binary search: the first numbers stand by themselves, and top tells how far back a hit can still lie.
type series struct {
	prefix string
	rows   []Row
	first  []uint64
	cells  []cell
	top    []uint64 // the highest last number of this row and all before it
	padded bool
}

// cell is what dating needs of a row.
type cell struct {
	first, last uint64
	from, to    Year
	next        Year // in an open row: the year of the next row, 0 if there is none
	open        bool
}

func newSeries(prefix string, rows []Row) *series {
	sort.SliceStable(rows, func(i, j int) bool { return rows[i].First < rows[j].First })
	s := &series{prefix: prefix, rows: rows}
	s.cells = make([]cell, len(rows))
	next := -1 // the nearest row behind i that begins at a higher number
	for i := len(rows) - 1; i >= 0; i-- {
		r := rows[i]
		if i+1 < len(rows) && rows[i+1].First > r.First {
			next = i + 1
		}
		c := cell{first: r.First, last: r.Last.N, from: r.From, to: r.To, open: !r.Last.Known}
		if c.open && next >= 0 {
			c.last, c.next = rows[next].First-1, rows[next].From
		} else if c.open {
			c.last = math.MaxUint64
		}
		s.cells[i] = c
		s.padded = s.padded || r.padded
	}
	top := uint64(0)
	for _, c := range s.cells {
		top = max(top, c.last)
		s.first = append(s.first, c.first)
		s.top = append(s.top, top)
	}
	return s
}

// upper returns how many rows begin at n or below.
func (s *series) upper(n uint64) int {
	lo, hi := 0, len(s.first)
	for lo < hi {
		mid := int(uint(lo+hi) >> 1)
		if s.first[mid] <= n {
			lo = mid + 1
		} else {
			hi = mid
		}
	}
	return lo
}

// at dates a number by the rows alone. It allocates nothing.
func (s *series) at(n uint64) Estimate {
	i := s.upper(n) - 1
	if i < 0 {
		return Estimate{To: s.cells[0].from, Basis: Before}
	}
	if c := &s.cells[i]; c.last >= n && (i == 0 || s.top[i-1] < n) {
		return c.at(n) // one row alone, as nearly always
	}
	closed, open := s.hear(i, n)
	switch {
	case open.Basis != "":
		return closed.or(open)
	case closed.Basis != "":
		return closed
	case i+1 == len(s.cells):
		return Estimate{From: s.cells[i].to, Basis: After}
	}
	return between(s.cells[i].to, s.cells[i+1].from)
}

// hear returns what the rows with a last number say of n, and those without; no basis where none speaks. What open rows say
// steps aside for closed ones that it does not contradict. i is the last row that begins at n or below.
func (s *series) hear(i int, n uint64) (closed, open Estimate) {
	for j := i; j >= 0 && s.top[j] >= n; j-- {
		c := &s.cells[j]
		if c.last < n {
			continue
		}
		if e := c.at(n); e.vague() {
			open = open.or(e)
		} else {
			closed = closed.or(e)
		}
	}
	if closed.Basis != "" && open.fits(closed) {
		open = Estimate{}
	}
	return closed, open
}

// between brackets a number by two years, which may stand the wrong way round in a table. One year left is the best year.
func between(a, b Year) Estimate {
	e := Estimate{From: min(a, b), To: max(a, b), Basis: Between}
	if e.From == e.To {
		e.Best = e.From
	}
	return e
}

// at dates a number that lies in the row.
func (c *cell) at(n uint64) Estimate {
	switch {
	case !c.open && c.from == c.to, c.open && n == c.first && c.from == c.to:
		return Estimate{From: c.from, To: c.to, Best: c.from, Basis: Range}
	case !c.open:
		return Estimate{From: c.from, To: c.to, Best: c.straight(n), Basis: Interpolated}
	case c.next != 0:
		return between(c.from, c.next)
	}
	return Estimate{From: c.from, Basis: After}
}

// bracket is the years of an open row, up to those of the next; the two may stand the wrong way round in a table.
func (c *cell) bracket() span {
	if c.next == 0 {
		return span{c.from, 0}
	}
	return span{min(c.from, c.next), max(c.from, c.next)}
}

// straight interpolates: the row's numbers are spread evenly over its years.
func (c *cell) straight(n uint64) Year {
	// Numbers have at most 15 digits and a row at most 401 years, so the product stays below 2^64.
	return c.from + Year((n-c.first)*uint64(c.to-c.from+1)/(c.last-c.first+1))
}

// or joins what two rows say of one number. No basis means that no row has spoken yet.
func (e Estimate) or(other Estimate) Estimate {
	switch {
	case e.Basis == "", e == other:
		return other
	}
	h := span{e.From, e.To}.hull(span{other.From, other.To})
	return Estimate{From: h.from, To: h.to, Basis: Overlap}
}

// fits says whether both can be right.
func (e Estimate) fits(other Estimate) bool {
	_, ok := span{e.From, e.To}.meet(span{other.From, other.To})
	return ok
}

// vague says that the estimate is that of an open row behind its first number: it only tells where to look, so it steps aside
// for closed rows that it does not contradict.
func (e Estimate) vague() bool { return e.Basis == After || e.Basis == Between }

// hits returns the places of the rows that hold n; around is true when none does and its neighbours are returned instead.
func (s *series) hits(n uint64) (places []int, around bool) {
	i := s.upper(n) - 1
	for j := i; j >= 0 && s.top[j] >= n; j-- {
		if s.cells[j].last >= n {
			places = append([]int{j}, places...)
		}
	}
	if places != nil {
		return places, false
	}
	if i >= 0 {
		places = append(places, i)
	}
	if i+1 < len(s.rows) {
		places = append(places, i+1)
	}
	return places, true
}
