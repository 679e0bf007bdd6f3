package bench

import (
	"slices"

	"pitman/registry"
)

// KeepPoints are the points of a house with the built-in ones that its list leaves out or narrows, which it
// also names. A point that the house may do without is as its list has it.
func KeepPoints(own, built []TestPoint, without []string) (points []TestPoint, missing []string) {
	points = slices.Clone(own)
	for _, b := range built {
		i := slices.IndexFunc(points, func(p TestPoint) bool { return p.Key() == b.Key() })
		if i >= 0 && points[i].covers(b) {
			continue
		}
		missing = append(missing, b.Key())
		switch {
		case slices.Contains(without, b.Key()) || slices.Contains(without, "all"):
		case i >= 0:
			points[i].Drives, points[i].Stitches = b.Drives, b.Stitches
			points[i].MayLack, points[i].Measured = b.MayLack, b.Measured
		default:
			points = append(points, b)
		}
	}
	return points, missing
}

// covers says whether a point asks at least as much as another.
func (p TestPoint) covers(b TestPoint) bool {
	for _, d := range registry.Drives {
		if b.Drives.Has(d) && !p.Drives.Has(d) {
			return false
		}
	}
	for _, s := range registry.Stitches {
		if b.Stitches.Has(s) && !p.Stitches.Has(s) {
			return false
		}
	}
	return !bool(p.MayLack) || bool(b.MayLack)
}
