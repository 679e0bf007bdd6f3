package stock

import (
	"pitman/serials/patents"
	"pitman/serials/stamp"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"pitman/registry"
	"pitman/registry/measure"
)

// FieldOf is one thing that people type about a kind of record. The same table serves flags, questions and
// spreadsheets.
type FieldOf[T any] struct {
	Name  string // its flag and its column
	Value string // what the value is called in a usage line
	Usage string
	Many  bool // may be given several times
	Set   func(rec *T, values []string) error
	Get   func(rec *T) []string
}

// Field is one thing that people type about a machine.
type Field = FieldOf[Machine]

// MachineFields lists what people type about a machine.
var MachineFields = slices.Concat(intakeFields, headFields)

// intakeFields are asked when a machine comes in; what is measured on its head has a table of its own.
var intakeFields = []Field{
	Text("maker", "M", "who made it, as on the bed or the badge", registry.MaxName,
		func(m *Machine) *string { return &m.Maker }),
	{Name: "serial", Value: "S",
		Usage: "serial number; ? for a character that cannot be read, none for a missing plate",
		Set: func(m *Machine, v []string) (err error) {
			if m.Serial, err = registry.CleanText("serial", Last(v),
				registry.MaxSerial); strings.EqualFold(m.Serial, NoSerial) {
				m.Serial = NoSerial
			}
			if err != nil || m.Serial == "" || m.Serial == NoSerial {
				return err
			}
			return readable(stamp.CheckSerial(m.Serial))
		},
		Get: func(m *Machine) []string { return []string{m.Serial} }},
	word("drive", "hand|treadle|electric", "what turns it", registry.ParseDrive,
		func(m *Machine) *registry.Drive { return &m.Drive }),
	Text("model", "NAME", "model name or number", registry.MaxName,
		func(m *Machine) *string { return &m.Model }),
	word("stitch", "TYPE", "lockstitch, chainstitch, zigzag or overlock "+
		"(lockstitch unless said)", registry.ParseStitch,
		func(m *Machine) *registry.Stitch { return &m.Stitch }),
	Text("donor", "WHO", "who gave it", registry.MaxText, func(m *Machine) *string { return &m.Donor }),
	lines("condition", "TEXT", "how it looks: complete, seized, rusty", registry.MaxText,
		func(m *Machine) *string { return &m.Condition }),
	Text("place", "PLACE", "where it stands", registry.MaxName, func(m *Machine) *string { return &m.Place }),
	lines("note", "TEXT", "anything else", registry.MaxNote, func(m *Machine) *string { return &m.Note }),
	weight("weight", "weight of the head, in kilograms unless a unit is given",
		func(m *Machine) *measure.Mass { return &m.Weight }),
	{Name: "patent", Value: "NO",
		Usage: "patent number on bed or arm, D or RE before it; NO@part if on a part that can " +
			"be replaced (repeatable)", Many: true,
		Set: func(m *Machine, v []string) error {
			m.Patents = nil
			for _, s := range v {
				p, err := registry.CleanText("patent", s, registry.MaxSerial)
				if err != nil {
					return err
				}
				if p == "" {
					continue
				}
				if err := readable(patents.Check(p)); err != nil {
					return err
				}
				m.Patents = append(m.Patents, p)
			}
			return nil
		},
		Get: func(m *Machine) []string { return m.Patents }},
	yearList("patent-date", "year of a patent date stamped on it (repeatable)",
		func(m *Machine) *registry.List[int] { return &m.PatentYears }),
	yearList("seen", "year of a dated receipt or photograph: it is not younger (repeatable)",
		func(m *Machine) *registry.List[int] { return &m.Seen }),
	{Name: "clue", Value: "MARK",
		Usage: "a mark on it that the tables name, such as a badge or a decal (repeatable)", Many: true,
		Set: func(m *Machine, v []string) error {
			m.Clues = nil
			for _, s := range v {
				c, err := registry.CleanText("clue", s, registry.MaxText)
				if err != nil {
					return err
				}
				if c != "" {
					m.Clues = append(m.Clues, c)
				}
			}
			return nil
		},
		Get: func(m *Machine) []string { return m.Clues }},
	{Name: "year-known", Value: "YEAR",
		Usage: "the year, where it is known for certain; say how under because",
		Set: func(m *Machine, v []string) error {
			m.Known = nil
			if Last(v) == "" {
				m.Because = ""
				return nil
			}
			year, err := ParseYear("year-known", Last(v))
			m.Known = &year
			return err
		},
		Get: func(m *Machine) []string {
			if m.Known == nil {
				return []string{""}
			}
			return []string{strconv.Itoa(*m.Known)}
		}},
	Text("because", "TEXT", "how the year is known, such as: works ledger", registry.MaxText,
		func(m *Machine) *string { return &m.Because }),
	{Name: "arrived-with", Value: "TAG", Usage: "the base it came with",
		Set: func(m *Machine, v []string) (err error) {
			if m.ArrivedWith = ""; Last(v) != "" {
				m.ArrivedWith, err = registry.ParseTag(Last(v))
			}
			return err
		},
		Get: func(m *Machine) []string { return []string{string(m.ArrivedWith)} }},
}

