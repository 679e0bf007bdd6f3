package fit_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry/fit"
	"pitman/registry/measure"
)

// approximateBelt is the usual short formula. Source: Machinery's Handbook, "Belts and Pulleys".
func approximateBelt(large, small, centre float64) float64 {
	return 2*centre + math.Pi*(large+small)/2 + (large-small)*(large-small)/(4*centre)
}

// Two examples of open belts as textbooks of mechanics set them: pulleys of 500 and 1600 mm, 12 m between
// centres, 27.32 m; and 5 and 10 inches, 20 inches between, 63.87 inches. A third, 150, 300 and 600 mm, is
// the example of a belt-length calculator: 1916.2 mm by the approximation; 1916.2456 mm exactly, by plane
// geometry.
func TestOpenBeltAgainstPublishedExamples(t *testing.T) {
	for _, tt := range []struct{ large, small, centre, want, within float64 }{
		{1600, 500, 12_000, 27_320, 5},
		{10, 5, 20, 63.87, 0.01},
		{300, 150, 600, 1916.2456, 5e-5},
	} {
		exact, ok := fit.OpenBelt(tt.large, tt.small, tt.centre)
		require.True(t, ok)
		assert.InDelta(t, tt.want, exact, tt.within, "%v", tt)
		swapped, _ := fit.OpenBelt(tt.small, tt.large, tt.centre)
		assert.Equal(t, exact, swapped)
	}
	assert.InDelta(t, 1916.2, approximateBelt(300, 150, 600), 0.05)
}

// The approximation keeps the first terms of the exact formula's series in x = (D-d)/(2C); the first term it
// leaves out is C·x⁴/12, and the rest of the series has the same sign: the exact length is the longer, by
// little more than that term.
func TestOpenBeltBesideTheApproximation(t *testing.T) {
	for _, large := range []float64{150, 250, 310, 330} {
		for _, small := range []float64{60, 75, 90, 150} {
			for _, centre := range []float64{400, 560, 700} {
				exact, ok := fit.OpenBelt(large, small, centre)
				require.True(t, ok)
				x := (large - small) / (2 * centre)
				left := centre * math.Pow(x, 4) / 12
				over := exact - approximateBelt(large, small, centre)
				assert.GreaterOrEqual(t, over, left*(1-1e-6)-1e-9, "%g %g %g", large, small, centre)
				assert.LessOrEqual(t, over, left*1.2+1e-9, "%g %g %g", large, small, centre)
			}
		}
	}
}

// The belt is four pieces: two straight runs and two arcs. Walking its outline in small steps must give the
// same length.
func TestOpenBeltByWalkingItsOutline(t *testing.T) {
	const large, small, centre, steps = 310.0, 75.0, 560.0, 200_000
	phi := math.Asin((large - small) / (2 * centre))
	walk := func(cx, r, from, to float64) (length, x0, y0, x1, y1 float64) {
		x, y := cx+r*math.Cos(from), r*math.Sin(from)
		x0, y0 = x, y
		for i := 1; i <= steps; i++ {
			a := from + (to-from)*float64(i)/steps
			nx, ny := cx+r*math.Cos(a), r*math.Sin(a)
			length += math.Hypot(nx-x, ny-y)
			x, y = nx, ny
		}
		return length, x0, y0, x, y
	}
	onLarge, lx0, ly0, lx1, ly1 := walk(0, large/2, math.Pi/2-phi, 3*math.Pi/2+phi)
	onSmall, sx0, sy0, sx1, sy1 := walk(centre, small/2, -math.Pi/2+phi, math.Pi/2-phi)
	outline := onLarge + onSmall + math.Hypot(sx1-lx0, sy1-ly0) + math.Hypot(sx0-lx1, sy0-ly1)
	exact, ok := fit.OpenBelt(large, small, centre)
	require.True(t, ok)
	assert.InDelta(t, outline, exact, 1e-4)
}

func TestOpenBeltRefusesWheelsThatTouch(t *testing.T) {
	for _, tt := range [][3]float64{{310, 75, 192.5}, {75, 310, 192.5}, {310, 75, 0}, {310, 0, 560},
		{0, 310, 560}, {310, 75, -5}} {
		_, ok := fit.OpenBelt(tt[0], tt[1], tt[2])
		assert.False(t, ok, tt)
	}
}

