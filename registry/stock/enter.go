package stock

import (
	"pitman/serials/stamp"
	"time"

	"pitman/registry"
)

// Enter gives a machine its tag, unless it brings one, and stores it.
func (w *Stock) Enter(tx Tx, m *Machine) error {
	if m.Tag == "" {
		var err error
		if m.Tag, err = w.nextTag(tx); err != nil {
			return err
		}
	} else if letters, n, _ := m.Tag.Parts(); letters == w.Config.House.Letters {
		if err := tx.NumberGiven(n); err != nil {
			return err
		}
	}
	at := tx.Action().At
	m.Stage, m.StageSince = registry.Logged, at
	m.LoggedAt, m.LoggedBy = at, tx.Action().By
	m.SaidBy(tx.Action().By, nil)
	// it has no records yet, so whatever it claims beyond its coming in is refused
	if err := m.Standing().refused(nil); err != nil {
		return err
	}
	return tx.Put(m)
}

// nextTag gives the next tag. A number whose tag would be another one without its last character is passed
// over.
func (w *Stock) nextTag(tx Tx) (registry.Tag, error) {
	for {
		n, err := tx.NextNumber()
		if err != nil {
			return "", err
		}
		if letters := w.Config.House.Letters; !registry.CutShort(letters, n) {
			return registry.NewTag(letters, n), nil
		}
	}
}

// MaxNumber is the highest number that a tag of this house may bring in from outside, so that a slip cannot
// use up all numbers.
const MaxNumber = 99_999_999

// Beyond says that a tag of this house has a number that it cannot have given.
func (w *Stock) Beyond(tag registry.Tag) bool {
	letters, n, _ := tag.Parts()
	return letters == w.Config.House.Letters && n > MaxNumber
}

// MayTake says whether a tag from outside is free in this house. One that was ever given here is not,
// whatever became of its bearer.
func (w *Stock) MayTake(r Reader, tag registry.Tag) error {
	if w.Beyond(tag) {
		return registry.Errorf(registry.Invalid,
			"tag %s has a number above %d: type a tag that this house gave", tag, MaxNumber)
	}
	events, err := r.History(string(tag))
	if err == nil && len(events) > 0 {
		return registry.Errorf(registry.Conflict,
			"tag %s was given in this house before, and is no machine in it now: empty the cell, and the "+
				"machine gets a new tag", tag)
	}
	return err
}

// Correct lets fn correct what is known of a machine; the estimate follows. by is who corrects it, or empty
// where it is only looked at.
func (w *Stock) Correct(r Reader, by registry.Initials, m *Machine, fn func(*Machine) error) error {
	if m.HandedTo != "" {
		return workedOnThere(m.Tag, m.HandedTo)
	}
	before := *m
	if err := fn(m); err != nil {
		return err
	}
	if err := w.driveGate(r, by, &before, m); err != nil {
		return err
	}
	if m.Drive != before.Drive {
		m.redriven(w.Now().UTC().Truncate(time.Millisecond))
	}
	if err := m.Validate(); err != nil {
		return err
	}
	if err := w.Fill(&before, m); err != nil {
		return err
	}
	if before.sameEvidence(m) {
		return nil
	}
	return w.Estimate(m)
}

// Key fills in what maker and serial are looked up by.
func (m *Machine) Key() {
	m.MakerKey, m.SerialKey = MakerKey(m.Maker), ""
	if m.Serial != NoSerial {
		m.SerialKey = stamp.Normalise(m.Serial)
	}
}
