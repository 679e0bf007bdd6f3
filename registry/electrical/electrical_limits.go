package electrical

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"pitman/registry"
	"pitman/registry/measure"
)

// Sources of the electrical figures, as shown beside every limit.
const (
	inServiceCode = "IET Code of Practice for In-Service Inspection and Testing of Electrical Equipment"
	cordTable     = "IEC 60228, table for class 5, plain copper, 20 °C"
	cordCode      = "IET Code of Practice, table of cords, from memory"
	gaugeTable    = "NBS Handbook 100, solid copper of the gauge, the strict side of a stranded cord"
)

// SafetyLimits are the figures a reading is judged against. A house may set tighter ones in house.toml under
// [safety.limits]; it cannot loosen the published figures, and local codes may ask for more. Zero means the
// published figure.
type SafetyLimits struct {
	EarthOhm          float64 `toml:"earth_ohm"`             // class I, without the cord: at most
	InsulationIMohm   float64 `toml:"insulation_1_mohm"`     // class I at 500 V d.c.: at least
	InsulationIIMohm  float64 `toml:"insulation_2_mohm"`     // class II at 500 V d.c.: at least
	LeakageHandheldMA float64 `toml:"leakage_1_handheld_ma"` // class I held in the hand: at most
	LeakageIMA        float64 `toml:"leakage_1_ma"`          // other class I: at most
	LeakageIIMA       float64 `toml:"leakage_2_ma"`          // class II: at most
	// of the Code of Practice, for leakage: 4 unless the house chooses 5
	Edition int `toml:"edition"`
}

// PublishedSafetyLimits returns the figures of the IET Code of Practice for In-Service Inspection and Testing
// of Electrical Equipment: earth 0.1 Ω plus the cord; insulation 1 and 2 MΩ; leakage, by its 4th edition
// (2012), 0.75, 3.5 and 0.25 mA.
func PublishedSafetyLimits() SafetyLimits {
	return SafetyLimits{
		EarthOhm: 0.1, InsulationIMohm: 1, InsulationIIMohm: 2,
		LeakageHandheldMA: 0.75, LeakageIMA: 3.5, LeakageIIMA: 0.25, Edition: 4,
	}
}

// published returns the published figures by the edition that the house chose. The 5th edition (2020) has 5
// mA for all classes, so that sound equipment is not failed.
func (l SafetyLimits) published() SafetyLimits {
	p := PublishedSafetyLimits()
	if l.Edition == 5 {
		p.LeakageHandheldMA, p.LeakageIMA, p.LeakageIIMA, p.Edition = 5, 5, 5, 5
	}
	return p
}

// edition names the edition that the leakage figures are of.
func (l SafetyLimits) edition() string {
	if l.Edition == 5 {
		return "5th edition (the house's choice)"
	}
	return "4th edition"
}

// Tightened fills in the published figure wherever the house sets none, and refuses a house figure that is
// looser.
func (l SafetyLimits) Tightened() (SafetyLimits, error) {
	if l.Edition != 0 && l.Edition != 4 && l.Edition != 5 {
		return l, registry.Errorf(registry.Invalid,
			"edition %d in [safety.limits] is not known: type 4, or 5 for its leakage figure of 5 mA",
			l.Edition)
	}
	published := l.published()
	l.Edition = published.Edition
	for _, f := range []struct {
		key       string
		house     *float64
		published float64
		atLeast   bool
	}{
		{"earth_ohm", &l.EarthOhm, published.EarthOhm, false},
		{"insulation_1_mohm", &l.InsulationIMohm, published.InsulationIMohm, true},
		{"insulation_2_mohm", &l.InsulationIIMohm, published.InsulationIIMohm, true},
		{"leakage_1_handheld_ma", &l.LeakageHandheldMA, published.LeakageHandheldMA, false},
		{"leakage_1_ma", &l.LeakageIMA, published.LeakageIMA, false},
		{"leakage_2_ma", &l.LeakageIIMA, published.LeakageIIMA, false},
	} {
		// no instrument shows more, and no reading above it is taken
		most := float64(measure.Resistances.Most) / float64(measure.Megohm)
		switch v := *f.house; {
		case v == 0:
			*f.house = f.published
		case math.IsNaN(v) || math.IsInf(v, 0) || v < 0:
			return l, registry.Errorf(registry.Invalid,
				"%s %v in [safety.limits] is no limit: type a figure above nought, or leave it out for the "+
					"published %v",
				f.key, v, f.published)
		case f.atLeast && v > most:
			return l, registry.Errorf(registry.Invalid,
				"%s %v in [safety.limits] is more than any instrument shows: type megohms, at most %v", f.key,
				v, most)
		case f.atLeast && v < f.published, !f.atLeast && v > f.published:
			bound := "or less"
			if f.atLeast {
				bound = "or more"
			}
			return l, registry.Errorf(registry.Invalid,
				"%s %v in [safety.limits] is looser than the published %v: a house can only tighten it, "+
					"type %v %s",
				f.key, v, f.published, f.published, bound)
		}
	}
	return l, nil
}

