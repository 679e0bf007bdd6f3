package registry

import (
	"slices"
	"strconv"
	"strings"

	"pitman/serials"
)

// FieldOf is one thing that people type about a kind of record. The same table serves flags, questions and spreadsheets.
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
	text("maker", "M", "who made it, as on the bed or the badge", maxName, func(m *Machine) *string { return &m.Maker }),
	{Name: "serial", Value: "S", Usage: "serial number; ? for a character that cannot be read, none for a missing plate",
		Set: func(m *Machine, v []string) (err error) {
			if m.Serial, err = cleanText("serial", last(v), maxSerial); strings.EqualFold(m.Serial, NoSerial) {
				m.Serial = NoSerial
			}
			if err != nil || m.Serial == "" || m.Serial == NoSerial {
				return err
			}
			return readable(serials.CheckSerial(m.Serial))
		},
		Get: func(m *Machine) []string { return []string{m.Serial} }},
	word("drive", "hand|treadle|electric", "what turns it", ParseDrive, func(m *Machine) *Drive { return &m.Drive }),
	text("model", "NAME", "model name or number", maxName, func(m *Machine) *string { return &m.Model }),
	word("stitch", "TYPE", "lockstitch, chainstitch, zigzag or overlock "+
		"(lockstitch unless said)", ParseStitch, func(m *Machine) *Stitch { return &m.Stitch }),
	text("donor", "WHO", "who gave it", maxText, func(m *Machine) *string { return &m.Donor }),
	text("condition", "TEXT", "how it looks: complete, seized, rusty", maxText, func(m *Machine) *string { return &m.Condition }),
	text("place", "PLACE", "where it stands", maxName, func(m *Machine) *string { return &m.Place }),
	text("note", "TEXT", "anything else", maxNote, func(m *Machine) *string { return &m.Note }),
	weight("weight", "weight of the head, in kilograms unless a unit is given", func(m *Machine) *Mass { return &m.Weight }),
	{Name: "patent", Value: "NO", Usage: "patent number on bed or arm, D or RE before it; NO@part if on a part that can " +
		"be replaced (repeatable)", Many: true,
		Set: func(m *Machine, v []string) error {
			m.Patents = nil
			for _, s := range v {
				p, err := cleanText("patent", s, maxSerial)
				if err != nil {
					return err
				}
				if p == "" {
					continue
				}
				if err := readable(serials.CheckPatent(p)); err != nil {
					return err
				}
				m.Patents = append(m.Patents, p)
			}
			return nil
		},
		Get: func(m *Machine) []string { return m.Patents }},
	years("patent-date", "year of a patent date stamped on it (repeatable)", func(m *Machine) *List[int] { return &m.PatentYears }),
	years("seen", "year of a dated receipt or photograph: it is not younger (repeatable)", func(m *Machine) *List[int] { return &m.Seen }),
	{Name: "arrived-with", Value: "TAG", Usage: "the base it came with",
		Set: func(m *Machine, v []string) (err error) {
			if m.ArrivedWith = ""; last(v) != "" {
				m.ArrivedWith, err = ParseTag(last(v))
			}
			return err
		},
		Get: func(m *Machine) []string { return []string{string(m.ArrivedWith)} }},
}

// readable passes a refusal of package serials on as one of ours.
func readable(err error) error {
	if err != nil {
		return Errorf(Invalid, "%v", err)
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

func text[T any](name, value, usage string, max int, at func(*T) *string) FieldOf[T] {
	return FieldOf[T]{Name: name, Value: value, Usage: usage,
		Set: func(rec *T, v []string) (err error) {
			*at(rec), err = cleanText(name, last(v), max)
			return err
		},
		Get: func(rec *T) []string { return []string{*at(rec)} }}
}

func word[W ~string, T any](name, value, usage string, parse func(string) (W, error), at func(*T) *W) FieldOf[T] {
	return FieldOf[T]{Name: name, Value: value, Usage: usage,
		Set: func(rec *T, v []string) (err error) {
			*at(rec), err = parse(last(v))
			return err
		},
		Get: func(rec *T) []string { return []string{string(*at(rec))} }}
}

// open is a word that may stay empty, since nobody has looked yet.
func open[W ~string, T any](name, value, usage string, words []W, at func(*T) *W) FieldOf[T] {
	return word(name, value, usage, func(s string) (W, error) {
		if blank(s) {
			return "", nil
		}
		return oneOf(name, s, words)
	}, at)
}

// length is a measure, in millimetres unless a unit is typed; empty is not known.
func length[T any](name, usage string, at func(*T) *Length) FieldOf[T] {
	return FieldOf[T]{Name: name, Value: "MM", Usage: usage,
		Set: func(rec *T, v []string) (err error) {
			*at(rec), err = parseMeasure(name, last(v))
			return err
		},
		Get: func(rec *T) []string { return []string{typedLength(*at(rec))} }}
}

// lengthByWidth is two measures with an x between them; empty is not known.
func lengthByWidth[T any](name, usage string, at func(*T) (length, width *Length)) FieldOf[T] {
	return FieldOf[T]{Name: name, Value: "LxW", Usage: usage,
		Set: func(rec *T, v []string) (err error) {
			length, width := at(rec)
			*length, *width, err = parseLengthByWidth(name, last(v))
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

func weight[T any](name, usage string, at func(*T) *Mass) FieldOf[T] {
	return FieldOf[T]{Name: name, Value: "KG", Usage: usage,
		Set: func(rec *T, v []string) (err error) {
			if *at(rec) = 0; last(v) != "" {
				*at(rec), err = parseMass(name, last(v))
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

func typedLength(l Length) string {
	if !l.Known() {
		return ""
	}
	return l.String()
}

func years(name, usage string, at func(*Machine) *List[int]) Field {
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
		return 0, Errorf(Invalid, "%s %q is not a year: type four digits from %d to %d, such as 1926", field, s, firstYear, lastYear)
	}
	return year, nil
}

// The first patent for a machine that sews is of 1790; a year past the last one was mistyped.
const (
	firstYear = 1790
	lastYear  = 2100
)

func last(values []string) string {
	if len(values) == 0 {
		return ""
	}
	return values[len(values)-1]
}

// Validate refuses a machine that lacks what every machine has.
func (m *Machine) Validate() error {
	switch {
	case m.Maker == "":
		return Errorf(Invalid, "maker is missing: give --maker with the name on the bed or badge, or --maker unknown")
	case m.Serial == "":
		return Errorf(Invalid, "serial is missing: give --serial with the number on the bed, ? for what cannot be read, or --serial none")
	case m.Drive == "":
		return Errorf(Invalid, "drive is missing: give --drive hand, treadle or electric")
	}
	return nil
}
