package electrical

import (
	"maps"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"pitman/registry"
	"pitman/registry/measure"
)

// SafetyForm is a safety test as it is typed or scripted. A reading may be "n/a" where the class, the plug or
// the cord makes it so, and may carry the sign an instrument shows at the end of its scale (">200", "<0.1").
// Empty means not given.
type SafetyForm struct {
	Class        string            `json:"class"`
	Visual       string            `json:"visual"`
	VisualFaults map[string]string `json:"visual_faults,omitempty"` // by visual point, what was seen
	Earth        string            `json:"earth,omitempty"`
	CordLength   string            `json:"cord_length,omitempty"`
	CordArea     string            `json:"cord_area,omitempty"`
	LongCord     bool              `json:"long_cord,omitempty"` // the length is right, though unusual
	Insulation   string            `json:"insulation,omitempty"`
	// "switch on, pedal pressed" while insulation was measured
	SwitchOn bool `json:"switch_on,omitempty"`
	// 500 unless it was measured at 250, where surge protection or electronics ask for it
	InsulationVolts string `json:"insulation_volts,omitempty"`
	Surge           bool   `json:"surge,omitempty"` // it has surge protection
	Leakage         string `json:"leakage,omitempty"`
	Handheld        bool   `json:"handheld,omitempty"`
	// portable unless it is stationary: 18 kg or more, or mounted
	Use         string `json:"use,omitempty"`
	Polarity    string `json:"polarity,omitempty"`
	Plug        string `json:"plug,omitempty"` // IEC World Plugs letter
	Fuse        string `json:"fuse,omitempty"`
	Volts       string `json:"volts,omitempty"`
	Hertz       string `json:"hertz,omitempty"`
	Watts       string `json:"watts,omitempty"`
	Adapter     string `json:"adapter,omitempty"` // class III: the look at its adapter
	Motor       string `json:"motor,omitempty"`   // brush, induction, unknown
	Electronics bool   `json:"electronics,omitempty"`
	Instrument  string `json:"instrument,omitempty"`
}

// Nameplate is what the motor's plate and plug say, for matching a supply later. Empty or nil means not
// known.
type Nameplate struct {
	Volts measure.Rating `json:"volts,omitempty"`
	Hertz measure.Rating `json:"hertz,omitempty"`
	Watts int            `json:"watts,omitempty"`
	Motor string         `json:"motor,omitempty"`
	Plug  string         `json:"plug,omitempty"`
	// the last pass of class I showed its plug to be earthed, and nobody named its letter
	Earthed bool `json:"earthed,omitempty"`
	// of its cord, as it was measured last; 0 = not known
	Cord measure.Length `json:"cord,omitempty"`
}

// PlugSaid is what is known of its plug, for a sentence; no letter is made up.
func (p Nameplate) PlugSaid() string {
	if p.Plug == "" {
		return when(p.Earthed, "plug earthed, its letter not named")
	}
	return "plug type " + p.Plug
}

// VisualPoint is one thing looked at before any reading.
type VisualPoint struct{ Key, Ask string }

// VisualPoints returns what is looked at, in order, before an instrument is connected (common practice).
func VisualPoints() []VisualPoint {
	return []VisualPoint{
		{"cord", "Cord whole: no cuts, no tape, no bare copper, no two-core cord on bare metal?"},
		{"plug", "Plug opened: whole, pins firm, right fuse, wires home and gripped by its cord grip?"},
		{"strain-relief", "Cord held at both ends: a pull moves nothing inside?"},
		{"rubber", "No perished or sticky rubber on cord, leads or grommets?"},
		{"motor-leads", "Motor and lamp leads sound, connectors covered, clear of belt and handwheel?"},
		{"foot-control", "Foot control or knee lever whole, springs back to off, its lead sound?"},
	}
}

// Look is the form of a look at the visual points alone, of a machine whose class is known.
func (f SafetyForm) Look(class string) (SafetyForm, error) {
	look := SafetyForm{Class: class, Visual: f.Visual, VisualFaults: maps.Clone(f.VisualFaults)}
	f.Class, f.VisualFaults = "", nil
	if f.Visual = ""; !reflect.DeepEqual(f, SafetyForm{}) {
		return look, registry.Errorf(registry.Conflict,
			"a look alone takes down no class and no reading: leave "+
				"them out, or make the whole test").On("look-alone")
	}
	return look, look.tidy()
}

