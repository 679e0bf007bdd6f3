package crate

import (
	"fmt"
	"math"

	"pitman/registry/fit"
	"pitman/registry/measure"
)

// Size is the outside of a crate.
type Size struct{ Length, Width, Height measure.Length }

// CubicMetres is the room that it takes.
func (s Size) CubicMetres() float64 { return s.Length.MM() * s.Width.MM() * s.Height.MM() / 1e9 }

// The least inside of a 20 ft freight container, and the most that it may weigh with its load.
// Source: ISO 668 and ISO 1496-1; the weight is ISO 668's rating, from memory.
var container = Size{5867 * measure.Millimetre, 2330 * measure.Millimetre, 2350 * measure.Millimetre}

const (
	containerRating = 30_480 * measure.Kilogram
	containerTare   = 2_300 * measure.Kilogram // common practice; the plate on its door has its own
)

// Load is crates of one kind, packed.
type Load struct {
	Kind      string // crates of the same kind share their pallets
	Count     int
	Size      Size
	Gross     measure.Mass // of one, packed; zero: not known
	PerPallet int          // zero: not on pallets
}

// Fill is how much of a 20 ft container a shipment takes. The share by volume is that of the crates alone:
// how they stand wastes more, so a shipment that takes over about four fifths by volume has to be laid out
// (common practice).
type Fill struct {
	CubicMetres float64      `json:"volume_m3"`
	Gross       measure.Mass `json:"gross_kg"` // of the crates whose weight is known
	Unweighed   int          `json:"unweighed"`
	Volume      float64      `json:"container_by_volume"`
	Weight      float64      `json:"container_by_weight"`
	Containers  int          `json:"containers"` // at least
	Pallets     int          `json:"pallets"`
}

// FillOf adds loads up. Each kind stands on pallets of its own.
func FillOf(loads []Load) Fill {
	var f Fill
	type stack struct {
		kind      string
		perPallet int
	}
	crates := map[stack]int{}
	for _, l := range loads {
		f.CubicMetres += float64(l.Count) * l.Size.CubicMetres()
		f.Gross += measure.Mass(l.Count) * l.Gross
		if l.Gross == 0 {
			f.Unweighed += l.Count
		}
		if l.PerPallet > 0 {
			crates[stack{l.Kind, l.PerPallet}] += l.Count
		}
	}
	for s, count := range crates {
		f.Pallets += (count + s.perPallet - 1) / s.perPallet
	}
	f.Volume = f.CubicMetres / container.CubicMetres()
	f.Weight = float64(f.Gross) / float64(containerRating-containerTare)
	f.Containers = int(math.Ceil(max(f.Volume, f.Weight)))
	return f
}

// LidServes says whether a crate's lid, with so much wood left round the opening, is large enough for the top
// that a head needs; if not, what is short.
func LidServes(lid Size, top fit.NewTop, margin measure.Length) (serves bool, why string) {
	// The opening's longer side lies along the lid's longer side.
	lidLong, lidShort := max(lid.Length, lid.Width), min(lid.Length, lid.Width)
	long, short := max(top.OpeningLength, top.OpeningWidth)+2*margin,
		min(top.OpeningLength, top.OpeningWidth)+2*margin
	if lidLong >= long && lidShort >= short {
		return true, fmt.Sprintf("the lid of %s × %s becomes the top", lidLong, lidShort)
	}
	return false, fmt.Sprintf("the lid of %s × %s is too small for the top: it needs %s × %s, with %s "+
		"round the opening",
		lidLong, lidShort, long, short, margin)
}
