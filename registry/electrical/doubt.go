package electrical

import (
	"fmt"

	"pitman/registry"
	"pitman/registry/measure"
)

// given says whether a figure stands in the form.
func given(text string) bool { return text != "" && text != measure.NotApplicable }

// unusualCord is longer than a machine's cord commonly is (common practice): 18 is typed for 1.8, and raises
// the earth limit.
const unusualCord = 5_000 * measure.Millimetre

// AsksLongCord says whether a cord's length as typed is so unusual that it is asked for once more.
func AsksLongCord(length string) bool {
	v, err := cordLengths.Parse("cord length", length, "m")
	return given(length) && err == nil && measure.Length(v) > unusualCord
}

// cord reads length and size of the cord.
func (f *SafetyForm) cord() (measure.Length, cord, error) {
	length, err := cordLengths.Parse("cord length", f.CordLength, "m")
	if err != nil {
		return 0, cord{}, err
	}
	c, err := conductor(f.CordArea)
	return measure.Length(length), c, err
}

// doubts refuses what would pass by a figure that is hardly right.
func (f *SafetyForm) doubts() error {
	if AsksLongCord(f.CordLength) && !f.LongCord {
		return registry.Errorf(registry.Conflict,
			"cord length %q is above %v m, which is unusual and raises the earth limit: measure it again, "+
				"and say that it is right", f.CordLength, unusualCord.MM()/1000).On("long-cord")
	}
	return f.lowEarth()
}

// lowEarth refuses an earth reading that the cord alone exceeds twice over: an instrument that takes off more
// than its lead shows it.
func (f *SafetyForm) lowEarth() error {
	if f.Class != "I" || !given(f.Earth) || !given(f.CordLength) || !given(f.CordArea) {
		return nil
	}
	length, c, err := f.cord()
	if err != nil {
		return err
	}
	_, figure := endOfScale(f.Earth)
	reading, err := measure.Resistances.Parse("earth", figure, "ohm")
	if err != nil {
		return err
	}
	own := cordResistance(length, c.perMetre)
	if 2*reading >= int64(own) {
		return nil
	}
	return registry.Errorf(registry.Conflict,
		"earth %q is below half of the cord's own resistance of %s: null the lead of the instrument, and "+
			"measure again", f.Earth, ohms(own)).On("earth")
}

func ohms(r measure.Resistance) string { return fmt.Sprintf("%v Ω", float64(r)/float64(measure.Ohm)) }

// insulationVolts is the voltage that insulation was measured with.
func (f *SafetyForm) insulationVolts() string {
	if f.InsulationVolts == "250" {
		return "250 V d.c., for " + when(f.Surge, "surge protection") +
			when(f.Surge && f.Electronics, " and ") +
			when(f.Electronics, "electronics")
	}
	return "500 V d.c."
}
