package serials_test

import (
	"fmt"
	"math"
	"math/rand"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/serials"
	"pitman/serials/series"
	"pitman/serials/stamp"
	"pitman/serials/years"
)

// fillings lists what a worn number can be; the counting never does.
func fillings(pattern string, zero bool) (out []uint64) {
	var walk func(i int, n uint64)
	walk = func(i int, n uint64) {
		if i == len(pattern) {
			out = append(out, n)
			return
		}
		for d := byte('0'); d <= '9'; d++ {
			if pattern[i] == d || pattern[i] == '?' && (i > 0 || zero || d != '0') {
				walk(i+1, n*10+uint64(d-'0'))
			}
		}
	}
	walk(0, 0)
	return out
}

func randomPattern(rnd *rand.Rand) string {
	b := make([]byte, 1+rnd.Intn(5))
	for i := range b {
		b[i] = "0123456789??????????"[rnd.Intn(20)]
	}
	return string(b)
}

func TestCountingByDigitsAgainstListing(t *testing.T) {
	rnd := rand.New(rand.NewSource(1))
	for i := range 6000 {
		d := stamp.Digits{Text: randomPattern(rnd), LeadingZero: rnd.Intn(2) == 0}
		first := uint64(rnd.Intn(100_000))
		last := first + uint64(rnd.Intn(100_000))
		// the ends at which a slip by one would hide: 0, where the number of digits changes, a single number
		if i%3 == 0 {
			edges := []uint64{0, 1, 9, 10, 99, 100, 999, 1000, 9999, 10_000, 99_999, 100_000}
			first = edges[rnd.Intn(len(edges))]
			last = max(first, edges[rnd.Intn(len(edges))])
		}
		list := fillings(d.Text, d.LeadingZero)
		want := uint64(0)
		for _, n := range list {
			if first <= n && n <= last {
				want++
			}
		}
		require.Equal(t, want, d.In(first, last), "%+v in %d–%d", d, first, last)
		require.Zero(t, d.In(last+1, last), "a range that holds nothing")
		require.Equal(t, uint64(len(list)), d.All(), "%+v", d)
		low, high := d.Ends()
		require.Equal(t, []uint64{list[0], list[len(list)-1]}, []uint64{low, high}, "%+v", d)
	}
}

func TestWornSerialOfABigRangeIsQuick(t *testing.T) {
	tables := tables(t, "Quill,,1,499999999999999,1900,1900,,,,",
		"Quill,,500000000000000,999999999999999,1901,1901,,,,")
	start := time.Now()
	a := date(t, tables, serials.Query{Maker: "Quill", Serial: strings.Repeat("?", 15)})
	assert.Less(t, time.Since(start), time.Second)
	assertShares(t, []series.Share{{Year: 1900, Share: 4. / 9}, {Year: 1901, Share: 5. / 9}}, a.Shares,
		"4e14 and 5e14 of 9e14 serials")
}

func TestTheMostTellingCharacter(t *testing.T) {
	rows := []string{"Quill,K,1000,1999,1900,1900,,,,", "Quill,K,2000,2999,1901,1901,,,,",
		"Quill,L,1000,2999,1910,1910,,,,"}
	for serial, want := range map[string]string{
		"K?50?": "reading the 2nd character of K?50? would settle the year best",
		"?150?": "reading the 1st character of ?150? would settle the year best",
		"??500": "reading the 1st character of ??500 would settle the year best",
	} {
		assert.Contains(t, date(t, tables(t, rows...), serials.Query{Maker: "Quill", Serial: serial}).Notes,
			want)
	}
	for _, n := range date(t, tables(t, rows...), serials.Query{Maker: "Quill", Serial: "K15??"}).Notes {
		assert.NotContains(t, n, "would settle", "one year is left already")
	}
	twice := tables(t, "Quill,,100,199,1900,1900,,,one,", "Quill,,100,199,1901,1901,,,two,")
	for _, n := range date(t, twice, serials.Query{Maker: "Quill", Serial: "1??"}).Notes {
		assert.NotContains(t, n, "would settle", "two sources disagree on every number")
	}
}

// Against working out every reading of every character and comparing what is left in doubt.
func TestTellingAgainstListing(t *testing.T) {
	tables := tables(t, "Quill,,1000,1399,1900,1900,,,,", "Quill,,1400,2499,1901,1901,,,,",
		"Quill,,2500,9999,1902,1902,,,,")
	rows := seriesOf(t, tables, "Quill")[""]
	doubt := func(pattern string, filled int) float64 {
		count, total := map[years.Year]float64{}, 0.0
		for _, n := range fillings(pattern, filled != 0) {
			if n < 1000 {
				continue // a filled-in leading zero
			}
			count[rows.At(n).Best]++
			total++
		}
		d := 0.0
		for _, c := range count {
			d -= c * math.Log2(c/total)
		}
		return d
	}
	for _, pattern := range []string{"????", "1???", "?4??", "2?9?", "?3?0", "24??"} {
		best, least := -1, doubt(pattern, -1)*(1-1e-9)
		for i := range pattern {
			if pattern[i] != '?' {
				continue
			}
			sum := 0.0
			for d := '0'; d <= '9'; d++ {
				sum += doubt(pattern[:i]+string(d)+pattern[i+1:], i)
			}
			if sum < least {
				best, least = i, sum
			}
		}
		var told, want []string
		for _, n := range date(t, tables, serials.Query{Maker: "Quill", Serial: pattern}).Notes {
			if strings.Contains(n, "would settle") {
				told = append(told, n)
			}
		}
		if best >= 0 {
			want = []string{fmt.Sprintf("reading the %s character of %s would settle the year best",
				stamp.Ordinal(best+1), pattern)}
		}
		assert.Equal(t, want, told, pattern)
	}
}
