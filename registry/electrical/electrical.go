// Package electrical judges an electrical safety test: the form that a competent person fills in, the
// published limits with their source beside each, and what a nameplate and a supply say of each other. It is
// pure: it sees a form and rules, and declares nothing safe.
package electrical

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"pitman/registry"
	"pitman/registry/measure"
)

// SafetyRules are the house's own rules for electrical safety, from house.toml under [safety].
type SafetyRules struct {
	Competent []string `toml:"competent"` // initials of those who may record a safety test
	// how long a pass stands; 0 = until the next electrical work
	ValidDays   int          `toml:"valid_days"`
	Instruments []Instrument `toml:"instruments"` // once any is listed, every test names one
	Limits      SafetyLimits `toml:"limits"`
}

// Instrument is a test instrument of the house. Its dates are written 2026-03-31.
type Instrument struct {
	ID         string `toml:"id" json:"id"`
	Calibrated string `toml:"calibrated" json:"calibrated"`
	// when the next calibration is due, if the house sets it
	Due string `toml:"due" json:"due,omitempty"`
}

// SafetyResult is a competent person's test with the limits worked out beside it. Hold says why the machine
// must be held; it is empty exactly when every point passes. It records a result and declares nothing safe.
type SafetyResult struct {
	Form      SafetyForm `json:"form"`
	Nameplate Nameplate  `json:"nameplate"`
	Limits    []Limit    `json:"limits"`
	Pass      bool       `json:"pass"`
	Hold      string     `json:"hold,omitempty"`
	Notes     []string   `json:"notes"`
}

// Judge checks a form against the rules and works out every limit. plate is what is already known of the
// machine; on is the day of the test. A form that cannot be accepted is refused whole; a test that fails is a
// result, not an error.
func (rules SafetyRules) Judge(form SafetyForm, plate Nameplate, on time.Time) (SafetyResult, error) {
	limits, err := rules.Limits.Tightened()
	if err != nil {
		return SafetyResult{}, err
	}
	if err := form.tidy(); err != nil {
		return SafetyResult{}, err
	}
	r := SafetyResult{Form: form, Limits: []Limit{}, Notes: []string{}}
	if r.Nameplate, err = form.nameplate(plate); err != nil {
		return SafetyResult{}, err
	}
	if err := form.checkFigures(); err != nil {
		return SafetyResult{}, err
	}
	// Bare metal on a two-core cord, or nobody knows: no limit exists, so nothing can pass.
	if form.Class == "none" || form.Class == "unknown" {
		r.Hold = "class " + form.Class +
			": hold until it is rewired by a competent person and made class I or II"
		if len(form.readings()) > 0 {
			r.Notes = append(r.Notes, "readings are kept as typed and not judged: class "+form.Class+
				" has no limits")
		}
		return r, nil
	}
	if form.Visual == "fail" {
		if got := form.readings(); len(got) > 0 {
			return SafetyResult{},
				registry.Errorf(registry.Conflict,
					"visual failed, so %s is not accepted: record the failure alone, mend it, "+
						"then test again",
					got[0]).On("visual")
		}
		r.Hold = "visual: " + form.visualFaults()
		return r, nil
	}
	// Whatever is missing yet, what failed has failed: nobody is asked to switch on what did.
	if form.lacks() {
		failed, err := r.failing(limits)
		if err != nil {
			return SafetyResult{}, err
		}
		if len(failed) > 0 {
			r.Hold = strings.Join(failed, "; ")
			return r, nil
		}
	}
	if err := rules.CheckInstrument(form.Instrument, on); err != nil {
		return SafetyResult{}, err
	}
	if err := form.complete(r.Nameplate.Plug); err != nil {
		return SafetyResult{}, err
	}
	if err := r.measure(limits); err != nil {
		return SafetyResult{}, err
	}
	r.notes()
	failed := r.failures()
	r.Hold = strings.Join(failed, "; ")
	r.Pass = len(failed) == 0
	return r, nil
}

// measure parses the readings and sets each beside its limit.
func (r *SafetyResult) measure(limits SafetyLimits) error {
	f := r.Form
	if f.Class == "I" {
		if err := r.earth(limits); err != nil {
			return err
		}
	}
	if err := r.insulation(limits); err != nil {
		return err
	}
	return r.leakage(limits)
}

