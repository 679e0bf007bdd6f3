package fit

import "pitman/registry"

// HeadOf is what a fit needs to know of a machine.
func HeadOf(m *registry.Machine) Head {
	return Head{BedLength: m.BedLength, BedWidth: m.BedWidth, Pins: m.Pins, Wheel: m.Wheel, Groove: m.Groove,
		AxisHeight: m.AxisHeight, BeltOffset: m.BeltOffset}
}

// BaseOf is what a fit needs to know of a base.
func BaseOf(b *registry.Base) Base {
	return Base{OpeningLength: b.OpeningLength, OpeningWidth: b.OpeningWidth, Pins: b.Pins, Flywheel: b.Flywheel, Centre: b.Centre,
		ShaftToTop: b.ShaftToTop, Belt: b.Belt, Side: b.Side, Top: b.Top}
}

// HouseOf is what a house decided about fits and belts.
func HouseOf(c registry.Config) House {
	f := c.Fit
	return House{
		Pins:             registry.MM(f.Pins),
		ClearanceMin:     registry.MM(f.ClearanceMin),
		ClearanceMax:     registry.MM(f.ClearanceMax),
		PackingMax:       registry.MM(f.PackingMax),
		DrillMax:         registry.MM(f.DrillMax),
		SwapWheelMinutes: f.SwapWheelMinutes,
		PackingMinutes:   f.PackingMinutes,
		DrillMinutes:     f.DrillMinutes,
		NewTop:           f.NewTopMinutes,
		Belt:             registry.MM(c.Belt.Section),
		Joint:            registry.MM(c.Belt.Joint),
	}
}
