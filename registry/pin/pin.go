// Package pin is how a person signs for what others trust their lives to: a safety pass, the word that
// nothing on a machine takes the mains any more, and an electric machine that is sold untested. What stops a
// machine, a fail, a hold or a recall, asks for no signature: nobody should hesitate over it.
//
// A PIN's hash is a secret of the house: it is in backups, and in no history, bundle or export. That a PIN
// was set, changed or given wrongly is a record like any other. The PIN is tried before the action that it
// signs, and the proof of it goes with the action; within the action's transaction it is asked only whether
// that proof is still good. So nobody waits for a person's fingers or for the hash with the registry locked.
package pin

import (
	"context"
	"encoding/json"
	"errors"
	"time"

	"pitman/registry"
	"pitman/registry/pin/hash"
	"pitman/registry/stock"
)

// Life is for how long one PIN signs where the same person goes on.
const Life = 15 * time.Minute

// Pins is the room where people sign.
type Pins struct {
	*stock.Stock
	Cost hash.Cost // of each new PIN
}

// Record is what the history knows of a person's PIN.
type Record struct {
	registry.Row
	Who   registry.Initials `json:"initials" db:"who"`
	SetAt time.Time         `json:"set_at,omitzero" db:"set_at"`
	SetBy registry.Initials `json:"set_by,omitempty" db:"set_by"`
	Wrong int               `json:"wrong" db:"wrong"` // how many wrong ones were given, ever
}

// Kind names the table.
func (*Record) Kind() string { return "pin" }

// Subject is the person's signature, and no machine: what others do to a machine does not rest on it.
func (r *Record) Subject() string { return SubjectOf(r.Who) }

// SubjectOf is the subject under which a person's PIN stands in history.
func SubjectOf(who registry.Initials) string { return "PIN of " + string(who) }

// Proof says that somebody gave their PIN a moment ago. Only Give makes one.
type Proof struct {
	who  registry.Initials
	hash string
	at   time.Time
}

// Good says whether the proof still signs for this person at this time.
func (p *Proof) Good(who registry.Initials, now time.Time) bool {
	return p != nil && p.who == who && !now.Before(p.at) && now.Sub(p.at) < Life
}

type alwaysKey struct{}

// Always asks for a PIN whatever the house says, as over a network, where initials are no more than typed.
func Always(ctx context.Context) context.Context { return context.WithValue(ctx, alwaysKey{}, true) }

// Wanted is the refusal of what is to be signed and was not: its front end asks for the PIN.
type Wanted struct {
	Who  registry.Initials
	What string
}

func (e *Wanted) Error() string { return e.Unwrap().Error() }

// Unwrap makes it a refusal for whoever knows no more of it.
func (e *Wanted) Unwrap() error {
	return registry.Errorf(registry.Conflict, "%s is signed by %s with a PIN, which was not given", e.What,
		e.Who).On("pin")
}

// Unset says whose PIN is refused for want of it; "" where it is about something else.
func Unset(refused error) registry.Initials {
	var e *registry.Error
	if errors.As(refused, &e) {
		for _, next := range e.Next {
			if next.Action == registry.DoSetPIN {
				return registry.Initials(next.Given["initials"])
			}
		}
	}
	return ""
}

// Check is the gate: it refuses what is to be signed and is not. Every action that is signed asks it within
// its transaction.
func (w *Pins) Check(ctx context.Context, tx stock.Tx, who registry.Initials, what string) error {
	always, _ := ctx.Value(alwaysKey{}).(bool)
	if w.Config.Safety.WithoutPIN && !always {
		return nil
	}
	k, anybody, err := of(tx, who)
	switch {
	case err != nil:
		return err
	case k.Hash != "" && k.provenBy(tx, who, w.Now()):
		return nil
	case k.Hash != "":
		return &Wanted{who, what}
	case anybody || always:
		return nobodys(who, what)
	}
	tx.Action().Unsigned = who
	return nil
}

func nobodys(who registry.Initials, what string) error {
	return registry.Errorf(registry.Conflict,
		"%s has no PIN, and %s is signed with one here: %s sets it first", who, what, who).
		On("pin").Then(registry.Next(registry.DoSetPIN, "").With("initials", string(who)))
}

// kept is a person's secret as it is stored.
type kept struct {
	Hash string    `json:"hash"`
	Row  int       `json:"row"`  // wrong ones one after the other, with the one that is being tried
	Next time.Time `json:"next"` // nobody tries before
}

// provenBy says whether the action of this transaction brings the proof of this PIN.
func (k *kept) provenBy(tx stock.Tx, who registry.Initials, now time.Time) bool {
	proof, _ := tx.Action().Proof.(*Proof)
	return proof.Good(who, now) && proof.hash == k.Hash
}

// secrets begins the names under which PINs are kept.
const secrets = "pin of "

// damaged is no PIN that anybody could give, and yet not none.
var damaged = kept{Hash: "damaged"}

// of reads a person's secret, and says whether anybody has one. What the history knows of and the house keeps
// no more was taken out by hand, which lets nobody sign without.
func of(r stock.Reader, who registry.Initials) (k kept, anybody bool, err error) {
	all, err := r.Secrets(secrets)
	if err != nil {
		return k, false, err
	}
	var known []Record
	if err := r.All(&known, nil); err != nil {
		return k, false, err
	}
	text, there := all[secrets+string(who)]
	if there && (json.Unmarshal([]byte(text), &k) != nil || k.Hash == "") {
		k = damaged
	}
	for _, rec := range known {
		anybody = anybody || rec.isSet()
		if !there && rec.Who == who && rec.isSet() {
			k = damaged
		}
	}
	return k, anybody || len(all) > 0, nil
}

func (r *Record) isSet() bool { return !r.SetAt.IsZero() }

func keep(tx stock.Tx, who registry.Initials, k kept) error {
	text, err := json.Marshal(k)
	if err != nil {
		return err
	}
	return tx.KeepSecret(secrets+string(who), string(text))
}

// Has says whether a person has a PIN.
func (w *Pins) Has(ctx context.Context, who registry.Initials) (has bool, err error) {
	err = w.Store.View(ctx, func(r stock.Reader) error {
		k, _, err := of(r, who)
		has = k.Hash != ""
		return err
	})
	return has, err
}
