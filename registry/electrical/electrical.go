// Package electrical judges an electrical safety test: the form that a competent person fills in, the
// published limits with their source beside each, and what a nameplate and a supply say of each other. It is
// pure: it sees a form and rules, and declares nothing safe.
package electrical

import (
	"fmt"
	"math/big"
	"slices"
	"strings"
	"time"

	"pitman/registry"
	"pitman/registry/measure"
)

// SafetyRules are the house's own rules for electrical safety, from house.toml under [safety].
type SafetyRules struct {
	Competent []string `toml:"competent"` // initials of those who may record a safety test
	// nobody signs with a PIN here; the house has decided so
	WithoutPIN bool `toml:"without_pin"`
	// keys of other houses whose passes count here, where the bundle is signed with one of them
	PassesFrom []string `toml:"passes_from"`
	// how long a pass stands; 0 = until the next electrical work
	ValidDays   int          `toml:"valid_days"`
	Instruments []Instrument `toml:"instruments"` // once any is listed, every test names one
	Limits      SafetyLimits `toml:"limits"`
	// built-in jobs and parts that are electrical, and which the house's own lists may call otherwise
	NotElectrical []string `toml:"not_electrical"`
	// a competent person's look alone revives a pass that bench work ended which touched no mains part
	VisualRevives bool `toml:"visual_revives"`
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
					"visual failed, so %s is not accepted: record the failure alone, mend it, then test "+
						"again",
					got[0]).On("visual")
		}
		r.Hold = "visual: " + form.visualFaults()
		return r, nil
	}
	if form.Class == "III" {
		return r.extraLow()
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
	if len(failed) == 0 {
		if err := form.doubts(); err != nil {
			return SafetyResult{}, err
		}
	}
	r.Hold = strings.Join(failed, "; ")
	r.Pass = len(failed) == 0
	// The earth was measured at the plug's own pin, and the plug was opened: it has one, whatever its letter.
	r.Nameplate.Earthed = r.Pass && form.Class == "I" && r.Nameplate.Plug == ""
	if r.Nameplate.Earthed {
		r.Notes = append(r.Notes, r.Nameplate.PlugSaid()+": no order that asks for a plug is matched by it")
	}
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
	length, c := longestCord, conductors[0]
	said := "plus the longest cord,"
	if given(f.CordLength) && given(f.CordArea) {
		var err error
		if length, c, err = f.cord(); err != nil {
			return err
		}
		said = "plus cord"
	}
	cord := cordResistance(length, c.perMetre)
	said = fmt.Sprintf("%s %v m at %v mΩ/m", said, length.MM()/1000, float64(c.perMetre)/1000)
	limit := measure.Resistance(measure.NearestWhole(limits.EarthOhm*float64(measure.Ohm))) + cord
	from := fmt.Sprintf("%s, %s, %s", source(limits.EarthOhm, published.EarthOhm, "Ω", inServiceCode), said,
		c.source)
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
		source(atLeast, least, "MΩ", inServiceCode)+", class "+f.Class+" at "+f.insulationVolts())
}

// leakage takes a class I machine as portable, which a head that one person carries is, unless it is said to
// be stationary (18 kg or more, or mounted). A house that tightened either figure of class I means a portable
// one, too.
func (r *SafetyResult) leakage(limits SafetyLimits) error {
	f, published := r.Form, limits.published()
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
		source(atMost, most, "mA", inServiceCode+", "+limits.edition())+", "+use)
}

// stationaryFrom is the weight from which a machine is stationary that nothing is bolted to: IEC 60335-1,
// from memory.
const stationaryFrom = 18 * measure.Kilogram

// Mounted reminds of what makes a machine stationary that one person can carry; "" where nothing does.
func Mounted(f SafetyForm, weight measure.Mass) string {
	if f.Class != "I" || f.Use != useStationary || weight == 0 || weight >= stationaryFrom {
		return ""
	}
	return fmt.Sprintf("stationary: it weighs %s, below %s, so that is right only where it is mounted; "+
		"what one person carries is portable", weight, stationaryFrom)
}