// reversible plugs fit their socket either way round, so polarity means nothing (IEC World Plugs; C read, F
// and L from memory). Of A only those with two equal blades do. The pin of an E socket lets its plug in one
// way only.
const reversible = "ACFL"

// fused is the plug type with a fuse inside (BS 1363; from memory).
const fused = "G"

// Check says what is wrong with what stands in the form so far; what is still missing is no fault.
func (f SafetyForm) Check() error {
	if err := f.tidy(); err != nil {
		return err
	}
	if _, err := f.nameplate(Nameplate{}); err != nil {
		return err
	}
	if err := f.checkFigures(); err != nil {
		return err
	}
	for _, r := range f.wanted(f.Plug) {
		if err := r.checkNotApplicable(); err != nil {
			return err
		}
	}
	return f.lowEarth()
}

// tidy gives the words of the form one spelling and refuses unknown ones.
func (f *SafetyForm) tidy() error {
	if registry.Blank(f.Class) {
		return registry.Errorf(registry.Invalid,
			"class is missing: type I, II, III, none or unknown").On("class")
	}
	for _, w := range []struct {
		name  string
		field *string
		say   string
		words map[string]string
	}{
		{"class", &f.Class, "I, II, III, none or unknown", map[string]string{
			"i": "I", "1": "I", "ii": "II", "2": "II", "iii": "III", "3": "III", "none": "none", "0": "none",
			"unknown": "unknown",
			"?":       "unknown"}},
		{"visual", &f.Visual, "pass or fail", map[string]string{"pass": "pass", "fail": "fail", "": ""}},
		{"polarity", &f.Polarity, "pass, fail, or n/a for a plug that fits either way round",
			map[string]string{
				"pass": "pass", "fail": "fail", measure.NotApplicable: measure.NotApplicable,
				"na": measure.NotApplicable, "": ""}},
		{"use", &f.Use, "portable or stationary (18 kg or more, or mounted)", map[string]string{
			"": "", usePortable: usePortable, useStationary: useStationary}},
		{"adapter", &f.Adapter, "pass or fail", map[string]string{"pass": "pass", "fail": "fail", "": ""}},
		{"insulation voltage", &f.InsulationVolts, "500, or 250", map[string]string{
			"": "", "500": "500", "250": "250", "500v": "500", "250v": "250", "500 v": "500",
			"250 v": "250"}},
		{"motor", &f.Motor, "brush, induction or unknown", map[string]string{
			"brush": "brush", "induction": "induction", "unknown": "unknown", "": ""}},
	} {
		word, ok := w.words[strings.ToLower(strings.TrimSpace(*w.field))]
		if !ok {
			return registry.Errorf(registry.Invalid, "%s %q is not known: type %s", w.name, *w.field, w.say)
		}
		*w.field = word
	}
	for _, reading := range []*string{&f.Earth, &f.CordLength, &f.CordArea, &f.Insulation, &f.Leakage,
		&f.Fuse} {
		*reading = strings.TrimSpace(*reading)
		if strings.EqualFold(*reading, measure.NotApplicable) || strings.EqualFold(*reading, "na") {
			*reading = measure.NotApplicable
		}
	}
	var err error
	if f.Plug, err = ParsePlug(f.Plug); err != nil {
		return err
	}
	for _, key := range slices.Sorted(maps.Keys(f.VisualFaults)) {
		if !slices.ContainsFunc(VisualPoints(), func(p VisualPoint) bool { return p.Key == key }) {
			var keys []string
			for _, p := range VisualPoints() {
				keys = append(keys, p.Key)
			}
			return registry.Errorf(registry.Invalid, "visual point %q is not known: type one of %s", key,
				strings.Join(keys, ", "))
		}
		fault, err := registry.CleanText("visual fault of "+key, f.VisualFaults[key], registry.MaxText)
		if err != nil {
			return err
		}
		f.VisualFaults[key] = fault
	}
	if f.Instrument, err = registry.CleanText("instrument", f.Instrument, registry.MaxName); err != nil {
		return err
	}
	if len(f.VisualFaults) > 0 {
		if f.Visual == "pass" {
			return registry.Errorf(registry.Invalid, "visual is pass and yet %s has a fault: type fail",
				slices.Sorted(maps.Keys(f.VisualFaults))[0]).On("visual")
		}
		f.Visual = "fail"
	}
	if f.InsulationVolts == "250" && !f.Surge && !f.Electronics {
		return registry.Errorf(registry.Conflict,
			"insulation at 250 V is for surge protection or electronics: say which of them it has, or "+
				"measure at 500 V").On("insulation-volts")
	}
	if f.Visual == "" && (f.Class == "I" || f.Class == "II" || f.Class == "III") {
		return registry.Errorf(registry.Conflict,
			"visual is missing: look the machine over first and type pass or fail").On("visual")
	}
	return nil
}