// earth sets the earth reading beside its limit. Without the cord's figures the limit is that of the longest
// cord, so that a reading above it fails whatever the cord is.
func (r *SafetyResult) earth(limits SafetyLimits) error {
	f, published := r.Form, PublishedSafetyLimits()
	cord, said := cordResistance(longestCord, conductors[0].perMetre),
		fmt.Sprintf("plus the longest cord, %v m at %v mΩ/m",
			longestCord.MM()/1000, float64(conductors[0].perMetre)/1000)
	if given := func(s string) bool { return s != "" && s != measure.NotApplicable }; given(f.CordLength) &&
		given(f.CordArea) {
		length, err := cordLengths.Parse("cord length", f.CordLength, "m")
		if err != nil {
			return err
		}
		perMetre, err := conductor(f.CordArea)
		if err != nil {
			return err
		}
		cord = cordResistance(measure.Length(length), perMetre)
		said = fmt.Sprintf("plus cord %v m at %v mΩ/m", measure.Length(length).MM()/1000,
			float64(perMetre)/1000)
	}
	limit := measure.Resistance(measure.NearestWhole(limits.EarthOhm*float64(measure.Ohm))) + cord
	from := fmt.Sprintf("%s, %s, %s", source(limits.EarthOhm, published.EarthOhm, "Ω", inServiceCode), said,
		cordTable)
	return r.add("earth", f.Earth, measure.Resistances, "ohm", "Ω", int64(limit), int64(measure.Ohm), false,
		from)
}

func (r *SafetyResult) insulation(limits SafetyLimits) error {
	f, published := r.Form, PublishedSafetyLimits()
	atLeast, least := limits.InsulationIMohm, published.InsulationIMohm
	if f.Class == "II" {
		atLeast, least = limits.InsulationIIMohm, published.InsulationIIMohm
	}
	return r.add("insulation", f.Insulation, measure.Resistances, "MΩ", "MΩ",
		measure.NearestWhole(atLeast*float64(measure.Megohm)), int64(measure.Megohm), true,
		source(atLeast, least, "MΩ", inServiceCode)+", class "+f.Class+" at 500 V d.c.")
}

// leakage takes a class I machine as portable, which a head that one person carries is, unless it is said to
// be stationary (18 kg or more, or mounted). A house that tightened either figure of class I means a portable
// one, too.
func (r *SafetyResult) leakage(limits SafetyLimits) error {
	f, published := r.Form, PublishedSafetyLimits()
	atMost, most, use := min(limits.LeakageHandheldMA, limits.LeakageIMA), published.LeakageHandheldMA,
		"class I, portable or held in the hand"
	switch {
	case f.Class == "II":
		atMost, most, use = limits.LeakageIIMA, published.LeakageIIMA, "class II"
	case f.Use == useStationary && !f.Handheld:
		atMost, most, use = limits.LeakageIMA, published.LeakageIMA, "class I, stationary"
	}
	return r.add("leakage", f.Leakage, measure.Currents, "mA", "mA",
		measure.NearestWhole(atMost*float64(measure.Milliampere)), int64(measure.Milliampere), false,
		source(atMost, most, "mA", inServiceCode+", 4th edition")+", "+use)
}

// failing judges what is given of a form that is not whole yet.
func (r *SafetyResult) failing(limits SafetyLimits) ([]string, error) {
	f := r.Form
	for _, one := range []struct {
		given string
		judge func(SafetyLimits) error
	}{{when(f.Class == "I", f.Earth), r.earth}, {f.Insulation, r.insulation}, {f.Leakage, r.leakage}} {
		if one.given == "" || one.given == measure.NotApplicable {
			continue
		}
		if err := one.judge(limits); err != nil {
			return nil, err
		}
	}
	failed := r.failures()
	if len(failed) == 0 {
		r.Limits = []Limit{}
	}
	return failed, nil
}

// failures says of each point that fails what it is.
func (r *SafetyResult) failures() (failed []string) {
	f := r.Form
	for _, l := range r.Limits {
		if !l.Pass {
			failed = append(failed,
				fmt.Sprintf("%s %v %s, limit %s %v %s", l.What, l.Reading, l.Unit, l.Bound, l.Limit, l.Unit))
		}
	}
	if f.Polarity == "fail" {
		failed = append(failed, "polarity reversed")
	}
	if plug := r.Nameplate.Plug; f.Class == "I" && (plug == "A" || plug == "C") {
		failed = append(failed, "class I on a plug of type "+plug+", which has no earth")
	}
	amps, err := measure.Currents.Parse("fuse", f.Fuse, "A")
	if most := cordRating(f.CordArea); f.Class == "I" && err == nil && most > 0 &&
		measure.Current(amps) > most {
		failed = append(failed,
			fmt.Sprintf("fuse %s, and the cord of %s mm² carries %s", measure.Current(amps), f.CordArea,
				most))
	}
	return failed
}

