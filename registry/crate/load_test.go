package crate

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"pitman/registry/fit"
	"pitman/registry/measure"
)

// The container's inside is ISO 668's: 5.867 × 2.330 × 2.350 m, so 32.1 m³.
func TestFill(t *testing.T) {
	assert.InDelta(t, 5.867*2.330*2.350, roomOf(box), 1e-9)

	treadle := Load{Count: 20, Size: Size{1000 * mm, 600 * mm, 500 * mm}, Gross: 60 * measure.Kilogram,
		PerPallet: 6}
	hand := Load{Count: 10, Size: Size{500 * mm, 300 * mm, 400 * mm}, PerPallet: 24}
	f := FillOf([]Load{treadle, hand}, 1200, 1000)
	assert.InDelta(t, 20*0.3+10*0.06, f.CubicMetres, 1e-9)
	assert.Equal(t, 1200*measure.Kilogram, f.Gross)
	assert.Equal(t, 10, f.Unweighed, "a weight that is not known is said, not taken as none")
	assert.Equal(t, 4+1, f.Pallets)
	assert.InDelta(t, 6.6/32.1, f.Volume, 0.001)
	assert.InDelta(t, 1200.0/28180, f.Weight, 1e-9)
	assert.Equal(t, 1, f.Containers)

	// Crates that come one by one, each with its own weight, share pallets with their kind: 4 of 3 on a
	// pallet are 2, not 4.
	var singly []Load
	for i := range 4 {
		singly = append(singly,
			Load{Kind: "treadle-set", Count: 1, Gross: measure.Mass(60+i) * measure.Kilogram, PerPallet: 3},
			Load{Kind: "hand", Count: 1, PerPallet: 3}, Load{Kind: "electric", Count: 1})
	}
	assert.Equal(t, 2+2, FillOf(singly, 1200, 1000).Pallets)

	hand.Count = 48
	assert.Equal(t, 2, FillOf([]Load{hand}, 1200, 1000).Pallets, "two full ones")
	hand.PerPallet = 1
	assert.Equal(t, 48, FillOf([]Load{hand}, 1200, 1000).Pallets, "one on each")

	treadle.Count = 500
	f = FillOf([]Load{treadle}, 1200, 1000)
	assert.InDelta(t, 150/32.125, f.Volume, 0.01)
	assert.Equal(t, 9, f.Containers, "84 pallets, 10 on a floor")
	treadle.Gross = 600 * measure.Kilogram
	assert.Equal(t, 11, FillOf([]Load{treadle}, 1200, 1000).Containers, "and 300 t are 10.6 by weight")
	assert.Equal(t, 4, FillOf([]Load{{Count: 34, PerPallet: 1}}, 1200, 1000).Containers,
		"34 pallets, 10 on a floor")
	assert.Zero(t, FillOf(nil, 1200, 1000).Containers)
}

func TestLidServes(t *testing.T) {
	top := fit.NewTop{OpeningLength: 374 * mm, OpeningWidth: 181 * mm, Pins: 241 * mm}
	lid := Size{Length: 301 * mm, Width: 494 * mm}
	serves, why := LidServes(lid, top, 60*mm)
	assert.True(t, serves, "either side of the lid may be the longer")
	assert.Equal(t, "the lid of 494 mm × 301 mm becomes the top", why)
	serves, _ = LidServes(Size{Length: 494 * mm, Width: 301 * mm}, top, 60*mm)
	assert.True(t, serves)
	serves, why = LidServes(lid, fit.NewTop{OpeningLength: 181 * mm, OpeningWidth: 374 * mm}, 60*mm)
	assert.True(t, serves, "and either side of the opening: %s", why)
	for _, short := range []Size{{Length: 300 * mm, Width: 494 * mm}, {Length: 301 * mm, Width: 493 * mm},
		{Length: 494 * mm, Width: 300 * mm}, {Length: 493 * mm, Width: 301 * mm}} {
		for _, opening := range []fit.NewTop{top, {OpeningLength: 181 * mm, OpeningWidth: 374 * mm}} {
			serves, why = LidServes(short, opening, 60*mm)
			assert.False(t, serves)
			assert.Contains(t, why, "it needs 494 mm × 301 mm, with 60 mm round the opening")
		}
	}
}