// failing judges what is given of a form that is not whole yet.
func (r *SafetyResult) failing(limits SafetyLimits) ([]string, error) {
	if err := r.judgeGiven(limits); err != nil {
		return nil, err
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
				fmt.Sprintf("%s %s, limit %s %v %s", l.What, l.Said(), l.Bound, l.Limit, l.Unit))
		}
	}
	if f.Polarity == "fail" {
		failed = append(failed, "polarity reversed")
	}
	for _, fault := range []string{f.plugFault(r.Nameplate.Plug), f.fuseFault()} {
		if fault != "" {
			failed = append(failed, fault)
		}
	}
	return failed
}

// plugFault says what is wrong with the plug for the class.
func (f *SafetyForm) plugFault(plug string) string {
	return when(f.Class == "I" && (plug == "A" || plug == "C"), "class I on a plug of type "+plug+
		", which has no earth")
}

// fuseFault says that the fuse lets more through than the cord carries.
func (f *SafetyForm) fuseFault() string {
	amps, err := measure.Currents.Parse("fuse", f.Fuse, "A")
	c, unknown := conductor(f.CordArea)
	if err != nil || unknown != nil || measure.Current(amps) <= c.rating() {
		return ""
	}
	return fmt.Sprintf("fuse %s, and the cord of %s carries %s", measure.Current(amps), c.name(), c.rating())
}

// add sets one reading beside its limit, both in base units; per is the number of base units in one shown
// unit.
func (r *SafetyResult) add(what, text string, kind measure.Quantity, typed, unit string, limit, per int64,
	atLeast bool, from string) error {
	// An instrument at the end of its scale shows > or <. That decides the test only if it lies on the far
	// side of the limit.
	// It is compared as it was read, before any rounding.
	sign, figure := endOfScale(text)
	reading, err := kind.Exact(what, figure, typed)
	if err != nil {
		return err
	}
	margin, bound := new(big.Rat).Sub(big.NewRat(limit, 1), reading), "at most"
	if sign == ">" && margin.Sign() > 0 || sign == "<" && margin.Sign() < 0 {
		return registry.Errorf(registry.Invalid,
			"%s %q does not tell whether the limit of %v %s is kept: type the reading itself",
			what, text, float64(limit)/float64(per), unit)
	}
	if atLeast {
		margin.Neg(margin)
		bound = "at least"
	}
	pass := margin.Sign() >= 0
	if margin.Sign() == 0 && (sign == ">" && !atLeast || sign == "<" && atLeast) {
		pass = false
	}
	shown := func(v *big.Rat) float64 {
		f, _ := new(big.Rat).Quo(v, big.NewRat(per, 1)).Float64()
		return f
	}
	r.Limits = append(r.Limits, Limit{what, bound, shown(big.NewRat(limit, 1)), shown(reading), past[sign],
		shown(margin), unit, pass, from})
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
		// Common practice with BS 1362 plug fuses: 3 A up to 700 W.
		r.Notes = append(r.Notes,
			fmt.Sprintf("fuse %s is above what %d W need: a 3 A fuse is usual up to 700 W",
				measure.Current(amps), r.Nameplate.Watts))
	}
	if f.Polarity == measure.NotApplicable {
		r.Notes = append(r.Notes, "polarity n/a: recorded as a plug that fits either way round")
	}
	if r.Nameplate.Volts == nil {
		r.Notes = append(r.Notes, "volts not known: no order's supply can be matched to it yet")
	}
}

// calibratedYears is how long a calibration is believed at most, whatever its due date says. Once a year is
// common practice.
const calibratedYears = 2

// CheckInstrument asks for one of the house's instruments once it lists any, and refuses one that is overdue,
// or whose dates cannot be right on that day.
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
	switch today := on.Format(time.DateOnly); {
	case in.Calibrated > today:
		return registry.Errorf(registry.Conflict,
			"instrument %s has the calibration date %s, which lies ahead of today, %s: put its right date in "+
				"house.toml, or set this computer's clock", in.ID, in.Calibrated, today).On("instrument")
	case in.Calibrated != "" && in.Calibrated < on.AddDate(-calibratedYears, 0, 0).Format(time.DateOnly):
		return registry.Errorf(registry.Conflict,
			"instrument %s was calibrated on %s, more than %d years ago: use another, or have it calibrated "+
				"and put its new dates in house.toml", in.ID, in.Calibrated, calibratedYears).On("instrument")
	}
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
