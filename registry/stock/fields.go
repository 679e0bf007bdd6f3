package stock

import (
	"slices"
	"strconv"
	"strings"

	"pitman/registry"
	"pitman/registry/fields"
	"pitman/registry/measure"
	"pitman/serials/patents"
	"pitman/serials/stamp"
)

// Field is one thing that people type about a machine.
type Field = fields.Of[Machine]

// MachineFields lists what people type about a machine.
var MachineFields = slices.Concat(intakeFields, headFields)

// intakeFields are asked when a machine comes in; what is measured on its head has a table of its own.
var intakeFields = []Field{
	fields.Text("maker", "M", "who made it, as on the bed or the badge", registry.MaxName,
		func(m *Machine) *string { return &m.Maker }),
	{Name: "serial", Value: "S",
		Usage: "serial number; ? for a character that cannot be read, none for a missing plate",
		Set: func(m *Machine, v []string) (err error) {
			if m.Serial, err = registry.CleanText("serial", fields.Last(v),
				registry.MaxSerial); strings.EqualFold(m.Serial, NoSerial) {
				m.Serial = NoSerial
			}
			if err != nil || m.Serial == "" || m.Serial == NoSerial {
				return err
			}
			return Readable(stamp.CheckSerial(m.Serial))
		},
		Get: func(m *Machine) []string { return []string{m.Serial} }},
	fields.Word("drive", "hand|treadle|electric", "what turns it", registry.ParseDrive,
		func(m *Machine) *registry.Drive { return &m.Drive }),
	fields.Text("model", "NAME", "model name or number", registry.MaxName,
		func(m *Machine) *string { return &m.Model }),
	fields.Word("stitch", "TYPE", "lockstitch, chainstitch, zigzag or overlock (lockstitch unless "+
		"said)", registry.ParseStitch,
		func(m *Machine) *registry.Stitch { return &m.Stitch }),
	fields.Text("donor", "WHO", "who gave it", registry.MaxText,
		func(m *Machine) *string { return &m.Donor }),
	fields.Lines("condition", "TEXT", "how it looks: complete, seized, rusty", registry.MaxText,
		func(m *Machine) *string { return &m.Condition }),
	fields.Text("place", "PLACE", "where it stands", registry.MaxName,
		func(m *Machine) *string { return &m.Place }),
	fields.Lines("note", "TEXT", "anything else", registry.MaxNote,
		func(m *Machine) *string { return &m.Note }),
	fields.Weight("weight", "weight of the head, in kilograms unless a unit is given",
		func(m *Machine) *measure.Mass { return &m.Weight }),
	{Name: "patent", Value: "NO",
		Usage: "patent number on bed or arm, D or RE before it; NO@part if on a part that can be replaced " +
			"(repeatable)", Many: true,
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
				if err := Readable(patents.Check(p)); err != nil {
					return err
				}
				m.Patents = append(m.Patents, p)
			}
			return nil
		},
		Get: func(m *Machine) []string { return m.Patents }},
	fields.Years("patent-date", "year of a patent date stamped on it (repeatable)",
		func(m *Machine) *registry.List[int] { return &m.PatentYears }),
	fields.Years("seen", "year of a dated receipt or photograph: it is not younger (repeatable)",
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
			if fields.Last(v) == "" {
				m.Because = ""
				return nil
			}
			year, err := fields.ParseYear("year-known", fields.Last(v))
			m.Known = &year
			return err
		},
		Get: func(m *Machine) []string {
			if m.Known == nil {
				return []string{""}
			}
			return []string{strconv.Itoa(*m.Known)}
		}},
	fields.Text("because", "TEXT", "how the year is known, such as: works ledger", registry.MaxText,
		func(m *Machine) *string { return &m.Because }),
	{Name: "arrived-with", Value: "TAG", Usage: "the base it came with",
		Set: func(m *Machine, v []string) (err error) {
			if m.ArrivedWith = ""; fields.Last(v) != "" {
				m.ArrivedWith, err = registry.ParseTag(fields.Last(v))
			}
			return err
		},
		Get: func(m *Machine) []string { return []string{string(m.ArrivedWith)} }},
}

// Readable passes a refusal of package serials on as one of ours.
func Readable(err error) error {
	if err != nil {
		return registry.Errorf(registry.Invalid, "%v", err)
	}
	return nil
}

// FieldNamed finds a field by its name.
func FieldNamed(name string) (Field, bool) { return fields.Named(MachineFields, name) }

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
