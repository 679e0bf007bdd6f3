package registry

import (
	"context"
	"strings"
	"time"
)

// Undone is an action that was reversed.
type Undone struct {
	ID       int64     `json:"id"`
	At       time.Time `json:"at"`
	By       Initials  `json:"by"`
	Action   string    `json:"action"`
	Why      string    `json:"why,omitempty"`
	Subjects []string  `json:"subjects"`
}

// Undo reverses the last action of this person that still stands.
func (w *Workshop) Undo(ctx context.Context, by Initials) (*Undone, error) {
	return w.undo(ctx, by, func(r Reader) (*Action, error) {
		last, err := r.LastAction(by, "")
		if err == nil && last == nil {
			err = Errorf(NotFound, "%s has done nothing here that could be undone", by)
		}
		return last, err
	})
}

// UndoOn reverses the last action on one machine, base or order that still stands, whoever did it.
func (w *Workshop) UndoOn(ctx context.Context, by Initials, tag Tag) (*Undone, error) {
	return w.undo(ctx, by, func(r Reader) (*Action, error) {
		last, err := r.LastAction("", string(tag))
		if err == nil && last == nil {
			if _, err = ParseOrder(string(tag)); err == nil {
				_, err = OrderByNumber(r, string(tag))
			} else {
				_, err = unitByTag(r, tag)
			}
			if err == nil {
				err = Errorf(NotFound, "nothing that was done to %s is left to undo", tag)
			}
		}
		return last, err
	})
}

// undo puts the old values back as an action of its own. An action that others have built on stands: whatever a later action did to
// any of the same machines rests on what this one left.
func (w *Workshop) undo(ctx context.Context, by Initials, find func(Reader) (*Action, error)) (done *Undone, err error) {
	err = w.act(ctx, by, "undo", "", func(tx Tx) error {
		last, err := find(tx)
		if err != nil {
			return err
		}
		if house, _, elsewhere := strings.Cut(last.Origin, "/"); elsewhere {
			return Errorf(Conflict, "%s by %s was done in the house %s and cannot be undone here: correct the machine with pitman amend",
				last.Verb, last.By, house)
		}
		if last.Verb == verbBundleIn {
			return Errorf(Conflict, "%s of %s cannot be undone: hand the machines back with pitman bundle out", last.Verb, last.Why)
		}
		subjects, err := tx.SubjectsOf(last.ID)
		if err != nil {
			return err
		}
		for _, subject := range subjects {
			later, err := tx.BuiltOn(subject, last.ID)
			if err != nil {
				return err
			}
			if later != nil {
				return Errorf(Conflict, "%s of %s by %s cannot be undone: %s did %s to %s on %s, which rests on it; undo that first with pitman undo %s",
					last.Verb, subject, last.By, later.By, later.Verb, subject, later.At.In(w.Config.Location()).Format(time.DateOnly), subject)
			}
		}
		before, err := machinesOf(tx, subjects)
		if err != nil {
			return err
		}
		done = &Undone{last.ID, last.At, last.By, last.Verb, last.Why, subjects}
		a := tx.Action()
		a.Undoes, a.Why = last.ID, last.Verb
		if err := tx.Revert(last.ID); err != nil {
			return err
		}
		return w.guardSafety(tx, by, before)
	})
	return done, err
}

// machinesOf reads those of the subjects that are machines.
func machinesOf(r Reader, subjects []string) ([]*Machine, error) {
	var machines []*Machine
	for _, subject := range subjects {
		m, err := MachineByTag(r, Tag(subject))
		switch {
		case err == nil:
			machines = append(machines, m)
		case CodeOf(err) != NotFound:
			return nil, err
		}
	}
	return machines, nil
}

// guardSafety lets only competent people bring a safety pass back to life, or end a hold that a failed safety test put on a machine.
func (w *Workshop) guardSafety(r Reader, by Initials, before []*Machine) error {
	for _, was := range before {
		m, err := MachineByTag(r, was.Tag)
		if CodeOf(err) == NotFound {
			continue
		}
		if err != nil {
			return err
		}
		what := ""
		switch {
		case !m.SafetyAt.IsZero() && !m.SafetyAt.Equal(was.SafetyAt):
			what = "bring back a safety pass by undoing"
		case was.UnsafeWhy != "" && m.UnsafeWhy == "":
			what = "undo a failed safety test"
		default:
			continue
		}
		if err := w.competent(by, what); err != nil {
			return err
		}
	}
	return nil
}
