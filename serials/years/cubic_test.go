package years_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"pitman/serials/years"
)

// Source: the data RPN 14 of Fritsch and Carlson, SIAM J. Numer. Anal. 17 (1980) 238–246, as two published
// programs have them; the heights by R's splinefun(method = "monoH.FC") and an independent program, since the
// paper's own printed values were not seen.
func TestMonotoneCubic(t *testing.T) {
	c := years.NewCubic([]float64{7.99, 8.09, 8.19, 8.7, 9.2, 10, 12, 15, 20},
		[]float64{0, 2.76429e-5, 4.37498e-2, 0.169183, 0.469428, 0.943740, 0.998636, 0.999919, 0.999994})
	for x, want := range map[float64]float64{8.05: 0.0000059809, 8.14: 0.0176292811, 8.5: 0.1114535085,
		9.0: 0.3410945788, 9.6: 0.7580269012,
		11: 0.9914330705, 13: 0.9995280184, 18: 0.9999825784} {
		assert.InDelta(t, want, c.At(x), 1e-10, "%g", x)
	}
}
