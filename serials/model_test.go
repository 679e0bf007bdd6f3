package serials_test

import (
	"fmt"
	"math/rand"
	"os"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"pitman/serials"
	"pitman/serials/series"
	"pitman/serials/stamp"
	"pitman/serials/years"
)

// The model dates one number at a time by going through the rows as they stand, without segments, searches or
// counting by digits. It was written from the decision table in the package comment.
type model struct{ rows []modelRow }

type modelRow struct {
	source      string
	first, last int // last is -1 in an open row
	from, to    int
	ahead       bool
}

func newModel(lines []string) *model {
	m := &model{}
	for _, line := range lines {
		f := strings.Split(line, ",")
		r := modelRow{source: f[8], last: -1, ahead: strings.Contains(f[9], "allotted")}
		fmt.Sscan(f[2], &r.first)
		fmt.Sscan(f[3], &r.last)
		fmt.Sscan(f[4], &r.from)
		fmt.Sscan(f[5], &r.to)
		m.rows = append(m.rows, r)
	}
	// rows of one source and the same years become one where they adjoin or overlap
	for again := true; again; {
		again = false
		for i := 0; i < len(m.rows); i++ {
			for j := 0; j < len(m.rows); j++ {
				if i >= len(m.rows) {
					break
				}
				a, b := m.rows[i], m.rows[j]
				if i == j || a.last < 0 || b.last < 0 || a.source != b.source || a.from != b.from ||
					a.to != b.to || a.ahead != b.ahead ||
					b.first < a.first || b.first > a.last+1 {
					continue
				}
				m.rows[i].last = max(a.last, b.last)
				m.rows = slices.Delete(m.rows, j, j+1)
				again = true
			}
		}
	}
	return m
}

// next is where an open row ends, and the year of what begins there.
func (m *model) next(r modelRow) (at, year int) {
	at = 1 << 60
	for _, o := range m.rows {
		if o.first > r.first && o.first < at {
			at = o.first
		}
	}
	for _, o := range m.rows {
		if o.first == at {
			year = max(year, o.from)
		}
	}
	return at, year
}

type voice struct {
	years.Span
	row   modelRow
	exact bool
}

func (m *model) voices(n int) (heard []voice, clash bool) {
	var exact, vague []voice
	for _, r := range m.rows {
		switch {
		case r.last >= 0 && r.first <= n && n <= r.last, r.last < 0 && r.first == n && r.from == r.to:
			exact = append(exact, voice{years.Span{From: years.Year(r.from), To: years.Year(r.to)}, r, true})
		case r.last < 0 && r.first <= n:
			if at, year := m.next(r); n < at && year == 0 {
				vague = append(vague, voice{years.Span{From: years.Year(r.from), To: 0}, r, false})
			} else if n < at {
				vague = append(vague,
					voice{years.Span{From: years.Year(min(r.from, year)), To: years.Year(max(r.from, year))},
						r, false})
			}
		}
	}
	years := func(v []voice) (all, both years.Span, ok bool) {
		all, both, ok = v[0].Span, v[0].Span, true
		for _, o := range v {
			if all = all.Hull(o.Span); ok {
				both, ok = both.Meet(o.Span)
			}
		}
		return all, both, ok
	}
	if len(exact) == 0 {
		if len(vague) == 0 {
			return nil, false
		}
		_, _, ok := years(vague)
		return vague, !ok
	}
	all, both, ok := years(exact)
	if !ok {
		both = all
	}
	for _, v := range vague {
		if _, fits := v.Meet(both); !fits {
			exact, ok = append(exact, v), false
		}
	}
	return exact, !ok
}

