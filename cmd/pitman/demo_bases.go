package main

import (
	"context"
	"fmt"

	"pitman/registry"
	"pitman/registry/measure"
	"pitman/registry/stock"
)

// addDemoBases takes in fourteen bases: most fit one bed of the demo's makers, and the others show how a fit
// fails, what it costs in work, and what is worth measuring.
func addDemoBases(ctx context.Context, d *workplace) error {
	for i, b := range demoBases() {
		if err := d.AddBase(ctx, demoPeople[i%len(demoPeople)], &b); err != nil {
			return fmt.Errorf("demo base %d: %w", i+1, err)
		}
	}
	return nil
}

// addDemoStock counts the small things on the shelf: enough for some kits, and too few of one.
func addDemoStock(ctx context.Context, d *workplace) error {
	for _, s := range []struct {
		part  string
		count int
	}{{"needle", 120}, {"needle-round", 60}, {"bobbin-long", 40}, {"bobbin-15", 24}, {"bobbin-66", 18},
		{"belt-leather", 9}, {"winder-tyre", 30},
		{"oil", 25}, {"screwdriver", 25}, {"care-sheet", 50}, {"belt-motor", 4}, {"plug-g", 6}} {
		if _, err := d.ChangeSupply(ctx, "MB", s.part, s.count); err != nil {
			return err
		}
	}
	return nil
}

func demoBases() []stock.Base {
	mm := measure.MM
	all := registry.List[string]{"all"}
	of := func(pattern string, length, width, pins, flywheel, shaftToTop, kg float64) stock.Base {
		return stock.Base{Maker: "Brookside Ironworks", Pattern: pattern, OpeningLength: mm(length),
			OpeningWidth: mm(width), Pins: mm(pins),
			Flywheel: mm(flywheel), ShaftToTop: mm(shaftToTop), Weight: measure.Mass(kg * 1000),
			Side: stock.SideRight, Parts: all,
			Form: "standing", Place: "iron shed", Donor: "Tolvane parish hall", Condition: "complete"}
	}
	alder := func(off float64) stock.Base { return of("Alder", 374+off, 181, 241+off, 305, 432, 27) }
	rowan := func(off float64) stock.Base { return of("Rowan", 371.5, 179+off, 239.5, 290, 425, 24.5) }
	thorn := func() stock.Base { return of("Blackthorn", 380, 184, 246.5, 318, 440, 31) }
	hazel := func(off float64) stock.Base { return of("Hazel", 313+off, 168, 198, 280, 420, 21) }

	bases := []stock.Base{alder(0), alder(0.5), alder(0), alder(-0.5), rowan(0), rowan(0.5), rowan(0),
		thorn(), thorn(), hazel(0), hazel(0.5)}
	for i := range bases {
		if i%3 == 2 {
			bases[i].Form, bases[i].Place = "flat-packed", "rack by the door"
		}
	}
	bases[3].Parts,
		bases[3].Condition = registry.List[string]{"legs", "brace", "treadle-plate", "flywheel", "top"},
		"pitman and guard missing"

	warped := alder(0)
	warped.OpeningLength, warped.Pins, warped.Top, warped.Condition = mm(379), mm(244), stock.TopReplaceable,
		"top warped"
	bare := rowan(0)
	bare.OpeningLength, bare.OpeningWidth, bare.Pins, bare.Top, bare.Condition = 0, 0, 0, stock.TopMissing,
		"iron only"
	unmeasured := stock.Base{Weight: 0, Parts: all, Place: "iron shed", Donor: "left at the door",
		Note: "measure it"}
	return append(bases, warped, bare, unmeasured)
}
