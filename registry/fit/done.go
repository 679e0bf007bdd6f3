package fit

import (
	"slices"

	"pitman/registry/measure"
	"pitman/registry/stock"
)

// Done says in the records what a job has changed: what was cut, drilled or swapped has from now on the
// measures that it was made to. What it does not know, it leaves.
func Done(job string, m *stock.Machine, b *stock.Base, house House) {
	h := HeadOf(m)
	cut := cutFor(&h, &house)
	switch job {
	case JobSwapWheel:
		m.Groove = Yes // and its diameter is the one that was measured for it
	case JobNewTop:
		b.OpeningLength, b.OpeningWidth, b.Pins, b.Top = cut.OpeningLength, cut.OpeningWidth, cut.Pins,
			TopReplaceable
		if !slices.Contains(b.Parts, stock.PartTop) {
			b.Parts = append(b.Parts, stock.PartTop)
		}
	case JobDrill:
		b.Pins = m.Pins
	case JobPacking:
		pack := func(opening *measure.Length, bed, to measure.Length) {
			if *opening-bed > house.ClearanceMax {
				*opening = to
			}
		}
		pack(&b.OpeningLength, m.BedLength, cut.OpeningLength)
		pack(&b.OpeningWidth, m.BedWidth, cut.OpeningWidth)
	}
}
