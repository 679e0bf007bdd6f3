package fit

import (
	"pitman/registry/measure"
	"pitman/registry/stock"
)

// HeadOf is what a fit needs to know of a machine.
func HeadOf(m *stock.Machine) Head {
	return Head{BedLength: m.BedLength, BedWidth: m.BedWidth, Pins: m.Pins, Wheel: m.Wheel, Groove: m.Groove,
		AxisHeight: m.AxisHeight, BeltOffset: m.BeltOffset}
}

// BaseOf is what a fit needs to know of a base.
func BaseOf(b *stock.Base) Base {
	return Base{OpeningLength: b.OpeningLength, OpeningWidth: b.OpeningWidth, Pins: b.Pins,
		Flywheel: b.Flywheel, Centre: b.Centre,
		ShaftToTop: b.ShaftToTop, Belt: b.Belt, Side: b.Side, Top: b.Top}
}

// HouseOf is what a house decided about fits and belts.
func HouseOf(rules FitConfig, belt BeltConfig) House {
	return House{
		Pins:             measure.MM(rules.Pins),
		ClearanceMin:     measure.MM(rules.ClearanceMin),
		ClearanceMax:     measure.MM(rules.ClearanceMax),
		PackingMax:       measure.MM(rules.PackingMax),
		DrillMax:         measure.MM(rules.DrillMax),
		SwapWheelMinutes: rules.SwapWheelMinutes,
		PackingMinutes:   rules.PackingMinutes,
		DrillMinutes:     rules.DrillMinutes,
		NewTop:           rules.NewTopMinutes,
		Belt:             measure.MM(belt.Section),
		Joint:            measure.MM(belt.Joint),
	}
}
