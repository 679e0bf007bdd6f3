package stock

import (
	"context"
	"fmt"
	"time"

	"pitman/registry"
	"pitman/registry/measure"
	"pitman/serials/names"
	"pitman/serials/stamp"
)

// NoSerial stands for a missing or unreadable number plate.
const NoSerial = stamp.None

// Machine is one sewing-machine head, from the day it was donated.
type Machine struct {
	registry.Row
	Tag       registry.Tag    `json:"tag" db:"tag"`
	Maker     string          `json:"maker" db:"maker"`
	Serial    string          `json:"serial" db:"serial"` // as stamped, or NoSerial
	Drive     registry.Drive  `json:"drive" db:"drive"`
	Stage     registry.Stage  `json:"stage" db:"stage"`
	From      *int            `json:"from" db:"year_from"` // not made before this year; nil when unknown
	To        *int            `json:"to" db:"year_to"`     // not made after this year; nil when unknown
	Best      *int            `json:"best" db:"year_best"` // the single best year; nil when there is none
	Basis     string          `json:"basis" db:"year_basis"`
	Model     string          `json:"model" db:"model"`
	Stitch    registry.Stitch `json:"stitch" db:"stitch"`
	Donor     string          `json:"donor" db:"donor,personal"`
	Condition string          `json:"condition" db:"condition,personal"`
	Place     string          `json:"place" db:"place"`
	Note      string          `json:"note" db:"note,personal"`
	Weight    measure.Mass    `json:"weight_kg" db:"weight"`

	// What the estimate rests on: evidence beside the serial number, and the table rows that answered.
	Patents     registry.List[string] `json:"patents" db:"patents,json"`
	PatentYears registry.List[int]    `json:"patent_years" db:"patent_years,json"`
	Seen        registry.List[int]    `json:"seen" db:"seen,json"`
	DatedBy     registry.List[string] `json:"dated_by" db:"dated_by,json"`

	ArrivedWith registry.Tag      `json:"arrived_with" db:"arrived_with"` // the base it came with
	LoggedAt    time.Time         `json:"logged_at" db:"logged_at"`
	LoggedBy    registry.Initials `json:"logged_by" db:"logged_by"`
	StageSince  time.Time         `json:"stage_since" db:"stage_since"`

	Dating
	Head
	Origin
	Gates

	// For the look-up of a second log of the same machine.
	MakerKey  string `json:"-" db:"maker_key"`
	SerialKey string `json:"-" db:"serial_key"`
}

// Kind names the table.
func (*Machine) Kind() string { return "machine" }

// Subject is the machine's own tag.
func (m *Machine) Subject() string { return string(m.Tag) }

// MachineByTag reads one machine.
func MachineByTag(r Reader, tag registry.Tag) (*Machine, error) {
	var m Machine
	if err := r.Get(&m, Fields{"tag": tag}); err != nil {
		if registry.CodeOf(err) == registry.NotFound {
			var b Base
			if r.Get(&b, Fields{"tag": tag}) == nil {
				return nil, registry.Errorf(registry.NotFound, "tag %s is a treadle base, not a machine",
					tag).On("tag").Then(registry.Next(registry.DoShowBase, tag))
			}
			return nil, registry.Errorf(registry.NotFound,
				"tag %s is not in this house: find the machine by its maker or serial", tag).
				On("tag").Then(registry.Next(registry.DoFind, ""))
		}
		return nil, err
	}
	return &m, nil
}

// Machine reads one machine.
func (w *Stock) Machine(ctx context.Context, tag registry.Tag) (m *Machine, err error) {
	err = w.Store.View(ctx, func(r Reader) error {
		m, err = MachineByTag(r, tag)
		return err
	})
	return m, err
}

// MakerKey is the same for every way in which people write one maker's name.
func MakerKey(maker string) string { return names.MakerKey(maker) }

// Key fills in what maker and serial are looked up by.
func (m *Machine) Key() {
	m.MakerKey, m.SerialKey = MakerKey(m.Maker), ""
	if m.Serial != NoSerial {
		m.SerialKey = stamp.Normalise(m.Serial)
	}
}

// WhereNow says where the machine stands after a step.
func (m *Machine) WhereNow() string {
	if m.Stage == registry.Held {
		return fmt.Sprintf("%s is held.", m.Tag)
	}
	return fmt.Sprintf("%s is now %s: %s.", m.Tag, m.Stage, m.Stage.Meaning())
}