// thousands is a comma that parts the thousands of a number.
var thousands = regexp.MustCompile(`(\d),(\d{3})\b`)

// SplitMany parts what is typed in one line for a field that may have several values, by commas and
// semicolons. A comma within a number, as in US 208,838, parts nothing.
func SplitMany(typed string) (values []string) {
	const kept = "\x00"
	for last := ""; last != typed; {
		last, typed = typed, thousands.ReplaceAllString(typed, "${1}"+kept+"${2}")
	}
	for _, v := range strings.FieldsFunc(typed, func(r rune) bool { return r == ',' || r == ';' }) {
		values = append(values, strings.ReplaceAll(v, kept, ","))
	}
	return values
}

// readable passes a refusal of package serials on as one of ours.
func readable(err error) error {
	if err != nil {
		return registry.Errorf(registry.Invalid, "%v", err)
	}
	return nil
}

// FieldNamed finds a field by its name.
func FieldNamed(name string) (Field, bool) {
	i := slices.IndexFunc(MachineFields, func(f Field) bool { return f.Name == name })
	if i < 0 {
		return Field{}, false
	}
	return MachineFields[i], true
}

func Text[T any](name, value, usage string, max int, at func(*T) *string) FieldOf[T] {
	return FieldOf[T]{Name: name, Value: value, Usage: usage,
		Set: func(rec *T, v []string) (err error) {
			*at(rec), err = registry.CleanText(name, Last(v), max)
			return err
		},
		Get: func(rec *T) []string { return []string{*at(rec)} }}
}

// lines is a text that may have several.
func lines[T any](name, value, usage string, max int, at func(*T) *string) FieldOf[T] {
	f := Text(name, value, usage, max, at)
	f.Set = func(rec *T, v []string) (err error) {
		*at(rec), err = registry.CleanLines(name, Last(v), max)
		return err
	}
	return f
}

func word[W ~string, T any](name, value, usage string, parse func(string) (W, error),
	at func(*T) *W) FieldOf[T] {
	return FieldOf[T]{Name: name, Value: value, Usage: usage,
		Set: func(rec *T, v []string) (err error) {
			*at(rec), err = parse(Last(v))
			return err
		},
		Get: func(rec *T) []string { return []string{string(*at(rec))} }}
}

// Open is a word that may stay empty, since nobody has looked yet.
func Open[W ~string, T any](name, value, usage string, words []W, at func(*T) *W) FieldOf[T] {
	return word(name, value, usage, func(s string) (W, error) {
		if registry.Blank(s) {
			return "", nil
		}
		return registry.OneOf(name, s, words)
	}, at)
}

