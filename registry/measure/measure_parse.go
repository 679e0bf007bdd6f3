package measure

import (
	"fmt"
	"math/big"
	"regexp"
	"strconv"
	"strings"

	"pitman/registry"
)

// People type what the rule or the instrument in front of them says: "241", "9 1/2 in", "24,1 cm", "0.08
// ohm", "220–240 V". Every reader here turns that into whole base units by exact fractions, so that nothing
// is lost on the way to the database, and refuses what cannot be meant, naming the field, the value and what
// to type instead.

// Resistance is an electrical resistance in micro-ohms.
type Resistance int64

// The units in which resistance is typed and shown.
const (
	Ohm    Resistance = 1_000_000
	Megohm            = 1_000_000 * Ohm
)

// Current is an electric current in microamperes.
type Current int64

// The units in which current is typed and shown.
const (
	Milliampere Current = 1000
	Ampere              = 1000 * Milliampere
)

func (c Current) String() string {
	if c >= Ampere {
		return decimal(int64(c), 6) + " A"
	}
	return decimal(int64(c), 3) + " mA"
}

// decimal writes v / 10^places without rounding and without trailing zeros.
func decimal(v int64, places int) string {
	s := fmt.Sprintf("%0*d", places+1, v)
	s = s[:len(s)-places] + "." + s[len(s)-places:]
	return strings.TrimSuffix(strings.TrimRight(s, "0"), ".")
}

// A quantity is one kind of measure: its units, each as a whole number of base units or an exact fraction of
// one.
type Quantity struct {
	name    string // as in "is not a length"
	units   map[string]*big.Rat
	folded  bool // capitals do not matter; they do for ohms, where m and M are a thousand million apart
	Most    int64
	mostly  string // the same limit in words
	zero    bool   // nought is a reading
	Example string
}

var Lengths = Quantity{
	name: "length", folded: true,
	units: map[string]*big.Rat{
		"mm": big.NewRat(1000, 1), "cm": big.NewRat(10_000, 1), "m": big.NewRat(1_000_000, 1),
		// The international inch: 25.4 mm exactly (international yard and pound agreement, 1959).
		"in": big.NewRat(25_400, 1), "inch": big.NewRat(25_400, 1), "inches": big.NewRat(25_400, 1),
		`"`: big.NewRat(25_400, 1),
	},
	Most: 100_000 * int64(Millimetre), mostly: "100 m",
	Example: "millimetres such as 241 or 24.1 cm, or inches such as 9 1/2 in",
}

var masses = Quantity{
	name: "weight", folded: true,
	units: map[string]*big.Rat{
		"kg": big.NewRat(1000, 1), "g": big.NewRat(1, 1),
		// The international pound: 453.59237 g exactly (same agreement).
		"lb": big.NewRat(45_359_237, 100_000), "lbs": big.NewRat(45_359_237, 100_000),
	},
	Most: 1000 * int64(Kilogram), mostly: "1000 kg",
	Example: "kilograms such as 12.5, or 850 g or 28 lb",
}

var Resistances = Quantity{
	name: "resistance",
	units: map[string]*big.Rat{
		"µΩ": big.NewRat(1, 1),
		"mΩ": big.NewRat(1000, 1), "mohm": big.NewRat(1000, 1),
		"Ω": big.NewRat(int64(Ohm), 1), "ohm": big.NewRat(int64(Ohm), 1), "ohms": big.NewRat(int64(Ohm), 1),
		"kΩ": big.NewRat(1000*int64(Ohm), 1), "kohm": big.NewRat(1000*int64(Ohm), 1),
		"MΩ": big.NewRat(int64(Megohm), 1), "Mohm": big.NewRat(int64(Megohm), 1),
	},
	// The largest portable insulation testers stop at a few hundred gigohms; a figure above is ohms typed as
	// megohms.
	Most: 100_000 * int64(Megohm), mostly: "100000 MΩ",
	zero:    true,
	Example: "a figure and a unit such as 0.08 ohm, 80 mΩ or 20 MΩ",
}

var Currents = Quantity{
	name: "current",
	units: map[string]*big.Rat{
		"µA": big.NewRat(1, 1), "uA": big.NewRat(1, 1),
		"mA": big.NewRat(int64(Milliampere), 1), "A": big.NewRat(int64(Ampere), 1),
	},
	Most: 100 * int64(Ampere), mostly: "100 A",
	zero:    true,
	Example: "a figure and a unit such as 0.25 mA or 3 A",
}

