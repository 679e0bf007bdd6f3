// Package years is the arithmetic of dating: cumulative output over time, how far a reading of it may be off,
// and what probability that leaves to each year. It knows years and counts, no tables and no makers.
package years

import "math"

// Cubic is a monotone piecewise cubic through knots: F. N. Fritsch and R. E. Carlson, Monotone Piecewise
// Cubic Interpolation, SIAM Journal on Numerical Analysis 17 (1980) 238–246. The start slopes are the means
// of the two secants beside a knot and, at the ends, the one secant; they are then scaled down from left to
// right where they would make a wave.
type Cubic struct{ x, y, slope []float64 }

// NewCubic lays the curve through at least two knots, whose x rise.
func NewCubic(x, y []float64) *Cubic {
	n := len(x)
	secant := make([]float64, n-1)
	for i := range secant {
		secant[i] = (y[i+1] - y[i]) / (x[i+1] - x[i])
	}
	slope := make([]float64, n)
	slope[0], slope[n-1] = secant[0], secant[n-2]
	for i := 1; i < n-1; i++ {
		if secant[i-1]*secant[i] > 0 {
			slope[i] = (secant[i-1] + secant[i]) / 2
		}
	}
	for i, s := range secant {
		if s == 0 {
			slope[i], slope[i+1] = 0, 0
			continue
		}
		a, b := slope[i]/s, slope[i+1]/s
		if r := math.Hypot(a, b); r > 3 {
			slope[i], slope[i+1] = 3/r*a*s, 3/r*b*s
		}
	}
	return &Cubic{x, y, slope}
}

// At is the curve's height at x, which lies between the first knot and the last.
func (c *Cubic) At(x float64) float64 {
	lo, hi := 0, len(c.x)-1
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; c.x[mid] <= x {
			lo = mid
		} else {
			hi = mid
		}
	}
	h := c.x[hi] - c.x[lo]
	t := (x - c.x[lo]) / h
	return (1+2*t)*(1-t)*(1-t)*c.y[lo] + t*(1-t)*(1-t)*h*c.slope[lo] + t*t*(3-2*t)*c.y[hi] +
		t*t*(t-1)*h*c.slope[hi]
}

// Knots is how many knots the curve goes through.
func (c *Cubic) Knots() int { return len(c.x) }

// Before says whether the curve comes first in an order that rests on nothing but the curves: more knots
// first.
func (c *Cubic) Before(o *Cubic) bool {
	if o == nil || len(c.x) != len(o.x) {
		return o == nil || len(c.x) > len(o.x)
	}
	for i := range c.x {
		if c.x[i] != o.x[i] {
			return c.x[i] < o.x[i]
		}
		if c.y[i] != o.y[i] {
			return c.y[i] < o.y[i]
		}
	}
	return false
}
