package registry

import (
	"context"
	"time"

	"pitman/serials"
)

// Workshop does what people do in a house: each method is one action, by one person, in one transaction.
type Workshop struct {
	Store  Store
	Config Config
	Tables func() (*serials.Tables, error) // read when something is to be dated, not before
	Lists  Lists
	Now    func() time.Time
	// Tick is told, now and then in work that goes through all machines, how many it has gone through; nil when nobody listens.
	Tick func(machines int64)
	// Welcome is told when someone acts here for the first time; nil when nobody listens.
	Welcome func(Initials)
}

// Lists reads the house's editable lists, each when it is wanted.
type Lists struct {
	Beds      func() ([]BedPattern, error)
	Models    func() ([]ModelRow, error)
	BaseParts func() ([]BasePart, error)
	Kits      func() ([]KitRow, error)
	Jobs      func() ([]BenchJob, error)
	Points    func() ([]TestPoint, error)
	Parts     func() ([]PartKind, error)
	Reasons   func() ([]Reason, error)
	Prices    func() ([]PurchasePrice, error)
	Boards    func() ([]BoardRow, error)
	Countries func() ([]MakerCountry, error)
	Columns   func() ([]ColumnName, error)
}

// rows reads a list; a workshop that was given none has an empty one.
func rows[T any](read func() ([]T, error)) ([]T, error) {
	if read == nil {
		return nil, nil
	}
	return read()
}

// act runs fn as one action.
func (w *Workshop) act(ctx context.Context, by Initials, verb, why string, fn func(Tx) error) error {
	why, err := cleanText("why", why, maxNote)
	if err != nil {
		return err
	}
	a := &Action{At: w.Now().UTC().Truncate(time.Millisecond), By: by, Verb: verb, Why: why}
	if err := w.Store.Update(ctx, a, fn); err != nil {
		return err
	}
	if a.NewPerson && w.Welcome != nil {
		w.Welcome(by)
	}
	return nil
}

// MachineByTag reads one machine.
func MachineByTag(r Reader, tag Tag) (*Machine, error) {
	var m Machine
	if err := r.Get(&m, Fields{"tag": tag}); err != nil {
		if CodeOf(err) == NotFound {
			var b Base
			if r.Get(&b, Fields{"tag": tag}) == nil {
				return nil, Errorf(NotFound, "tag %s is a treadle base, not a machine: pitman base lists what can be done with it", tag)
			}
			return nil, Errorf(NotFound, "tag %s is not in this house: find the machine with pitman list --text, by its maker or serial", tag)
		}
		return nil, err
	}
	return &m, nil
}

// Machine reads one machine.
func (w *Workshop) Machine(ctx context.Context, tag Tag) (m *Machine, err error) {
	err = w.Store.View(ctx, func(r Reader) error {
		m, err = MachineByTag(r, tag)
		return err
	})
	return m, err
}

// LocalDay is the day of a time in the house's zone; empty when there is none.
func (w *Workshop) LocalDay(at time.Time) string {
	if at.IsZero() {
		return ""
	}
	return at.In(w.Config.Location()).Format(time.DateOnly)
}
