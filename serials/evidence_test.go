package serials_test

import (
	"fmt"
	"math/rand"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pitman/serials"
	"pitman/serials/years"
)

// Whatever the tables say, evidence only ever takes years away, and a worn serial keeps every year in which
// one of its fillings, dated by itself under the same evidence, may have been made.
func TestEvidenceNeverWidens(t *testing.T) {
	rnd := rand.New(rand.NewSource(7))
	rounds := 200
	if os.Getenv("NIGHTLY") != "" {
		rounds = 6000
	}
	for range rounds {
		var rows []string
		for range 1 + rnd.Intn(5) {
			first, last, from := rnd.Intn(900), "", 1900+rnd.Intn(20)
			if rnd.Intn(3) > 0 {
				last = fmt.Sprint(first + rnd.Intn(300))
			}
			rows = append(rows,
				fmt.Sprintf("Quill,%s,%d,%s,%d,%d,,,,", []string{"", "", "K"}[rnd.Intn(3)], first, last, from,
					from+rnd.Intn(3)*rnd.Intn(4)))
		}
		tables := tables(t, rows...)
		q := serials.Query{Maker: "Quill", Serial: []string{"", "K"}[rnd.Intn(2)] +
			fmt.Sprint(rnd.Intn(1300))}
		if rnd.Intn(2) == 0 {
			q.PatentDates = []int{1895 + rnd.Intn(30)}
		}
		if rnd.Intn(2) == 0 {
			q.Seen = []int{1900 + rnd.Intn(35)}
		}
		bare := date(t, tables, serials.Query{Maker: q.Maker, Serial: q.Serial})
		a := date(t, tables, q)
		where := fmt.Sprintf("%v in %v: %+v, without evidence %+v", q, rows, a.Estimate, bare.Estimate)
		if len(a.Conflicts) == 0 || a.Basis == years.Overlap && a.From != 0 {
			require.True(t, within(a.Estimate, years.Span{From: bare.From, To: bare.To}), where)
			for _, b := range a.Bounds {
				limit := years.Span{From: b.Year}
				if b.Kind == serials.NotAfter {
					limit = years.Span{To: b.Year}
				}
				require.True(t, within(a.Estimate, limit), where)
			}
		}
		if a.From == a.To {
			require.Equal(t, a.From, a.Best, "one year left is the best year: %s", where)
		}

		worn := []byte(fmt.Sprint(100 + rnd.Intn(900)))
		worn[rnd.Intn(3)], worn[rnd.Intn(3)] = '?', '?'
		q.Serial = []string{"", "?", "K"}[rnd.Intn(3)] + string(worn)
		a = date(t, tables, q)
		if a.From == 0 && a.To == 0 {
			continue
		}
		for _, s := range seriesOf(t, tables, "Quill") {
			d, ok := s.Fit(q.Serial)
			if !ok {
				continue
			}
			for _, n := range fillings(d.Text, d.LeadingZero) {
				if _, around := s.Holding(n); around {
					continue
				}
				one := date(t, tables,
					serials.Query{Maker: "Quill", Serial: fmt.Sprint(s.Prefix, n), PatentDates: q.PatentDates,
						Seen: q.Seen})
				if one.From != 0 || one.To != 0 {
					require.True(t, within(one.Estimate, years.Span{From: a.From, To: a.To}),
						"%v in %s: %+v, but %d: %+v",
						q, strings.Join(rows, " "), a.Estimate, n, one.Estimate)
				}
			}
		}
	}
}

func within(e years.Estimate, s years.Span) bool {
	return e.From >= s.From && (s.To == 0 || e.To != 0 && e.To <= s.To)
}
