package stock

import (
	"slices"
	"strings"

	"pitman/registry"
	"pitman/registry/fields"
	"pitman/registry/measure"
)

// Answer is the answer to a yes-or-no question about a machine; empty means that nobody has looked yet.
type Answer string

const (
	Yes Answer = "yes"
	No  Answer = "no"
)

var answers = []Answer{Yes, No}

// WheelKind says how a handwheel is cast. A hand crank grips the spokes.
type WheelKind string

var wheelKinds = []WheelKind{"spoked", "solid"}

// Head is what is measured on a machine's head: what a treadle base must fit, and what else the machine
// takes. A length of zero, or an empty word, is not known.
type Head struct {
	// the row of the house's list of beds that it follows
	BedPattern string         `json:"bed_pattern" db:"bed_pattern"`
	BedLength  measure.Length `json:"bed_length_mm" db:"bed_length_um"`
	BedWidth   measure.Length `json:"bed_width_mm" db:"bed_width_um"`
	Pins       measure.Length `json:"pins_mm" db:"pins_um"`   // between the centres of the hinge pins
	Wheel      measure.Length `json:"wheel_mm" db:"wheel_um"` // diameter of the belt groove in the handwheel
	Groove     Answer         `json:"groove" db:"groove"`     // whether the handwheel has a belt groove
	WheelKind  WheelKind      `json:"wheel_kind" db:"wheel_kind"`
	CrankBoss  Answer         `json:"crank_boss" db:"crank_boss"` // whether a hand crank can be bolted on
	MotorBoss  Answer         `json:"motor_boss" db:"motor_boss"` // whether a motor can be bolted on
	AxisHeight measure.Length `json:"axis_height_mm" db:"axis_height_um"`
	BeltOffset measure.Length `json:"belt_offset_mm" db:"belt_offset_um"`
	// whether it can leave as a hand machine and in a treadle set
	EitherWay Answer `json:"either_way" db:"either_way"`

	Needle string `json:"needle" db:"needle"` // needle system
	Bobbin string `json:"bobbin" db:"bobbin"` // class of bobbin or shuttle
}

var headFields = []Field{
	fields.Text("bed-pattern", "NAME",
		"bed pattern, from the house's list of beds: fills in the measures that are not given",
		registry.MaxName, func(m *Machine) *string { return &m.BedPattern }),
	fields.LengthByWidth("bed", "length by width of the bed, such as 371x178",
		func(m *Machine) (*measure.Length, *measure.Length) { return &m.BedLength, &m.BedWidth }),
	fields.Length("pins", "hinge pins of the bed, centre to centre",
		func(m *Machine) *measure.Length { return &m.Pins }),
	fields.Length("wheel", "diameter of the handwheel's belt groove, at its bottom",
		func(m *Machine) *measure.Length { return &m.Wheel }),
	fields.Open("groove", "yes|no", "whether the handwheel has a belt groove", answers,
		func(m *Machine) *Answer { return &m.Groove }),
	fields.Open("wheel-kind", "spoked|solid", "how the handwheel is cast", wheelKinds,
		func(m *Machine) *WheelKind { return &m.WheelKind }),
	fields.Open("crank-boss", "yes|no", "whether it has the boss for a hand crank", answers,
		func(m *Machine) *Answer { return &m.CrankBoss }),
	fields.Open("motor-boss", "yes|no", "whether it has the boss for a motor", answers,
		func(m *Machine) *Answer { return &m.MotorBoss }),
	fields.Length("axis-height", "handwheel's axis above the table top",
		func(m *Machine) *measure.Length { return &m.AxisHeight }),
	fields.Length("belt-offset",
		"how far the handwheel's axis stands from straight above the treadle's shaft",
		func(m *Machine) *measure.Length { return &m.BeltOffset }),
	fields.Open("either-way", "yes|no", "whether it can leave as a hand machine and in a treadle set",
		answers,
		func(m *Machine) *Answer { return &m.EitherWay }),
	fields.Text("needle", "SYSTEM", "needle system, such as 130/705 H", registry.MaxName,
		func(m *Machine) *string { return &m.Needle }),
	fields.Text("bobbin", "CLASS", "class of bobbin or shuttle, such as class 15", registry.MaxName,
		func(m *Machine) *string { return &m.Bobbin }),
}

// Serves lists what a machine can leave as. Only a person's word makes a manual machine usable either way.
func (m *Machine) Serves() []registry.Drive {
	if m.Drive != registry.Electric && m.EitherWay == Yes {
		return []registry.Drive{registry.Hand, registry.Treadle}
	}
	return []registry.Drive{m.Drive}
}

// BedPattern is one row of beds.csv: machines that share a casting share these measures, so that nobody
// measures each.
type BedPattern struct {
	Bed        string         `csv:"bed" json:"bed"`
	What       string         `csv:"what" json:"what"`
	Length     measure.Length `csv:"length" json:"length_mm"`
	Width      measure.Length `csv:"width" json:"width_mm"`
	Pins       measure.Length `csv:"pins" json:"pins_mm"`
	Wheel      measure.Length `csv:"wheel" json:"wheel_mm"`
	Groove     Answer         `csv:"groove" json:"groove"`
	WheelKind  WheelKind      `csv:"wheel_kind" json:"wheel_kind"`
	CrankBoss  Answer         `csv:"crank_boss" json:"crank_boss"`
	MotorBoss  Answer         `csv:"motor_boss" json:"motor_boss"`
	AxisHeight measure.Length `csv:"axis_height" json:"axis_height_mm"`
	BeltOffset measure.Length `csv:"belt_offset" json:"belt_offset_mm"`
	Needle     string         `csv:"needle" json:"needle"`
	Bobbin     string         `csv:"bobbin" json:"bobbin"`
	Weight     measure.Mass   `csv:"weight" json:"weight_kg"`
}

func (b BedPattern) Key() string { return strings.ToLower(b.Bed) }

// Check says what is wrong with the row.
func (b BedPattern) Check() error {
	if err := registry.CheckWord("bed", b.Bed); err != nil {
		return err
	}
	for _, c := range []struct {
		column string
		cell   Answer
	}{{"groove", b.Groove}, {"crank_boss", b.CrankBoss}, {"motor_boss", b.MotorBoss}} {
		if c.cell != "" && !slices.Contains(answers, c.cell) {
			return registry.Errorf(registry.Invalid, "%s %q is not known: type yes or no, or leave it empty",
				c.column, string(c.cell))
		}
	}
	if b.WheelKind != "" && !slices.Contains(wheelKinds, b.WheelKind) {
		return registry.Errorf(registry.Invalid,
			"wheel_kind %q is not known: type spoked or solid, or leave it empty", string(b.WheelKind))
	}
	return nil
}

// ModelRow is one row of models.csv: what the machines of one model have in common. An empty maker is any.
type ModelRow struct {
	Model  string       `csv:"model" json:"model"`
	Maker  string       `csv:"maker" json:"maker"`
	Bed    string       `csv:"bed" json:"bed"`
	Needle string       `csv:"needle" json:"needle"`
	Bobbin string       `csv:"bobbin" json:"bobbin"`
	Weight measure.Mass `csv:"weight" json:"weight_kg"`
}

func (r ModelRow) Key() string { return strings.ToLower(r.Model + " of " + MakerKey(r.Maker)) }

// Check says what is wrong with the row.
func (r ModelRow) Check() error {
	if r.Model == "" {
		return registry.Errorf(registry.Invalid, "model is empty: type the model's name as it is logged")
	}
	return nil
}