func (m *model) curve(r modelRow) *years.Cubic {
	x, y := []float64{float64(r.from), float64(r.to + 1)}, []float64{float64(r.first), float64(r.last + 1)}
	beside := func(r modelRow, step int) (modelRow, bool) {
		var before, after []modelRow
		number, year := r.last+1, r.to+1
		if step < 0 {
			number, year = r.first, r.from
		}
		for _, o := range m.rows {
			if o.source != r.source || o.last < 0 || o.ahead || r.ahead {
				continue
			}
			if o.first == number && o.from == year {
				after = append(after, o)
			}
			if o.last+1 == number && o.to+1 == year {
				before = append(before, o)
			}
		}
		if len(before) != 1 || len(after) != 1 {
			return r, false
		}
		if step < 0 {
			return before[0], true
		}
		return after[0], true
	}
	for o, ok := beside(r, 1); ok; o, ok = beside(o, 1) {
		x, y = append(x, float64(o.to+1)), append(y, float64(o.last+1))
	}
	for o, ok := beside(r, -1); ok; o, ok = beside(o, -1) {
		x, y = append([]float64{float64(o.from)}, x...), append([]float64{float64(o.first)}, y...)
	}
	if len(x) == 2 {
		return nil
	}
	return years.NewCubic(x, y)
}

// place is the row of several years as the number is read in it: the bin, and whether a curve was there. Of
// sources that print the very same row the one with most knots is read.
func (m *model) place(r modelRow, n int) (bin int, curved bool) {
	var best *years.Cubic
	for _, o := range m.rows {
		if o.last >= 0 && o.first == r.first && o.last == r.last && o.from == r.from && o.to == r.to {
			if c := m.curve(o); c != nil && c.Before(best) {
				best = c
			}
		}
	}
	width := r.to - r.from + 1
	if best == nil {
		return (n - r.first) * width * years.Bins / (r.last - r.first + 1), false
	}
	for k := 1; k < width*years.Bins; k++ {
		if best.At(float64(r.from)+float64(k)/years.Bins) <= float64(n) {
			bin = k
		}
	}
	return bin, true
}

func (m *model) at(n int) years.Estimate {
	heard, clash := m.voices(n)
	if len(heard) == 0 {
		low, high := -1, 1<<60
		var from, to int
		for _, r := range m.rows {
			if r.last >= 0 && r.last < n && r.last >= low {
				if r.last > low {
					low, from = r.last, r.to
				}
				from = min(from, r.to)
			}
			if r.first > n && r.first <= high {
				if r.first < high {
					high, to = r.first, r.from
				}
				to = max(to, r.from)
			}
		}
		switch {
		case from == 0:
			return years.Estimate{To: years.Year(to), Basis: years.Before}
		case to == 0:
			return years.Estimate{From: years.Year(from), Basis: years.After}
		}
		return series.Between(years.Year(from), years.Year(to))
	}
	both := heard[0].Span
	for _, v := range heard {
		if clash {
			both = both.Hull(v.Span)
		} else {
			both, _ = both.Meet(v.Span)
		}
	}
	e := years.Estimate{From: both.From, To: both.To}
	switch {
	case clash:
		e.Basis = years.Overlap
	case !heard[0].exact && both.To == 0:
		e.Basis = years.After
	case !heard[0].exact:
		return series.Between(both.From, both.To)
	case both.From == both.To:
		e.Basis, e.Best = years.Range, both.From
	default:
		e.Basis = years.Interpolated
		sum, rows := 0, distinct(heard)
		for _, r := range rows {
			bin, _ := m.place(r, n)
			sum += r.from + bin/years.Bins
		}
		e.Best = min(max(years.Year(sum/len(rows)), both.From), both.To)
	}
	return e
}

// distinct is the rows of the voices, those alike in numbers and years once.
func distinct(heard []voice) (rows []modelRow) {
	for _, v := range heard {
		v.row.source, v.row.ahead = "", false
		if !slices.Contains(rows, v.row) {
			rows = append(rows, v.row)
		}
	}
	return rows
}

// learnt is the spread of readings that the starter tables teach.
var learnt = sync.OnceValue(func() *years.Spread {
	t, err := serials.LoadFS(serials.Starters())
	if err != nil {
		panic(err)
	}
	return years.NewSpread(t.Outputs())
})

