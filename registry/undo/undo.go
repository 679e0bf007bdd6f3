package undo

import (
	"context"
	"strings"
	"time"

	"pitman/registry"
	"pitman/registry/kinds"
	"pitman/registry/pictures"
	"pitman/registry/stock"
)

// Undone is an action that was reversed.
type Undone struct {
	ID       int64             `json:"id"`
	At       time.Time         `json:"at"`
	By       registry.Initials `json:"by"`
	Action   string            `json:"action"`
	Why      string            `json:"why,omitempty"`
	Subjects []string          `json:"subjects"`
}

// Undo reverses the last action of this person that still stands.
func (w *Reversal) Undo(ctx context.Context, by registry.Initials) (*Undone, error) {
	return w.undo(ctx, by, func(r stock.Reader) (*registry.Action, error) {
		last, err := r.LastAction(by, "")
		if err == nil && last == nil {
			err = registry.Errorf(registry.NotFound, "%s has done nothing here that could be undone", by)
		}
		return last, err
	})
}

// UndoOn reverses the last action on one machine, base or order that still stands, whoever did it.
func (w *Reversal) UndoOn(ctx context.Context, by registry.Initials, tag registry.Tag) (*Undone, error) {
	return w.undo(ctx, by, func(r stock.Reader) (*registry.Action, error) {
		last, err := r.LastAction("", string(tag))
		if err == nil && last == nil {
			var numbered bool
			if numbered, err = kinds.Numbered(r, tag); !numbered {
				_, err = stock.UnitByTag(r, tag)
			}
			if err == nil {
				err = registry.Errorf(registry.NotFound, "nothing that was done to %s is left to undo", tag)
			}
		}
		return last, err
	})
}

// undo puts the old values back as an action of its own. An action that others have built on stands: whatever
// a later action did to any of the same machines rests on what this one left.
func (w *Reversal) undo(ctx context.Context, by registry.Initials,
	find func(stock.Reader) (*registry.Action, error)) (done *Undone, err error) {
	err = w.Act(ctx, by, registry.VerbUndo, "", func(tx stock.Tx) error {
		last, err := find(tx)
		if err != nil {
			return err
		}
		coming, err := tx.ComingIn()
		if err != nil {
			return err
		}
		if coming != nil && coming.ID == last.ID {
			return registry.Errorf(registry.Conflict,
				"%s of %s is still coming in: stop it where it runs, with Ctrl-C, which takes it back",
				last.Verb, last.Why)
		}
		if house, _, elsewhere := strings.Cut(last.Origin, "/"); elsewhere {
			return registry.Errorf(registry.Conflict,
				"%s by %s was done in the house %s and cannot be undone here: correct the machine",
				last.Verb, last.By, house).Then(registry.Next(registry.DoAmend, ""))
		}
		if last.Verb == stock.VerbBundleIn {
			return registry.Errorf(registry.Conflict, "%s of %s cannot be undone: hand the machines back",
				last.Verb, last.Why).Then(registry.Next(registry.DoHandOver, ""))
		}
		subjects, err := tx.SubjectsOf(last.ID)
		if err != nil {
			return err
		}
		if last.By == registry.Itself && len(subjects) > 0 {
			return registry.Errorf(registry.Conflict,
				"%s cannot be undone, since nobody did it: it follows from the rules; test the machine again",
				last.Verb).Then(registry.Next(registry.DoSafetyResult, registry.Tag(subjects[0])))
		}
		for _, subject := range subjects {
			later, err := tx.BuiltOn(subject, last.ID)
			if err != nil {
				return err
			}
			if later != nil {
				return registry.Errorf(registry.Conflict,
					"%s of %s by %s cannot be undone: %s did %s to %s on %s, which rests on it; undo that "+
						"first",
					last.Verb, subject, last.By, later.By, later.Verb, subject,
					later.At.In(w.Location()).Format(time.DateOnly)).
					Then(registry.Next(registry.DoUndo, registry.Tag(subject)))
			}
		}
		if err := pictures.GuardErased(tx, last.ID, subjects); err != nil {
			return err
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
		return w.guardSafety(tx, by, last, before)
	})
	return done, err
}

// machinesOf reads those of the subjects that are machines.
func machinesOf(r stock.Reader, subjects []string) ([]*stock.Machine, error) {
	var machines []*stock.Machine
	for _, subject := range subjects {
		m, err := stock.MachineByTag(r, registry.Tag(subject))
		switch {
		case err == nil:
			machines = append(machines, m)
		case registry.CodeOf(err) != registry.NotFound:
			return nil, err
		}
	}
	return machines, nil
}