// Limit is one reading beside its limit. Margin is how far the reading lies on the good side; below nought it
// fails.
type Limit struct {
	What    string  `json:"what"`
	Bound   string  `json:"bound"` // "at most" or "at least"
	Limit   float64 `json:"limit"`
	Reading float64 `json:"reading"`
	// "more than" or "less than" the reading, which is the end of the instrument's scale; else empty
	Past   string  `json:"past,omitempty"`
	Margin float64 `json:"margin"`
	Unit   string  `json:"unit"`
	Pass   bool    `json:"pass"`
	Source string  `json:"source"`
}

// past says in words which sign stood before a reading.
var past = map[string]string{">": "more than", "<": "less than"}

// Said is the reading as it was read: "0.12 Ω", "more than 200 MΩ".
func (l Limit) Said() string {
	return strings.TrimSpace(fmt.Sprintf("%s %s %s", l.Past, plain(l.Reading), l.Unit))
}

// MarginSaid is the margin as far as the reading tells it.
func (l Limit) MarginSaid() string {
	how := l.Past
	if how != "" && l.Bound == "at most" { // the further past the end of the scale, the nearer the limit
		how = map[string]string{"more than": "less than", "less than": "more than"}[how]
	}
	return strings.TrimSpace(fmt.Sprintf("%s %s %s", how, plain(l.Margin), l.Unit))
}

// plain writes a figure as people read it, however small it is.
func plain(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// cord is one size of cord, by its conductors' area in mm² or their gauge.
type cord struct {
	area     string
	perMetre measure.Resistance // of one conductor, in micro-ohms
	// what it carries: IET Code of Practice, table of cords, unless said otherwise
	amps   int64
	source string // of the resistance
}

// name is its size as printed on it.
func (c cord) name() string {
	if strings.HasPrefix(c.area, "AWG") {
		return c.area
	}
	return c.area + " mm²"
}

// rating is the current that it carries.
func (c cord) rating() measure.Current { return measure.Current(c.amps) * measure.Ampere }

// conductors are the sizes of cord that are known, thinnest metric one first.
// Source: IEC 60228, table for class 5 (flexible) conductors, plain copper, 20 °C; 1.25 mm² is not in it and
// from memory. Gauges: NBS Handbook 100, solid copper, 20 °C; 14 is worked out from the gauge formula. Their
// ratings, of two conductors that carry current, are from memory.
var conductors = []cord{
	{"0.5", 39_000, 3, cordTable}, {"0.75", 26_000, 6, cordTable}, {"1.0", 19_500, 10, cordTable},
	{"1.25", 15_600, 13, cordCode},
	{"1.5", 13_300, 15, cordTable}, {"2.5", 7_980, 20 /* from memory */, cordTable},
	{"AWG 18", 20_950, 10 /* from memory */, gaugeTable},
	{"AWG 16", 13_170, 13 /* from memory */, gaugeTable},
	{"AWG 14", 8_284, 18 /* from memory */, gaugeTable},
}

// conductor finds the size of cord as typed.
func conductor(text string) (cord, error) {
	typed := strings.ReplaceAll(measure.Plain(text), ",", ".")
	typed = strings.TrimSpace(strings.TrimSuffix(strings.TrimSuffix(typed, "mm²"), "mm2"))
	// 18 AWG, AWG18, awg 18
	if gauge := strings.ToUpper(typed); strings.Contains(gauge, "AWG") {
		typed = "AWG " + strings.TrimSpace(strings.Replace(gauge, "AWG", "", 1))
	}
	areas := make([]string, len(conductors))
	for i, c := range conductors {
		if typed == c.area || typed+".0" == c.area || typed == c.area+"0" {
			return c, nil
		}
		areas[i] = c.area
	}
	return cord{}, registry.Errorf(registry.Invalid,
		"cord area %q is not in the cord table: type one of %s (mm², as printed on the cord, or its gauge)",
		text,
		strings.Join(areas, ", "))
}

// longestCord is far beyond any machine's cord: a figure above it was meant in another unit, and would raise
// the earth limit.
const longestCord = 25_000 * measure.Millimetre

// cordLengths are lengths as they are typed for a cord: in metres.
var cordLengths = func() measure.Quantity {
	q := measure.Lengths
	q.Example = "metres such as 1.8"
	return q
}()

// cordResistance is what the protective conductor of the cord adds to the earth limit. It is rounded down, to
// the strict side.
func cordResistance(length measure.Length, perMetre measure.Resistance) measure.Resistance {
	return measure.Resistance(int64(length) * int64(perMetre) / int64(1000*measure.Millimetre))
}

// source names where a limit comes from, and says so when the house has tightened it.
func source(house, published float64, unit, from string) string {
	if house == published {
		return from
	}
	return fmt.Sprintf("house limit %v %s, tighter than %v %s of the %s", house, unit, published, unit, from)
}