// checkFigures refuses every figure that cannot be meant, those that the class does not need included: what
// is kept must make sense.
func (f *SafetyForm) checkFigures() error {
	for _, g := range []struct {
		name, text string
		kind       measure.Quantity
		unit       string
		read       bool // from an instrument, that may be at the end of its scale
	}{
		{"earth", f.Earth, measure.Resistances, "ohm", true},
		{"cord length", f.CordLength, cordLengths, "m", false},
		{"insulation", f.Insulation, measure.Resistances, "MΩ", true},
		{"leakage", f.Leakage, measure.Currents, "mA", true},
		{"fuse", f.Fuse, measure.Currents, "A", false},
	} {
		if !given(g.text) {
			continue
		}
		figure := g.text
		if g.read {
			_, figure = endOfScale(figure)
		}
		v, err := g.kind.Parse(g.name, figure, g.unit)
		switch {
		case err != nil:
			return err
		case g.name == "cord length":
			if err := checkCord(g.name, g.text, measure.Length(v)); err != nil {
				return err
			}
		case g.name == "fuse" && (v == 0 || measure.Current(v) > largestFuse):
			return registry.Errorf(registry.Invalid,
				"fuse %q is not a plug fuse: type amperes such as 3 or 5, or n/a for a plug without one",
				g.text)
		}
	}
	if given(f.CordArea) {
		if _, err := conductor(f.CordArea); err != nil {
			return err
		}
	}
	return nil
}

func checkCord(field, text string, l measure.Length) error {
	if l <= longestCord {
		return nil
	}
	return registry.Errorf(registry.Invalid,
		"%s %q is longer than any machine's cord: type metres such as 1.8, at most %v", field, text,
		longestCord.MM()/1000)
}

// largestFuse is more than any plug holds (BS 1362 stops at 13 A, from memory); a figure above it was meant
// in another unit.
const largestFuse = 32 * measure.Ampere

// endOfScale takes the > or < off a reading that lies past what the instrument can show.
func endOfScale(text string) (sign, figure string) {
	if strings.HasPrefix(text, ">") || strings.HasPrefix(text, "<") {
		return text[:1], strings.TrimSpace(text[1:])
	}
	return "", text
}

// readings names the readings that are given.
func (f *SafetyForm) readings() []string {
	var names []string
	for _, r := range [][2]string{{"earth", f.Earth}, {"insulation", f.Insulation}, {"leakage", f.Leakage},
		{"polarity", f.Polarity}} {
		if given(r[1]) {
			names = append(names, r[0])
		}
	}
	return names
}

func (f *SafetyForm) visualFaults() string {
	var faults []string
	for _, p := range VisualPoints() {
		if what, ok := f.VisualFaults[p.Key]; ok {
			faults = append(faults, strings.TrimSuffix(p.Key+" "+what, " "))
		}
	}
	if len(faults) == 0 {
		return "failed"
	}
	return strings.Join(faults, ", ")
}

// wanted is one entry of the form, and whether it is asked for.
type wanted struct {
	name, value string
	needed      bool   // some value must stand
	naWhy       string // why n/a is refused; "" = allowed
}

// entry says what to type.
func (r wanted) entry() string {
	if r.name == "polarity" {
		return "pass or fail"
	}
	return "its figure"
}

// field is the name under which it is given.
func (r wanted) field() string { return strings.ReplaceAll(r.name, " ", "-") }

// checkNotApplicable refuses n/a where it does apply.
func (r wanted) checkNotApplicable() error {
	if r.value == measure.NotApplicable && r.naWhy != "" {
		return registry.Errorf(registry.Invalid, "%s cannot be n/a: %s, type %s", r.name, r.naWhy,
			r.entry()).On(r.field())
	}
	return nil
}