// length is a measure, in millimetres unless a unit is typed; empty is not known.
func length[T any](name, usage string, at func(*T) *measure.Length) FieldOf[T] {
	return FieldOf[T]{Name: name, Value: "MM", Usage: usage,
		Set: func(rec *T, v []string) (err error) {
			*at(rec), err = measure.ParseMeasure(name, Last(v))
			return err
		},
		Get: func(rec *T) []string { return []string{typedLength(*at(rec))} }}
}

// lengthByWidth is two measures with an x between them; empty is not known.
func lengthByWidth[T any](name, usage string, at func(*T) (length, width *measure.Length)) FieldOf[T] {
	return FieldOf[T]{Name: name, Value: "LxW", Usage: usage,
		Set: func(rec *T, v []string) (err error) {
			length, width := at(rec)
			*length, *width, err = measure.ParseLengthByWidth(name, Last(v))
			return err
		},
		Get: func(rec *T) []string {
			length, width := at(rec)
			if !length.Known() || !width.Known() {
				return []string{""}
			}
			return []string{typedLength(*length) + " x " + typedLength(*width)}
		}}
}

func weight[T any](name, usage string, at func(*T) *measure.Mass) FieldOf[T] {
	return FieldOf[T]{Name: name, Value: "KG", Usage: usage,
		Set: func(rec *T, v []string) (err error) {
			if *at(rec) = 0; Last(v) != "" {
				*at(rec), err = measure.ParseMass(name, Last(v))
			}
			return err
		},
		Get: func(rec *T) []string {
			if *at(rec) == 0 {
				return []string{""}
			}
			return []string{at(rec).String()}
		}}
}

func typedLength(l measure.Length) string {
	if !l.Known() {
		return ""
	}
	return l.String()
}

func yearList(name, usage string, at func(*Machine) *registry.List[int]) Field {
	return Field{Name: name, Value: "YEAR", Usage: usage, Many: true,
		Set: func(m *Machine, v []string) error {
			*at(m) = nil
			for _, s := range v {
				if s == "" {
					continue
				}
				year, err := ParseYear(name, s)
				if err != nil {
					return err
				}
				*at(m) = append(*at(m), year)
			}
			return nil
		},
		Get: func(m *Machine) []string {
			var out []string
			for _, y := range *at(m) {
				out = append(out, strconv.Itoa(y))
			}
			return out
		}}
}

// ParseYear reads a year in which a sewing machine can have been made or seen.
func ParseYear(field, s string) (int, error) {
	year, err := strconv.Atoi(strings.TrimSpace(s))
	if err != nil || year < firstYear || year > lastYear {
		return 0, registry.Errorf(registry.Invalid,
			"%s %q is not a year: type four digits from %d to %d, such as 1926", field, s, firstYear,
			lastYear)
	}
	return year, nil
}

// The first patent for a machine that sews is of 1790; a year past the last one was mistyped.
const (
	firstYear = 1790
	lastYear  = 2100
)

func Last(values []string) string {
	if len(values) == 0 {
		return ""
	}
	return values[len(values)-1]
}

// Validate refuses a machine that lacks what every machine has.
func (m *Machine) Validate() error {
	switch {
	case m.Maker == "":
		return registry.Errorf(registry.Invalid,
			"maker is missing: give the name on the bed or badge, or unknown").On("maker")
	case m.Serial == "":
		return registry.Errorf(registry.Invalid,
			"serial is missing: give the number on the bed, ? for what cannot be read, or none").On("serial")
	case m.Drive == "":
		return registry.Errorf(registry.Invalid,
			"drive is missing: give hand, treadle or electric").On("drive")
	case m.Known != nil && m.Because == "":
		return registry.Errorf(registry.Invalid,
			"because is missing: say how the year %d is known, such as: works ledger", *m.Known).On("because")
	case m.Known == nil && m.Because != "":
		return registry.Errorf(registry.Invalid,
			"year-known is missing: because %q says how a year is known, so give the year too", m.Because).
			On("year-known")
	}
	return nil
}
