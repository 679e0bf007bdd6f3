// Package sent is what a form says of itself when it comes over a network that may lose an answer.
package sent

import (
	"context"
	"fmt"
	"strings"

	"pitman/registry"
)

// Form is what goes with a form: a key of its own, so that the same form sent twice acts once, and what the
// person had seen of the subject, so that nobody acts on what is no longer so. Each is checked within the
// action's transaction.
type Form struct {
	Key     string // empty when it has none
	Subject string // what the form is about; empty when Seen is not to be checked
	Seen    int64  // the last action on the subject that the person saw
}

// AsOf is a form about a subject as it stands now.
func AsOf(h interface {
	History(subject string) ([]registry.Event, error)
}, subject string) (Form, error) {
	events, err := h.History(subject)
	if len(events) == 0 {
		return Form{Subject: subject}, err
	}
	return Form{Subject: subject, Seen: events[len(events)-1].ID}, err
}

type formKey struct{}

// With tells the action that runs in this context which form it came by.
func With(ctx context.Context, f Form) context.Context {
	return context.WithValue(ctx, formKey{}, f)
}

// By is the form by which an action came; one without anything where it came by none.
func By(ctx context.Context) Form {
	f, _ := ctx.Value(formKey{}).(Form)
	return f
}

// Before says that a form was sent before: what it asks for is done already, once.
type Before struct {
	Action   int64
	Subjects []string // what the first sending changed
}

func (e *Before) Error() string { return e.Unwrap().Error() }

// Unwrap makes it a refusal for whoever knows no more of it.
func (e *Before) Unwrap() error {
	return registry.Errorf(registry.Conflict,
		"this form had been sent before: what it asks for was done then, once")
}

// Outdated says what happened to the subject of a form since the person saw it.
type Outdated struct {
	Subject string
	Since   []registry.Event // oldest first; at least one
}

func (e *Outdated) Error() string { return e.Unwrap().Error() }

// Unwrap makes it a refusal for whoever knows no more of it.
func (e *Outdated) Unwrap() error {
	last := e.Since[len(e.Since)-1]
	return registry.Errorf(registry.Conflict,
		"%s did something to %s meanwhile (%s): look at it again before you go on", last.By, e.Subject,
		last.Action)
}

// goodKey says whether a key looks like one: long enough that no two forms have the same. (Compiling such an
// expression would cost each start of the program more than any command asks of it.)
func goodKey(key string) bool {
	const signs = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz_-"
	return len(key) >= 16 && len(key) <= 80 && strings.Trim(key, signs) == ""
}

// History is what was done, as far as a form is held against it.
type History interface {
	ActionSent(key string) (*registry.Action, error)
	SubjectsOf(action int64) ([]string, error)
	History(subject string) ([]registry.Event, error)
}

// Check refuses what was sent before, and what rests on something that is no longer so.
func (f Form) Check(h History) error {
	if f.Key != "" {
		if !goodKey(f.Key) {
			return registry.Errorf(registry.Invalid,
				"the form's key is damaged: open the page anew and send it again")
		}
		before, err := h.ActionSent(f.Key)
		if err != nil {
			return err
		}
		if before != nil {
			subjects, err := h.SubjectsOf(before.ID)
			if err != nil {
				return err
			}
			return &Before{before.ID, subjects}
		}
	}
	if f.Subject == "" {
		return nil
	}
	events, err := h.History(f.Subject)
	if err != nil {
		return fmt.Errorf("what happened since: %w", err)
	}
	for i, e := range events {
		if e.ID > f.Seen {
			return &Outdated{f.Subject, events[i:]}
		}
	}
	return nil
}