// ParseLength reads a length; a bare figure is millimetres.
func ParseLength(field, text string) (Length, error) {
	v, err := Lengths.Parse(field, text, "mm")
	return Length(v), err
}

// ParseMass reads a weight; a bare figure is kilograms.
func ParseMass(field, text string) (Mass, error) {
	v, err := masses.Parse(field, text, "kg")
	return Mass(v), err
}

var (
	// A whole number with a fraction, a fraction alone, or a decimal with point or comma; then the unit, if
	// any.
	quantityPattern = regexp.MustCompile(`^(?:(?:([0-9]{1,6}) )?([0-9]{1,6})/([0-9]{1,6})|` +
		`([0-9]{1,15})(?:([.,])([0-9]{1,9}))?) ?(\D*)$`)
	notNumber = regexp.MustCompile(`(?i)^[+-]?(nan|inf|infinity|∞)\b`)

	// One spelling for each sign that a keyboard, a phone or a spreadsheet may put in.
	plainSigns = strings.NewReplacer(
		"½", " 1/2", "¼", " 1/4", "¾", " 3/4", "⅛", " 1/8", "⅜", " 3/8", "⅝", " 5/8", "⅞", " 7/8", "⁄", "/",
		"″", `"`, "”", `"`, "''", `"`, "−", "-", "–", "-", "—", "-",
		"\u2126", "Ω", "μ", "µ", "\u00a0", " ", "\u202f", " ",
	)
)

// Plain gives text one spelling: single spaces, ASCII fractions and dashes, one sign for each unit.
func Plain(text string) string { return strings.Join(strings.Fields(plainSigns.Replace(text)), " ") }

// Parse reads a figure in whole base units, rounded to the nearest.
func (q Quantity) Parse(field, text, unit string) (int64, error) {
	value, err := q.Exact(field, text, unit)
	if err != nil {
		return 0, err
	}
	return nearest(value), nil
}

// Exact reads a figure in base units as it was typed, to be held against a limit before anything is rounded.
func (q Quantity) Exact(field, text, unit string) (*big.Rat, error) {
	refuse := func(why string) (*big.Rat, error) {
		return nil, registry.Errorf(registry.Invalid, "%s %q %s: type %s", field, text, why, q.Example)
	}
	s := Plain(text)
	switch {
	case s == "":
		return refuse("is empty")
	case notNumber.MatchString(s):
		return refuse("is not a number")
	case strings.HasPrefix(s, "-"):
		return refuse("is negative")
	}
	m := quantityPattern.FindStringSubmatch(s)
	if m == nil {
		return refuse("is not a " + q.name)
	}
	whole, over, under, number, mark, rest, typed := m[1], m[2], m[3], m[4], m[5], m[6],
		strings.TrimSpace(m[7])
	value := new(big.Rat)
	if over != "" {
		if typed == "" {
			return refuse("is a fraction without a unit")
		}
		if strings.Trim(under, "0") == "" {
			return refuse("divides by nought")
		}
		value.SetString(over + "/" + under)
		if whole != "" {
			n, _ := new(big.Rat).SetString(whole)
			value.Add(value, n)
		}
	} else {
		// "1,250" is one and a quarter to some and twelve hundred and fifty to others.
		if mark == "," && len(rest) == 3 && strings.Trim(number, "0") != "" && len(number) <= 3 {
			return refuse(fmt.Sprintf("can be read as %s%s or as %s.%s", number, rest, number, rest))
		}
		value.SetString(number + "." + rest + "0")
	}
	if typed == "" {
		typed = unit
	}
	if q.folded {
		typed = strings.ToLower(typed)
	}
	scale, ok := q.units[typed]
	if !ok {
		return refuse(fmt.Sprintf("has the unknown unit %q", typed))
	}
	value.Mul(value, scale)
	if value.Cmp(new(big.Rat).SetInt64(q.Most)) > 0 {
		return refuse("is more than " + q.mostly)
	}
	if nearest(value) == 0 && (!q.zero || value.Sign() != 0) {
		return refuse("is nought or too small to measure")
	}
	return value, nil
}

// nearest rounds to the nearest whole number, halves up; the value is never negative.
func nearest(r *big.Rat) int64 {
	n := new(big.Int).Lsh(r.Num(), 1)
	n.Add(n, r.Denom())
	return n.Quo(n, new(big.Int).Lsh(r.Denom(), 1)).Int64()
}

// Span is a range of whole volts or hertz, both ends included.
type Span struct{ Low, High int }

