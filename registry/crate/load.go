package crate

import (
	"fmt"
	"math"

	"pitman/registry/container"
	"pitman/registry/fit"
	"pitman/registry/measure"
)

// Size is the outside of a crate.
type Size struct{ Length, Width, Height measure.Length }

// CubicMetres is the room that it takes.
func (s Size) CubicMetres() float64 { return s.Length.MM() * s.Width.MM() * s.Height.MM() / 1e9 }

// box is the container that loads are measured against.
var box = container.Twenty

func roomOf(b container.Box) float64 {
	return float64(b.Length) * float64(b.Width) * float64(b.Height) / 1e9
}

// Load is crates of one kind, packed.
type Load struct {
	Kind      string // crates of the same kind share their pallets
	Count     int
	Size      Size
	Gross     measure.Mass // of one, packed; zero: not known
	PerPallet int          // zero: not on pallets
}

// Fill is how much of a 20 ft container a shipment takes: by volume of the crates alone, by weight, and by
// the pallets that its floor takes, one beside the other.
type Fill struct {
	CubicMetres float64      `json:"volume_m3"`
	Gross       measure.Mass `json:"gross_kg"` // of the crates whose weight is known
	Unweighed   int          `json:"unweighed"`
	Volume      float64      `json:"container_by_volume"`
	Weight      float64      `json:"container_by_weight"`
	Containers  int          `json:"containers"` // at least
	Pallets     int          `json:"pallets"`
	PerFloor    int          `json:"pallets_on_a_floor"`
}

// FillOf adds loads up. Each kind stands on pallets of its own, of this footprint in millimetres, and no
// pallet on another.
func FillOf(loads []Load, palletLength, palletWidth int) Fill {
	f := Fill{PerFloor: container.Fits(box, palletLength, palletWidth)}
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
	f.Volume = f.CubicMetres / roomOf(box)
	f.Weight = float64(f.Gross) / float64(measure.Mass(box.Payload)*measure.Kilogram)
	f.Containers = int(math.Ceil(max(f.Volume, f.Weight, f.Floor())))
	return f
}

// Floor is how much of a container's floor the pallets take.
func (f Fill) Floor() float64 { return float64(f.Pallets) / float64(max(f.PerFloor, 1)) }

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
