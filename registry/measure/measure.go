// Package measure is what people measure and type: lengths, weights, volts, ohms, stitches. A measure is a
// whole number of its smallest unit, so that nothing is lost between the ruler, the file and the screen; zero
// is "not measured", and no rule takes it for a pass.
package measure

import (
	"encoding/json"
	"fmt"
	"math"
	"strconv"
)

// MM is a length of so many millimetres, to the nearest micrometre.
func MM(mm float64) Length { return Length(math.Round(mm * float64(Millimetre))) }

// NearestWhole turns a house figure into whole base units.
func NearestWhole(v float64) int64 { return int64(v + 0.5) }

const NotApplicable = "n/a"

// Length is a measured length in micrometres. Zero means not measured: nothing that is measured on a machine
// has no length.
type Length int64

// Millimetre is the unit in which lengths are typed and shown.
const Millimetre Length = 1000

// MM returns the length in millimetres.
func (l Length) MM() float64 { return float64(l) / float64(Millimetre) }

// Known says whether the length was measured.
func (l Length) Known() bool { return l != 0 }

func (l Length) String() string {
	if !l.Known() {
		return "unknown"
	}
	return strconv.FormatFloat(l.MM(), 'f', -1, 64) + " mm"
}

// MarshalJSON writes millimetres, or null when not measured.
func (l Length) MarshalJSON() ([]byte, error) {
	if !l.Known() {
		return []byte("null"), nil
	}
	return strconv.AppendFloat(nil, l.MM(), 'f', -1, 64), nil
}

// UnmarshalJSON reads what MarshalJSON wrote.
func (l *Length) UnmarshalJSON(text []byte) error { return unmarshalThousandths(l, text) }

func unmarshalThousandths[T ~int64](to *T, text []byte) error {
	var shown *float64
	if err := json.Unmarshal(text, &shown); err != nil || shown == nil {
		*to = 0
		return err
	}
	*to = T(math.Round(*shown * 1000))
	return nil
}

// Mass is a weight in grams. Zero means not weighed.
type Mass int64

// Kilogram is the unit in which weights are typed and shown.
const Kilogram Mass = 1000

// KG returns the weight in kilograms.
func (m Mass) KG() float64 { return float64(m) / float64(Kilogram) }

func (m Mass) String() string {
	if m == 0 {
		return "unknown"
	}
	return fmt.Sprintf("%s kg", strconv.FormatFloat(m.KG(), 'f', -1, 64))
}

// MarshalJSON writes kilograms, or null when not weighed.
func (m Mass) MarshalJSON() ([]byte, error) {
	if m == 0 {
		return []byte("null"), nil
	}
	return strconv.AppendFloat(nil, m.KG(), 'f', -1, 64), nil
}

// UnmarshalJSON reads what MarshalJSON wrote.
func (m *Mass) UnmarshalJSON(text []byte) error { return unmarshalThousandths(m, text) }
