package pin

import (
	"context"
	"strings"

	"pitman/registry"
	"pitman/registry/stock"
)

// MaySet says whose PIN must be given before by sets that of who: their own present one, or a coordinator's
// for somebody else's; "" when none has to be, which is so for a person's first.
func (w *Pins) MaySet(ctx context.Context, by, who registry.Initials) (gives registry.Initials, err error) {
	err = w.Store.View(ctx, func(r stock.Reader) error {
		k, err := w.maySet(r, by, who)
		if k.Hash != "" {
			gives = by
		}
		return err
	})
	return gives, err
}

// maySet reads the PIN that has to be given; none for a person's first.
func (w *Pins) maySet(r stock.Reader, by, who registry.Initials) (kept, error) {
	own, _, err := of(r, by)
	if err != nil || by == who {
		return own, err
	}
	if named := w.Config.House.Coordinators; !w.Config.House.Coordinator(by) {
		listed := "nobody is named yet"
		if len(named) > 0 {
			listed = "named: " + strings.Join(named, ", ")
		}
		return own, registry.Errorf(registry.Conflict,
			"the PIN of %s is set by %s, or by a coordinator of the house (%s): the house names them in "+
				"house.toml under [house] coordinators", who, who, listed).On("by")
	}
	if own.Hash == "" {
		return own, nobodys(by, "a PIN that is set for others")
	}
	return own, nil
}

// Set gives who a new PIN. The proof of the one that MaySet names goes with the action.
func (w *Pins) Set(ctx context.Context, by, who registry.Initials, typed string) (*Record, error) {
	read, err := Read(typed)
	if err != nil {
		return nil, err
	}
	if _, err := w.MaySet(ctx, by, who); err != nil { // before the hash is worked out
		return nil, err
	}
	worked := w.Cost.Hash(read).String()
	verb := registry.VerbPIN
	if by != who {
		verb = registry.VerbPINReset
	}
	var rec *Record
	err = w.Act(ctx, by, verb, "", func(tx stock.Tx) error {
		// Somebody may have set a first one meanwhile.
		own, err := w.maySet(tx, by, who)
		if err != nil {
			return err
		}
		if own.Hash != "" && !own.provenBy(tx, by, w.Now()) {
			return &Wanted{by, "a new PIN"}
		}
		if rec, err = record(tx, who); err != nil {
			return err
		}
		rec.SetAt, rec.SetBy = tx.Action().At, by
		if err := keep(tx, who, kept{Hash: worked}); err != nil {
			return err
		}
		return tx.Put(rec)
	})
	return rec, err
}

// Signs says whether somebody has what to sign in this house, and so wants a PIN: on its list of competent
// people, or one of its coordinators.
func (w *Pins) Signs(who registry.Initials) bool {
	return !w.Config.Safety.WithoutPIN &&
		(who.In(w.Config.Safety.Competent) || w.Config.House.Coordinator(who))
}