// chances is what one number leaves to each year; year 0 is outside.
func (m *model) chances(n int) map[years.Year]float64 {
	out := map[years.Year]float64{}
	even := func(s years.Span, w float64) {
		if s.From == 0 || s.To == 0 {
			out[0] += w
			return
		}
		for y := s.From; y <= s.To; y++ {
			out[y] += w / float64(s.To-s.From+1)
		}
	}
	heard, clash := m.voices(n)
	e := m.at(n)
	if len(heard) == 0 || !clash && e.Basis != years.Interpolated {
		even(years.Span{From: e.From, To: e.To}, 1)
		return out
	}
	groups := map[years.Span][]voice{}
	for _, v := range heard {
		key := years.Span{From: e.From, To: e.To}
		if clash {
			key = v.Span
		}
		groups[key] = append(groups[key], v)
	}
	for key, list := range groups {
		var wide []modelRow
		for _, r := range distinct(list) {
			if r.last >= 0 && r.from != r.to {
				wide = append(wide, r)
			}
		}
		if len(wide) == 0 {
			even(key, 1/float64(len(groups)))
		}
		for _, r := range wide {
			bin, curved := m.place(r, n)
			kernel := learnt().Kernel(r.to-r.from+1, bin, curved, "quill")
			all := 0.0
			for y := key.From; y <= key.To; y++ {
				all += kernel[int(y)-r.from]
			}
			for y := key.From; y <= key.To; y++ {
				out[y] += kernel[int(y)-r.from] / all / float64(len(groups)*len(wide))
			}
		}
	}
	return out
}

func randomRows(rnd *rand.Rand, most int) (rows []string) {
	last, to := rnd.Intn(50), 1900
	for range 1 + rnd.Intn(6) {
		first, from := last+1, to+1
		switch rnd.Intn(5) {
		case 0:
			first, from = rnd.Intn(most), 1900+rnd.Intn(12)
		case 1:
			first += rnd.Intn(40)
		case 2:
			from = max(1900, from-rnd.Intn(3))
		}
		last, to = first+rnd.Intn(most/4), from+rnd.Intn(2)*rnd.Intn(5)
		end := fmt.Sprint(last)
		if rnd.Intn(6) == 0 {
			end = ""
		}
		note := ""
		if rnd.Intn(10) == 0 {
			note = "allotted ahead"
		}
		rows = append(rows,
			fmt.Sprintf("Quill,,%d,%s,%d,%d,,,%s,%s", first, end, from, to,
				[]string{"", "a book", "a book", "a list"}[rnd.Intn(4)], note))
	}
	return rows
}

func TestEveryNumberAgainstTheModel(t *testing.T) {
	rnd := rand.New(rand.NewSource(11))
	n := 0
	for range rounds(1200) {
		rows := randomRows(rnd, 300)
		m, tables := newModel(rows), tables(t, rows...)
		for range 40 {
			number := rnd.Intn(900)
			n++
			got, err := tables.Estimate("Quill", fmt.Sprint(number))
			require.NoError(t, err)
			require.Equal(t, m.at(number), got, "%d in\n%s", number, strings.Join(rows, "\n"))
			a := date(t, tables, serials.Query{Maker: "Quill", Serial: fmt.Sprint(number)})
			requireChances(t, m.chances(number), a, "%d in\n%s", number, strings.Join(rows, "\n"))
		}
	}
	t.Logf("%d numbers", n)
}

func requireChances(t *testing.T, want map[years.Year]float64, a serials.Answer, where string, args ...any) {
	t.Helper()
	sum := a.Outside
	require.InDelta(t, want[0], a.Outside, 1e-9, append([]any{where}, args...)...)
	for _, c := range a.Years {
		require.InDelta(t, want[c.Year], c.P, 1e-9, append([]any{where}, args...)...)
		sum += c.P
	}
	require.InDelta(t, 1, sum, 1e-9, append([]any{where}, args...)...)
}

