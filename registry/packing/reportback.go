package packing

import (
	"context"
	"time"

	"pitman/registry"
	"pitman/registry/stock"
)

// Arrival is what the training centre says of a machine after it came.
type Arrival struct {
	registry.Row
	Tag     registry.Tag          `json:"tag" db:"tag"`
	At      time.Time             `json:"at" db:"at"`
	By      registry.Initials     `json:"by" db:"by"` // who wrote it down here
	Transit registry.List[string] `json:"transit_damage" db:"transit,json"`
	Faults  registry.List[string] `json:"faults" db:"faults,json"`
	Note    string                `json:"note" db:"note,personal"`
}

// Kind names the table.
func (*Arrival) Kind() string { return "arrival" }

// Subject is the machine.
func (a *Arrival) Subject() string { return string(a.Tag) }

// ReportBack keeps what the training centre says.
func (w *Packing) ReportBack(ctx context.Context, by registry.Initials, tag registry.Tag,
	said Arrival) (*stock.Machine, error) {
	if len(said.Transit) == 0 && len(said.Faults) == 0 && registry.Blank(said.Note) {
		return nil, registry.Errorf(registry.Invalid,
			"nothing to report for %s: give damage, fault or note with what the centre says, such as "+
				"\"arrived well\"", tag).
			On("note").Then(registry.Next(registry.DoReportBack, tag))
	}
	for field, list := range map[string][]string{"damage": said.Transit, "fault": said.Faults} {
		for i, text := range list {
			var err error
			if list[i], err = registry.CleanText(field, text, registry.MaxText); err != nil {
				return nil, err
			}
			if list[i] == "" {
				return nil, registry.Errorf(registry.Invalid,
					"%s is empty: type what the centre says, or leave --%s out", field, field)
			}
		}
	}
	var err error
	if said.Note, err = registry.CleanText("note", said.Note, registry.MaxNote); err != nil {
		return nil, err
	}
	return w.OnMachine(ctx, by, tag, "report back", "", func(tx stock.Tx, m *stock.Machine) error {
		if err := m.MoveTo(registry.DoReportBack, tx.Action().At); err != nil {
			return err
		}
		said.Tag, said.At, said.By = tag, tx.Action().At, by
		return tx.Put(&said)
	})
}