// wanted says what the class and the plug ask for; an empty plug is not known. Class none and unknown have no
// limits, so nothing is asked.
func (f *SafetyForm) wanted(plug string) []wanted {
	if f.Class != "I" && f.Class != "II" {
		return nil
	}
	classI := f.Class == "I"
	fitted := "a type " + plug + " plug"
	if f.Plug == "" {
		fitted += ", as recorded before (give its plug if it has another now),"
	}
	return []wanted{
		{"earth", f.Earth, classI, when(classI, "a class I machine has an earth")},
		{"cord length", f.CordLength, classI, when(classI, "the earth limit is worked out from the cord")},
		{"cord area", f.CordArea, classI, when(classI, "the earth limit is worked out from the cord")},
		{"insulation", f.Insulation, true, "every class has insulation"},
		{"leakage", f.Leakage, true, "every class can leak"},
		{"polarity", f.Polarity, true,
			when(plug != "" && !strings.Contains(reversible, plug), fitted+" fits one way round only")},
		{"fuse", f.Fuse, true, when(plug == fused, fitted+" has a fuse")},
	}
}

// The uses of a class I machine: carried about by one person, or by nobody.
const (
	usePortable   = "portable"
	useStationary = "stationary"
)

// lacks says whether anything is missing that a pass needs.
func (f *SafetyForm) lacks() bool { return f.complete("") != nil }

// complete refuses a form that leaves out what its class needs, gives what its class has not, or says n/a
// where it does apply. The plug is the machine's, as recorded by this form or an earlier one.
func (f *SafetyForm) complete(plug string) error {
	for _, r := range f.wanted(plug) {
		if r.value == "" && r.needed {
			return registry.Errorf(registry.Invalid, "%s is missing for class %s: type %s%s", r.name, f.Class,
				r.entry(),
				when(r.naWhy == "", ", or n/a where the plug makes it so")).On(r.field())
		}
		if err := r.checkNotApplicable(); err != nil {
			return err
		}
	}
	if f.Class == "II" && f.Earth != "" && f.Earth != measure.NotApplicable {
		return registry.Errorf(registry.Conflict,
			"earth %q is not accepted: class II has no earth, leave it out, or type class I if this "+
				"machine has one", f.Earth).
			On("earth")
	}
	if !f.SwitchOn {
		return SwitchWanted()
	}
	return nil
}

// when returns the text if the condition holds.
func when(yes bool, text string) string {
	if yes {
		return text
	}
	return ""
}

// nameplate reads what the form says of the plate, over what was known before. "unknown" stands for a plate
// nobody can read.
func (f *SafetyForm) nameplate(known Nameplate) (Nameplate, error) {
	var err error
	known.Earthed = false // a pass shows it anew
	if text := strings.TrimSpace(f.Volts); text != "" && !strings.EqualFold(text, "unknown") {
		if known.Volts, err = measure.ParseVolts("volts", text); err != nil {
			return known, err
		}
	}
	if text := strings.TrimSpace(f.Hertz); text != "" && !strings.EqualFold(text, "unknown") {
		if known.Hertz, err = measure.ParseHertz("hertz", text); err != nil {
			return known, err
		}
	}
	if text := strings.TrimSpace(f.Watts); text != "" && !strings.EqualFold(text, "unknown") {
		figure := strings.TrimSpace(strings.TrimRight(text, "wW"))
		watts, err := strconv.ParseFloat(strings.ReplaceAll(figure, ",", "."), 64)
		if err != nil || !(watts >= 1 && watts <= 5000) {
			return known, registry.Errorf(registry.Invalid,
				"watts %q is not a motor's power: type whole watts such as 85, between 1 and 5000", text)
		}
		known.Watts = int(watts + 0.5)
	}
	if given(f.CordLength) {
		if known.Cord, err = ParseCord("cord length", f.CordLength); err != nil {
			return known, err
		}
	}
	if f.Motor != "" {
		known.Motor = f.Motor
	}
	if f.Plug != "" {
		known.Plug = f.Plug
	}
	if known.Motor == "" {
		known.Motor = "unknown"
	}
	return known, nil
}
