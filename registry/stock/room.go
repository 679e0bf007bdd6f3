// Package stock is what a house has: sewing-machine heads and treadle bases, from the day they come in to the
// day they leave, what is known of them, and which of their stages the records prove.
//
// Every action is one transaction on the Store: a record is read, changed by a rule and saved, and what
// changed is kept beside it in a history that only grows. The present state of every record is what its
// history replays to. The other rooms of the registry build on this one: each adds a kind of work, and asks
// the gates here before a unit moves on.
package stock

import (
	"context"
	"sync"
	"time"

	"pitman/registry"
)

// Stock does what people do to heads and bases; each method is one action, by one person, in one transaction.
type Stock struct {
	Store  Store
	Config Config
	Lists  *Lists
	Now    func() time.Time
	// Tick is told, now and then in work that goes through all machines, how many it has gone through; nil
	// when nobody listens.
	Tick func(machines int64)
	// Welcome is told when someone acts here for the first time; nil when nobody listens.
	Welcome func(registry.Initials)
	// Sign refuses, within an action, what a person has to sign and did not.
	Sign func(ctx context.Context, tx Tx, who registry.Initials, what string) error
	// Beside does, within an action, what else its context asks for; nil where nothing can.
	Beside func(ctx context.Context, tx Tx) error
	// Prove is shown what was refused, and asks for the proof with which it is done once more. It returns the
	// refusal where nobody can sign, or where it is about something else; nil asks nobody.
	Prove func(ctx context.Context, refused error) (proof any, err error)
	// Freed frees the place of a unit that was promised and can go no longer.
	Freed func(tx Tx, tag registry.Tag, why string) error
	// Instead says of a step that was refused on a promised unit what its order lets be done; nil where
	// nothing knows.
	Instead func(r Reader, tag registry.Tag, verb string, refused error) error
	// Unsigned is told who signed without a PIN, since nobody has one; nil when nobody listens.
	Unsigned func(registry.Initials)
	// Halted refuses every action while the house has lost what it decided; nil when it has not.
	Halted error

	last struct { // when anything was done here last
		sync.Mutex
		read bool
		at   time.Time
	}
}

// Lists are the house's lists that bear on stock.
type Lists struct {
	Beds      func() ([]BedPattern, error)
	Models    func() ([]ModelRow, error)
	BaseParts func() ([]BasePart, error)
	Reasons   func() ([]Reason, error)
}

// Location is the zone in which the house reads its dates.
func (w *Stock) Location() *time.Location { return w.Config.House.Location() }
