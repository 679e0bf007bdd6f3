package serials

import (
	"math"
	"strconv"
)

// A worn serial is counted by its digits: how many fillings of its worn characters lie at or below a number
// follows from one walk along the digits, so a range of a million numbers costs as little as one of ten.

// digits is the number part of a worn serial: digits and question marks.
type digits struct {
	s    string
	zero bool // a leading worn character may be a zero
}

// choices returns how many digits the character at i may be, and the lowest of them.
func (d digits) choices(i int) (count, lowest uint64) {
	switch {
	case d.s[i] != '?':
		return 1, uint64(d.s[i] - '0')
	case i == 0 && !d.zero:
		return 9, 1
	}
	return 10, 0
}

// all returns how many numbers fit.
func (d digits) all() uint64 {
	n := uint64(1)
	for i := range d.s {
		c, _ := d.choices(i)
		n *= c
	}
	return n
}

// upTo returns how many numbers fit that are n or less.
func (d digits) upTo(n uint64) uint64 {
	power, free := uint64(1), d.all()
	for range d.s {
		power *= 10
	}
	if n >= power {
		return free
	}
	count := uint64(0)
	for i := range d.s { // the digits before i equal those of n
		power /= 10
		digit := n / power % 10
		c, low := d.choices(i)
		free /= c // ways to fill what stands behind i
		if digit > low {
			count += min(digit-low, c) * free
		}
		if digit < low || digit >= low+c {
			return count
		}
	}
	return count + 1
}

// in returns how many numbers fit from first to last.
func (d digits) in(first, last uint64) uint64 {
	if first > last {
		return 0
	}
	n := d.upTo(last)
	if first > 0 {
		n -= d.upTo(first - 1)
	}
	return n
}

// ends returns the lowest and the highest number that fits.
func (d digits) ends() (low, high uint64) {
	for i := range d.s {
		c, l := d.choices(i)
		low = low*10 + l
		high = high*10 + l + c - 1
	}
	return low, high
}

// fit lays a worn serial over the prefix of a series: what is left must be digits or worn.
func fit(serial string, s *series) (digits, bool) {
	k := len(s.prefix)
	if len(serial) <= k || len(serial)-k > maxDigits {
		return digits{}, false
	}
	for i := 0; i < k; i++ {
		if serial[i] != '?' && serial[i] != s.prefix[i] {
			return digits{}, false
		}
	}
	for i := k; i < len(serial); i++ {
		if serial[i] != '?' && !isDigit(serial[i]) {
			return digits{}, false
		}
	}
	return digits{s: serial[k:], zero: s.padded}, true
}

// tally holds, for each year, how many fillings of a worn serial the tables put there. A filling in rows that
// clash counts in each of their years; a row of several years spreads its hits evenly over them, and so does
// an open row up to the row behind it. The last open row counts under its first year, or under the year that
// other evidence lifts it to; evidence that ends it makes it a bracket like any other, for otherwise its
// first year would pass for certain.
type tally struct {
	weight [maxYear - minYear + 1]float64
	total  float64
	open   bool // the last open row was hit: the years have no upper end
}

func (t *tally) add(years, within span, hits uint64) {
	if years.to == 0 {
		years = span{max(years.from, within.from), within.to}
	}
	if years.to == 0 {
		years.to, t.open = years.from, true
	}
	each := float64(hits) / float64(years.to-years.from+1)
	for y := years.from; y <= years.to; y++ {
		t.weight[y-minYear] += each
		t.total += each
	}
}

// each calls f for every segment in which fillings lie, with their number.
func (s *series) each(d digits, f func(i int, hits uint64)) {
	low, high := d.ends()
	for i := s.find(low); i < len(s.starts) && s.starts[i] <= high; i++ {
		if hits := d.in(s.starts[i], s.end(i)); hits > 0 {
			f(i, hits)
		}
	}
}

// count adds all rows of a series. It returns how many fillings fit the prefix and how many of them stand in
// a row. read is the place of a worn character that was filled in on trial, or -1: a number may not begin
// with a zero that way.
func (t *tally) count(serial string, s *series, within span, read int) (fillings, covered uint64) {
	d, ok := fit(serial, s)
	if !ok || read == len(s.prefix) && serial[read] == '0' && !s.padded {
		return 0, 0
	}
	s.each(d, func(i int, hits uint64) {
		if g := &s.segments[i]; g.held {
			covered += hits
			for _, years := range g.spans(s.starts[i]) {
				t.add(years, within, hits)
			}
		}
	})
	return d.all(), covered
}

// keep drops the years outside a span.
func (t *tally) keep(within span) {
	t.total = 0
	for i := range t.weight {
		y := Year(i + minYear)
		if y < within.from || within.to != 0 && y > within.to {
			t.weight[i] = 0
		}
		t.total += t.weight[i]
	}
	t.open = t.open && within.to == 0
}

// shares returns the years that remain, each with its share.
func (t *tally) shares() []Share {
	var out []Share
	for i, w := range t.weight {
		if w > 0 {
			out = append(out, Share{Year: Year(i + minYear), Share: w / t.total})
		}
	}
	return out
}

// doubt is the entropy of the year times the number of hits: what is still to be learnt, weighed by how
// likely it is.
func (t *tally) doubt() float64 {
	d := 0.0
	for _, w := range t.weight {
		if w > 0 {
			d -= w * math.Log2(w/t.total)
		}
	}
	return d
}

func (m *maker) tally(serial string, within span, read int) (t tally, fillings, covered uint64) {
	for _, s := range m.order {
		f, c := t.count(serial, s, within, read)
		fillings += f
		covered += c
	}
	t.keep(within)
	return t, fillings, covered
}

// telling returns the place of the worn character that, once read, leaves the least doubt about the year on
// average; -1 when no single one helps.
func (m *maker) telling(serial string, within span) int {
	whole, _, _ := m.tally(serial, within, -1)
	best, least := -1, whole.doubt()*(1-1e-9)
	for i := range serial {
		if serial[i] != '?' {
			continue
		}
		doubt := 0.0
		for _, symbol := range m.symbols(i) {
			one, _, _ := m.tally(serial[:i]+string(symbol)+serial[i+1:], within, i)
			doubt += one.doubt()
		}
		if doubt < least {
			best, least = i, doubt
		}
	}
	return best
}

// symbols returns what can stand at a place of a serial: the digits, and the letters that the maker's
// prefixes have there.
func (m *maker) symbols(i int) []byte {
	out := []byte("0123456789")
	seen := map[byte]bool{}
	for _, s := range m.order {
		if i < len(s.prefix) && !isDigit(s.prefix[i]) && !seen[s.prefix[i]] {
			seen[s.prefix[i]] = true
			out = append(out, s.prefix[i])
		}
	}
	return out
}

func ordinal(n int) string {
	switch {
	case n%100/10 == 1:
	case n%10 == 1:
		return strconv.Itoa(n) + "st"
	case n%10 == 2:
		return strconv.Itoa(n) + "nd"
	case n%10 == 3:
		return strconv.Itoa(n) + "rd"
	}
	return strconv.Itoa(n) + "th"
}
