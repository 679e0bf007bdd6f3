package electrical

import (
	"fmt"
	"math"
	"strings"

	"pitman/registry"
	"pitman/registry/measure"
)

// Sources of the electrical figures, as shown beside every limit.
const (
	inServiceCode = "IET Code of Practice for In-Service Inspection and Testing of Electrical Equipment"
	cordTable     = "IEC 60228, table for class 5, plain copper, 20 °C"
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
}

// PublishedSafetyLimits returns the figures of the IET Code of Practice for In-Service Inspection and Testing
// of Electrical Equipment: earth 0.1 Ω plus the cord; insulation 1 and 2 MΩ; leakage 0.75, 3.5 and 0.25 mA.
func PublishedSafetyLimits() SafetyLimits {
	return SafetyLimits{
		EarthOhm: 0.1, InsulationIMohm: 1, InsulationIIMohm: 2,
		LeakageHandheldMA: 0.75, LeakageIMA: 3.5, LeakageIIMA: 0.25,
	}
}

// Tightened fills in the published figure wherever the house sets none, and refuses a house figure that is
// looser.
func (l SafetyLimits) Tightened() (SafetyLimits, error) {
	published := PublishedSafetyLimits()
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
	Margin  float64 `json:"margin"`
	Unit    string  `json:"unit"`
	Pass    bool    `json:"pass"`
	Source  string  `json:"source"`
}

// conductors is the resistance of a cord's conductor in micro-ohms a metre, by its area in mm².
// Source: IEC 60228, table for class 5 (flexible) conductors, plain copper, 20 °C.
var conductors = []struct {
	area     string
	perMetre measure.Resistance
	amps     int64 // IET Code of Practice, table of cords
}{
	{"0.5", 39_000, 3}, {"0.75", 26_000, 6}, {"1.0", 19_500, 10},
	{"1.25", 15_600, 13}, // not in IEC 60228: the IET Code of Practice's cord table, from memory
	{"1.5", 13_300, 15}, {"2.5", 7_980, 20 /* from memory */},
}

// conductor finds the resistance for a metre of cord from the area as typed.
func conductor(text string) (measure.Resistance, error) {
	typed := strings.ReplaceAll(measure.Plain(text), ",", ".")
	typed = strings.TrimSpace(strings.TrimSuffix(strings.TrimSuffix(typed, "mm²"), "mm2"))
	areas := make([]string, len(conductors))
	for i, c := range conductors {
		if typed == c.area || typed+".0" == c.area || typed == c.area+"0" {
			return c.perMetre, nil
		}
		areas[i] = c.area
	}
	return 0, registry.Errorf(registry.Invalid,
		"cord area %q is not in the cord table: type one of %s (mm², as printed on the cord)", text,
		strings.Join(areas, ", "))
}

// cordRating is the current that a cord of this area carries, or nought where it is not known.
func cordRating(area string) measure.Current {
	perMetre, err := conductor(area)
	for _, c := range conductors {
		if err == nil && c.perMetre == perMetre {
			return measure.Current(c.amps) * measure.Ampere
		}
	}
	return 0
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