func TestDrive(t *testing.T) {
	h, b, house := goodHead(), goodBase(), defaultHouse()
	want, _ := fit.OpenBelt(310, 75, 560)
	r := fit.Check(h, b, house)
	assert.InDelta(t, want, float64(r.BeltMM), 0.005, "groove plus belt on both wheels")
	assert.InDelta(t, 310.0/75, float64(r.Ratio), 0.0005)
	assert.Equal(t, r.Ratio, r.PerStroke)

	house.Joint = -15 * mm
	assert.InDelta(t, want-15, float64(fit.Check(h, b, house).BeltMM), 0.005,
		"a joint of leather that stretches")

	b.Belt = 6 * mm
	want, _ = fit.OpenBelt(311, 76, 560)
	assert.InDelta(t, want-15, float64(fit.Check(h, b, house).BeltMM), 0.005, "the base's own belt")

	b.ShaftToTop, h.AxisHeight = 430*mm, 150*mm
	r = fit.Check(h, b, house)
	assert.InDelta(t, 580, float64(r.CentreMM), 0.005,
		"this head's height comes before the distance once measured")
	h.BeltOffset = 40 * mm
	r = fit.Check(h, b, house)
	assert.InDelta(t, math.Hypot(580, 40), float64(r.CentreMM), 0.005)
	want, _ = fit.OpenBelt(311, 76, math.Hypot(580, 40))
	assert.InDelta(t, want-15, float64(r.BeltMM), 0.005)

	h.AxisHeight = 0
	assert.InDelta(t, 560, float64(fit.Check(h, b, house).CentreMM), 0.005,
		"measured, where a height is not known")

	b.Centre = 150 * mm
	r = fit.Check(h, b, house)
	assert.Zero(t, r.BeltMM)
	assert.Equal(t, fit.Fits, r.Fits, "the centre distance only informs")
	assert.Contains(t, r.Notes,
		"no belt length: at 150.0 mm between centres the wheels would touch, measure again")
}

// What is not measured is said, and no figure that depends on it is given; what comes from elsewhere is said,
// too.
func TestDriveTellsWhereItsFiguresComeFrom(t *testing.T) {
	h, b, house := goodHead(), goodBase(), defaultHouse()
	r := fit.Check(h, b, house)
	assert.Equal(t,
		[]string{"belt of 5 mm taken from the house's settings",
			"centre distance 560.0 mm, as measured on the base"}, r.Notes)
	// By hand: 1120 + 604.757 + 24.654 mm by the approximation, and 0.091 mm of the next term of its series.
	// 310 : 75 is 4.1333.
	assert.Equal(t, fit.Drive{BeltMM: 1749.5, CentreMM: 560, Ratio: 4.133, PerStroke: 4.133}, r.Drive)

	b.Belt, house.Joint = 6*mm, -15*mm
	assert.Equal(t,
		[]string{"centre distance 560.0 mm, as measured on the base",
			"-15 mm for the joint is in the belt length"}, fit.Check(h, b, house).Notes)

	b.ShaftToTop, h.AxisHeight = 430*mm, 150*mm
	assert.Contains(t, fit.Check(h, b, house).Notes,
		"centre distance 580.0 mm, from the heights of shaft and handwheel")
	h.BeltOffset = 40 * mm
	assert.Contains(t, fit.Check(h, b, house).Notes,
		"centre distance 581.4 mm, from the heights of shaft and handwheel and the belt-line offset")
	assert.Equal(t, fit.Figure(581.38), fit.Check(h, b, house).CentreMM, "√(580² + 40²) is 581.378")
	b.ShaftToTop = 0
	assert.Contains(t, fit.Check(h, b, house).Notes, "centre distance 560.0 mm, as measured on the base",
		"one height alone gives no distance")

	b.Centre = 0
	r = fit.Check(h, b, house)
	assert.Equal(t, fit.Drive{Ratio: 4.092, PerStroke: 4.092}, r.Drive)
	assert.Equal(t,
		[]string{"no belt length: measure the centre distance, or the base's shaft-to-top height and the " +
			"head's wheel-axis height"}, r.Notes)

	for _, forget := range []*measure.Length{&h.Wheel, &b.Flywheel} {
		was := *forget
		*forget = 0
		r = fit.Check(h, b, house)
		assert.Equal(t, fit.Drive{}, r.Drive)
		assert.Equal(t, []string{"no belt length or drive ratio: both grooves must be measured"}, r.Notes)
		*forget = was
	}
}

// A flywheel on the left is said, whatever else is known; it decides nothing.
func TestLeftHandBasesAreNoted(t *testing.T) {
	h, b, house := goodHead(), goodBase(), defaultHouse()
	const note = "the base's flywheel stands on the left, where few heads have their handwheel: look " +
		"before pairing"
	for _, side := range []fit.Side{"", fit.SideRight} {
		b.Side = side
		assert.NotContains(t, fit.Check(h, b, house).Notes, note)
	}
	b.Side = fit.SideLeft
	r := fit.Check(h, b, house)
	assert.Contains(t, r.Notes, note)
	assert.Equal(t, fit.Fits, r.Fits)
	h.Wheel = 0
	assert.Contains(t, fit.Check(h, b, house).Notes, note)
}

// The offset that the package leaves out when it is not known is worth less than a millimetre of belt.
func TestOffsetOfTwentyMillimetresIsSmall(t *testing.T) {
	straight, _ := fit.OpenBelt(310, 75, 600)
	skew, _ := fit.OpenBelt(310, 75, math.Hypot(600, 20))
	assert.Less(t, skew-straight, 1.0)
	assert.Greater(t, skew, straight)
}
