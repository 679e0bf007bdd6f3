package registry

import (
	"context"
	"time"
)

// Arrival is what the training centre says of a machine after it came.
type Arrival struct {
	Row
	Tag     Tag          `json:"tag" db:"tag"`
	At      time.Time    `json:"at" db:"at"`
	By      Initials     `json:"by" db:"by"` // who wrote it down here
	Transit List[string] `json:"transit_damage" db:"transit,json"`
	Faults  List[string] `json:"faults" db:"faults,json"`
	Note    string       `json:"note" db:"note"`
}

// Kind names the table.
func (*Arrival) Kind() string { return "arrival" }

// Subject is the machine.
func (a *Arrival) Subject() string { return string(a.Tag) }

// ReportBack keeps what the training centre says.
func (w *Workshop) ReportBack(ctx context.Context, by Initials, tag Tag, said Arrival) (*Machine, error) {
	if len(said.Transit) == 0 && len(said.Faults) == 0 && blank(said.Note) {
		return nil, Errorf(Invalid, "nothing to report for %s: give --damage, --fault or --note with what the centre says, such as --note \"arrived well\"", tag)
	}
	for field, list := range map[string][]string{"damage": said.Transit, "fault": said.Faults} {
		for i, text := range list {
			var err error
			if list[i], err = cleanText(field, text, maxText); err != nil {
				return nil, err
			}
			if list[i] == "" {
				return nil, Errorf(Invalid, "%s is empty: type what the centre says, or leave --%s out", field, field)
			}
		}
	}
	var err error
	if said.Note, err = cleanText("note", said.Note, maxNote); err != nil {
		return nil, err
	}
	return w.onMachine(ctx, by, tag, "report back", "", func(tx Tx, m *Machine) error {
		if err := m.moveTo(doReportBack, tx.Action().At); err != nil {
			return err
		}
		said.Tag, said.At, said.By = tag, tx.Action().At, by
		return tx.Put(&said)
	})
}