func TestWornSerialsAgainstTheModel(t *testing.T) {
	rnd := rand.New(rand.NewSource(12))
	for range rounds(1500) {
		rows := randomRows(rnd, 1000)
		m, tables := newModel(rows), tables(t, rows...)
		pattern := stamp.Normalise(randomPattern(rnd))
		if !stamp.Worn(pattern) || len(pattern) > 4 {
			continue
		}
		list := fillings(pattern, false)
		want, shares, hits := map[years.Year]float64{}, map[years.Year]float64{}, 0.0
		var all []years.Span
		for _, n := range list {
			for y, p := range m.chances(int(n)) {
				want[y] += p / float64(len(list))
			}
			e := m.at(int(n))
			all = append(all, years.Span{From: e.From, To: e.To})
			heard, clash := m.voices(int(n))
			said := map[years.Span]bool{}
			for _, v := range heard {
				if clash {
					said[v.Span] = true
				} else {
					said[years.Span{From: e.From, To: e.To}] = true
				}
			}
			for s := range said {
				hits++
				if s.To == 0 {
					s.To = s.From
				}
				for y := s.From; y <= s.To; y++ {
					shares[y] += 1 / float64(s.To-s.From+1)
				}
			}
		}
		where := fmt.Sprintf("%s in\n%s", pattern, strings.Join(rows, "\n"))
		a := date(t, tables, serials.Query{Maker: "Quill", Serial: pattern})
		require.Equal(t, years.HullOf(all), years.Span{From: a.From, To: a.To}, where)
		require.Len(t, a.Shares, len(shares), where)
		for _, s := range a.Shares {
			require.InDelta(t, shares[s.Year]/hits, s.Share, 1e-9, where)
		}
		requireChances(t, want, a, "%s", where)
	}
}

// Renaming files, putting rows in another order or another file, splitting a row in two and repeating one
// change no answer.
func TestOrderDoesNotMatter(t *testing.T) {
	rnd := rand.New(rand.NewSource(13))
	for range rounds(1500) {
		rows := randomRows(rnd, 300)
		before := files(t, map[string][]string{"m.csv": rows})
		other := slices.Clone(rows)
		for range rnd.Intn(4) {
			i := rnd.Intn(len(other))
			f := strings.Split(other[i], ",")
			var first, last int
			fmt.Sscan(f[2], &first)
			if n, _ := fmt.Sscan(f[3], &last); n == 1 && last > first && rnd.Intn(2) == 0 {
				cut := first + rnd.Intn(last-first)
				low, high := slices.Clone(f), slices.Clone(f)
				low[3], high[2] = fmt.Sprint(cut), fmt.Sprint(cut+1)
				other[i] = strings.Join(low, ",")
				other = append(other, strings.Join(high, ","))
			} else {
				other = append(other, other[i])
			}
		}
		rnd.Shuffle(len(other), func(i, j int) { other[i], other[j] = other[j], other[i] })
		parted := map[string][]string{}
		for _, row := range other {
			name := []string{"a.csv", "m.csv", "z.csv"}[rnd.Intn(3)]
			parted[name] = append(parted[name], row)
		}
		after := files(t, parted)
		for range 12 {
			serial := fmt.Sprint(rnd.Intn(900))
			if rnd.Intn(3) == 0 {
				b := []byte(serial)
				b[rnd.Intn(len(b))] = '?'
				serial = string(b)
			}
			q := serials.Query{Maker: "Quill", Serial: serial}
			if rnd.Intn(3) == 0 {
				q.Seen = []int{1902 + rnd.Intn(12)}
			}
			require.Equal(t, answered(date(t, before, q)), answered(date(t, after, q)), "%v in\n%s\nand\n%s",
				q,
				strings.Join(rows, "\n"), strings.Join(other, "\n"))
		}
	}
}

// answered is what an answer says, without the rows it names.
func answered(a serials.Answer) string {
	return fmt.Sprintf("%+v %s %v %v %v %v %v %t", a.Estimate, a.Year(), a.Shares, a.Years, a.Interval80,
		a.Outside, a.Contradicted, len(a.Conflicts) > 0)
}

// rounds is how often a random test is tried: less often where time is short.
func rounds(n int) int {
	if testing.Short() {
		return n / 10
	}
	if os.Getenv("NIGHTLY") == "" {
		return n / 3
	}
	return n
}
