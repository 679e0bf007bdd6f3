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
	Now    func() time.Time
	// Welcome is told when someone acts here for the first time; nil when nobody listens.
	Welcome func(Initials)
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