// Rating is what a nameplate says of volts or hertz: one or more spans, "220–240" or "110/220" or "50/60".
// A slash separates alternatives, because a switched 110/220 V motor does not run at 165 V.
type Rating []Span

// Off says how far a supply lies from the nearest span: 0 when the plate covers it.
func (r Rating) Off(supply int) int {
	best := -1
	for _, s := range r {
		off := max(s.Low-supply, supply-s.High, 0)
		if best < 0 || off < best {
			best = off
		}
	}
	return best
}

// String writes the rating as plates do, without its unit.
func (r Rating) String() string {
	parts := make([]string, len(r))
	for i, s := range r {
		parts[i] = strconv.Itoa(s.Low)
		if s.High != s.Low {
			parts[i] += "–" + strconv.Itoa(s.High)
		}
	}
	return strings.Join(parts, "/")
}

// MarshalText writes the rating for JSON and for the database.
func (r Rating) MarshalText() ([]byte, error) { return []byte(r.String()), nil }

// UnmarshalText reads what MarshalText wrote.
func (r *Rating) UnmarshalText(text []byte) error {
	if len(text) == 0 {
		*r = nil
		return nil
	}
	got, err := plate{name: "rating", low: 1, high: 100_000}.parse("rating", string(text))
	*r = got
	return err
}

// A plate is one kind of nameplate rating.
type plate struct {
	name      string
	units     *regexp.Regexp
	low, high int
	example   string
}

var (
	voltPlate = plate{
		name: "voltage", units: regexp.MustCompile(`(?i)\s*(v|volts?)\s*(a\.?c\.?|~)?$`), low: 6, high: 1000,
		example: "whole volts as on the plate such as 230, 220–240 V or 110/220 V",
	}
	hertzPlate = plate{
		name: "frequency", units: regexp.MustCompile(`(?i)\s*(hz|hertz|cycles|c/s|~)$`), low: 15, high: 400,
		example: "whole hertz as on the plate such as 50, 60 Hz or 50/60 Hz",
	}
	spanPattern = regexp.MustCompile(`^([0-9]{1,6})(?: ?(?:-|to) ?([0-9]{1,6}))?$`)
)

// ParseVolts reads a nameplate voltage: "230", "220–240 V", "110/220 V".
func ParseVolts(field, text string) (Rating, error) { return voltPlate.parse(field, text) }

// ParseHertz reads a nameplate frequency: "50", "50/60 Hz", "25-75 cycles".
func ParseHertz(field, text string) (Rating, error) { return hertzPlate.parse(field, text) }

func (p plate) parse(field, text string) (Rating, error) {
	refuse := func(why string) (Rating, error) {
		return nil, registry.Errorf(registry.Invalid, "%s %q %s: type %s", field, text, why, p.example)
	}
	s := Plain(text)
	switch {
	case s == "":
		return refuse("is empty")
	case len(s) > 60:
		return refuse("is too long")
	case notNumber.MatchString(s):
		return refuse("is not a number")
	case strings.HasPrefix(s, "-"):
		return refuse("is negative")
	}
	var rating Rating
	for part := range strings.SplitSeq(s, "/") {
		part = strings.TrimSpace(part)
		if p.units != nil {
			part = p.units.ReplaceAllString(part, "")
		}
		m := spanPattern.FindStringSubmatch(part)
		if m == nil {
			return refuse("is not a " + p.name)
		}
		low, _ := strconv.Atoi(m[1]) // at most six digits
		high := low
		if m[2] != "" {
			high, _ = strconv.Atoi(m[2])
		}
		if low > high {
			return refuse("runs backwards")
		}
		if low < p.low || high > p.high {
			return refuse(fmt.Sprintf("is not between %d and %d", p.low, p.high))
		}
		rating = append(rating, Span{low, high})
	}
	return rating, nil
}

// UnmarshalCSV reads a length from a cell; an empty cell is not measured.
func (l *Length) UnmarshalCSV(cell []byte) error {
	return unmarshalCell(l, cell, ParseLength, "length")
}

// UnmarshalCSV reads a weight from a cell; an empty cell is not weighed.
func (m *Mass) UnmarshalCSV(cell []byte) error { return unmarshalCell(m, cell, ParseMass, "weight") }

func unmarshalCell[T ~int64](to *T, cell []byte, parse func(field, text string) (T, error),
	field string) error {
	*to = 0
	if registry.Blank(string(cell)) {
		return nil
	}
	got, err := parse(field, string(cell))
	if err == nil {
		*to = got
	}
	return err
}
