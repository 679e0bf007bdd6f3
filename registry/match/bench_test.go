package match

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// workshop is a stock as a large workshop might have it: a dozen bed patterns, measures that vary with the
// pattern, years and makers that orders may ask for, donations of about eight pieces, arrivals over three
// years. One head in either is usable by hand or by treadle; zero: none.
func workshop(heads, bases, orders, either int) Problem {
	r := rand.New(rand.NewPCG(uint64(heads), uint64(bases)))
	type made struct{ maker, year, bed int }
	var p Problem
	makes := make([]made, heads)
	for i := range heads {
		makes[i] = made{r.IntN(6), 1880 + r.IntN(80), r.IntN(12)}
		as := Treadle
		switch {
		case either > 0 && r.IntN(either) == 0:
			as = Treadle | Hand
		case r.IntN(4) == 0:
			as = []Kind{Hand, Electric}[r.IntN(2)]
		}
		p.Heads = append(p.Heads,
			Head{ID: fmt.Sprintf("H%05d", i), As: as, Pattern: fmt.Sprint(makes[i].bed, r.IntN(3)),
				Arrived: r.IntN(1000)})
		p.Heads[i].Donation = fmt.Sprint(p.Heads[i].Arrived, r.IntN(1+heads/8000))
	}
	for i := range bases {
		arrived := r.IntN(1000)
		p.Bases = append(p.Bases,
			Base{ID: fmt.Sprintf("B%05d", i), Pattern: fmt.Sprint(r.IntN(12), r.IntN(4)), Arrived: arrived,
				Donation: fmt.Sprint(arrived, 0)})
	}
	limits := map[string]func(made) bool{}
	for order := range orders {
		priority, due := r.IntN(3), r.IntN(200)
		for kind, slots := range map[Kind]int{Treadle: heads * 5 / 8 / orders, Hand: heads / 8 / orders,
			Electric: heads / 8 / orders} {
			l := Line{ID: fmt.Sprintf("O%02d/%d", order, kind), Kind: kind, Slots: slots,
				Priority: priority, Due: due}
			n := order % 10
			switch {
			case n < 2:
				limits[l.ID] = func(m made) bool { return m.year >= 1900+10*n }
			case n == 3:
				limits[l.ID] = func(m made) bool { return m.maker == order%6 }
			case n == 4:
				limits[l.ID] = func(m made) bool { return m.bed == order%12 }
			}
			p.Lines = append(p.Lines, l)
		}
	}
	p.Allows = func(line, head int) bool {
		allows := limits[p.Lines[line].ID]
		return allows == nil || allows(makes[head])
	}
	// A pattern is the bed and how the machine varies; bases take one bed, or with a new top every bed.
	p.Work = func(h, b int) (int, bool) {
		var headBed, headKind, baseBed, baseKind int
		fmt.Sscan(p.Heads[h].Pattern, &headBed, &headKind)
		fmt.Sscan(p.Bases[b].Pattern, &baseBed, &baseKind)
		switch {
		case headBed == baseBed:
			return 30 * (headKind % 2), true
		case baseKind == 3:
			return 180 + 30*(headKind%2), true
		}
		return 0, false
	}
	return p
}

// hungarian is the assignment method as textbooks print it: a dense matrix of costs, rows no more than
// columns, potentials and one shortest augmenting path for each row, O(rows² × columns).
func hungarian(price [][]float64) (columnOf []int) {
	rows, columns := len(price), len(price[0])
	u, v := make([]float64, rows+1), make([]float64, columns+1)
	rowOf, way := make([]int, columns+1), make([]int, columns+1)
	for i := 1; i <= rows; i++ {
		rowOf[0] = i
		at := 0
		least, used := make([]float64, columns+1), make([]bool, columns+1)
		for j := range least {
			least[j] = math.Inf(1)
		}
		for rowOf[at] != 0 {
			used[at] = true
			row, delta, next := rowOf[at], math.Inf(1), 0
			for j := 1; j <= columns; j++ {
				if used[j] {
					continue
				}
				if d := price[row-1][j-1] - u[row] - v[j]; d < least[j] {
					least[j], way[j] = d, at
				}
				if least[j] < delta {
					delta, next = least[j], j
				}
			}
			for j := 0; j <= columns; j++ {
				if used[j] {
					u[rowOf[j]] += delta
					v[j] -= delta
				} else {
					least[j] -= delta
				}
			}
			at = next
		}
		for at != 0 {
			rowOf[at] = rowOf[way[at]]
			at = way[at]
		}
	}
	columnOf = make([]int, rows)
	for j := 1; j <= columns; j++ {
		if rowOf[j] > 0 {
			columnOf[rowOf[j]-1] = j - 1
		}
	}
	return columnOf
}

// dense is the heads and bases of a problem as a square matrix: minutes of work, and a price above any plan's
// for a misfit.
func dense(p Problem) [][]float64 {
	price := make([][]float64, len(p.Heads))
	for h := range price {
		price[h] = make([]float64, len(p.Bases))
		for b := range price[h] {
			price[h][b] = 1e7
			if minutes, fits := p.Work(h, b); fits && p.Heads[h].As&Treadle != 0 {
				price[h][b] = float64(minutes)
			}
		}
	}
	return price
}

// BenchmarkSolve reports, beside its own time, how it grows from half the size. At 2,000 it also times the
// textbook method on the same heads and bases in the same run: that method answers only which head goes on
// which base, with no lines, ranks or limits, and so does less.
func BenchmarkSolve(b *testing.B) {
	before := 0.0
	for _, n := range []int{500, 1000, 2000, 4000} {
		p := workshop(n, n, 50, 0)
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			for b.Loop() {
				plan, err := Solve(p)
				require.NoError(b, err)
				require.True(b, plan.Optimal)
			}
			each := b.Elapsed().Seconds() / float64(b.N)
			if before > 0 {
				b.ReportMetric(each/before, "×half-size")
			}
			before = each
			if n == 2000 {
				price := dense(p)
				start := time.Now()
				hungarian(price)
				b.ReportMetric(time.Since(start).Seconds()/each, "×faster-than-dense")
			}
		})
	}
}

func BenchmarkSolveEitherWay(b *testing.B) {
	for _, n := range []int{100, 500, 2000} {
		p := workshop(n, n, 50, 10)
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			proved := 0.0
			for b.Loop() {
				plan, err := Solve(p)
				require.NoError(b, err)
				proved = 0
				if plan.Optimal {
					proved = 1
				} else {
					b.Log(plan.Gap)
				}
			}
			b.ReportMetric(proved, "proved")
		})
	}
}
