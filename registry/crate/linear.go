package crate

import (
	"math"
	"slices"
)

// A linear programme of the least cost, whose columns are found one by one: the revised simplex method, with
// the inverse of the basis kept and changed at each step. Rows are few (the lengths to cut and the kinds of
// board that may run out), columns beyond number.
type linear struct {
	basis   []column
	inverse [][]float64
	x       []float64 // of each column in the basis
}

// column is one activity: what one of it costs, what it adds to each row, and the cuts that it stands for;
// nil: it is a remainder.
type column struct {
	cost float64
	adds []float64
	mix  *mix
}

// tiny is what a figure may be off zero by rounding alone.
const tiny = 1e-9

// newLinear begins with what each row asks for, done by columns that do nothing else.
func newLinear(asks, costs []float64) *linear {
	l := &linear{x: slices.Clone(asks)}
	for i := range asks {
		l.basis = append(l.basis, column{costs[i], unit(len(asks), i, 1), nil})
		l.inverse = append(l.inverse, unit(len(asks), i, 1))
	}
	return l
}

func unit(n, at int, v float64) []float64 {
	u := make([]float64, n)
	u[at] = v
	return u
}

// prices says what one more of each row would cost.
func (l *linear) prices() []float64 {
	y := make([]float64, len(l.x))
	for i, c := range l.basis {
		if c.cost != 0 {
			for j, v := range l.inverse[i] {
				y[j] += c.cost * v
			}
		}
	}
	return y
}

// enter puts a column into the basis for the one that it uses up first; of two alike the later row goes,
// since the rows of the shortest pieces are the easiest to fill otherwise.
func (l *linear) enter(c column) bool {
	along := make([]float64, len(l.x))
	out, least := -1, math.Inf(1)
	for i, row := range l.inverse {
		for j, v := range c.adds {
			if v != 0 {
				along[i] += row[j] * v
			}
		}
		if along[i] > tiny && l.x[i]/along[i] <= least {
			out, least = i, l.x[i]/along[i]
		}
	}
	if out < 0 {
		return false
	}
	pivot := l.inverse[out]
	for j := range pivot {
		pivot[j] /= along[out]
	}
	for i, row := range l.inverse {
		if i != out && along[i] != 0 {
			l.x[i] = max(0, l.x[i]-least*along[i])
			for j, v := range pivot {
				row[j] -= along[i] * v
			}
		}
	}
	l.basis[out], l.x[out] = c, least
	return true
}