// add sets one reading beside its limit, both in base units; per is the number of base units in one shown
// unit.
func (r *SafetyResult) add(what, text string, kind measure.Quantity, typed, unit string, limit, per int64,
	atLeast bool, from string) error {
	// An instrument at the end of its scale shows > or <. That decides the test only if it lies on the far
	// side of the limit.
	sign, figure := endOfScale(text)
	reading, err := kind.Parse(what, figure, typed)
	if err != nil {
		return err
	}
	if sign == ">" && reading < limit || sign == "<" && reading > limit {
		return registry.Errorf(registry.Invalid,
			"%s %q does not tell whether the limit of %v %s is kept: type the reading itself",
			what, text, float64(limit)/float64(per), unit)
	}
	margin, bound := limit-reading, "at most"
	if atLeast {
		margin, bound = -margin, "at least"
	}
	pass := margin >= 0
	if margin == 0 && (sign == ">" && !atLeast || sign == "<" && atLeast) {
		pass = false
	}
	shown := func(v int64) float64 { return float64(v) / float64(per) }
	r.Limits = append(r.Limits,
		Limit{what, bound, shown(limit), shown(reading), shown(margin), unit, pass, from})
	return nil
}

// notes adds what a competent person would want to be reminded of; none of it decides the result.
func (r *SafetyResult) notes() {
	f := r.Form
	if f.Electronics {
		r.Notes = append(r.Notes, registry.ElectronicsWarning)
	}
	if f.Fuse == measure.NotApplicable {
		r.Notes = append(r.Notes, "fuse n/a: recorded as a plug without a fuse")
	} else if amps, _ := measure.Currents.Parse("fuse", f.Fuse, "A"); amps > 3*int64(measure.Ampere) &&
		r.Nameplate.Watts > 0 && r.Nameplate.Watts <= 700 {
		// Common practice with BS 1362 plug fuses (from memory): 3 A up to 700 W.
		r.Notes = append(r.Notes,
			fmt.Sprintf("fuse %s for %d W: a 3 A fuse is usual up to 700 W", measure.Current(amps),
				r.Nameplate.Watts))
	}
	if f.Polarity == measure.NotApplicable {
		r.Notes = append(r.Notes, "polarity n/a: recorded as a plug that fits either way round")
	}
	if r.Nameplate.Volts == nil {
		r.Notes = append(r.Notes, "volts not known: no order's supply can be matched to it yet")
	}
}

// CheckInstrument asks for one of the house's instruments once it lists any, and refuses one that is overdue.
func (rules SafetyRules) CheckInstrument(id string, on time.Time) error {
	if len(rules.Instruments) == 0 {
		return nil
	}
	in, ok := rules.Instrument(id)
	if !ok {
		ids := make([]string, len(rules.Instruments))
		for i, in := range rules.Instruments {
			ids[i] = in.ID
		}
		if id == "" {
			return registry.Errorf(registry.Invalid, "instrument is missing: type one of %s",
				strings.Join(ids, ", ")).On("instrument")
		}
		return registry.Errorf(registry.Invalid,
			"instrument %q is not listed: type one of %s, or add it to house.toml under [safety] instruments",
			id, strings.Join(ids, ", "))
	}
	// Dates written as 2026-03-31 compare as text.
	if in.Due != "" && on.Format(time.DateOnly) > in.Due {
		return registry.Errorf(registry.Conflict,
			"instrument %s was due for calibration on %s: use another, or have it calibrated and put its "+
				"new dates in house.toml",
			in.ID, in.Due)
	}
	return nil
}

// Instrument finds one of the house's instruments.
func (rules SafetyRules) Instrument(id string) (Instrument, bool) {
	i := slices.IndexFunc(rules.Instruments,
		func(in Instrument) bool { return strings.EqualFold(in.ID, strings.TrimSpace(id)) })
	if i < 0 {
		return Instrument{}, false
	}
	return rules.Instruments[i], true
}
