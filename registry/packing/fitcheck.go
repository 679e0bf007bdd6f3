package packing

import (
	"fmt"
	"strings"

	"pitman/registry/fit"
	"pitman/registry/stock"
)

// misfit holds head and base against each other once more before they are packed, since a measure may have
// been corrected; it says what keeps them apart, or nothing. The base is nil but in a treadle set.
func (w *Packing) misfit(m *stock.Machine, b *stock.Base) string {
	if b == nil {
		return ""
	}
	r := fit.Check(fit.HeadOf(m), fit.BaseOf(b), fit.HouseOf(*w.Config.Fit, *w.Config.Belt))
	if misses := r.Misses(); len(misses) > 0 {
		return fmt.Sprintf("%s does not fit %s by what is measured now: %s", m.Tag, b.Tag,
			strings.Join(misses, "; "))
	}
	return ""
}
