package intake

import (
	"time"

	"pitman/registry"
	"pitman/registry/stock"
	"pitman/serials"
)

// Enter gives a machine its tag, unless it brings one, and stores it.
func (w *Intake) Enter(tx stock.Tx, m *stock.Machine) error {
	if err := w.arrive(tx, m); err != nil {
		return err
	}
	// it has no records yet, so whatever it claims beyond its coming in is refused
	if err := m.Standing().Refused(nil); err != nil {
		return err
	}
	return tx.Put(m)
}

// EnterAs stores a machine that comes in at another stage than others: as puts it there, with records that
// prove it.
func (w *Intake) EnterAs(tx stock.Tx, m *stock.Machine, as func() error) error {
	if err := w.arrive(tx, m); err != nil {
		return err
	}
	if err := as(); err != nil {
		return err
	}
	return w.Stock.StageProven(tx, m.Tag)
}

// arrive gives a machine its tag, and says that it came in now.
func (w *Intake) arrive(tx stock.Tx, m *stock.Machine) error {
	var err error
	if m.Tag, err = w.tagFor(tx, m.Tag); err != nil {
		return err
	}
	at := tx.Action().At
	m.Stage, m.StageSince = registry.Logged, at
	m.LoggedAt, m.LoggedBy = at, tx.Action().By
	m.SaidBy(tx.Action().By, nil)
	return nil
}

// tagFor is the tag that a unit brings, which is given from now on, or else the next one.
func (w *Intake) tagFor(tx stock.Tx, brings registry.Tag) (registry.Tag, error) {
	if brings == "" {
		return w.nextTag(tx)
	}
	if letters, n, _ := brings.Parts(); letters == w.Stock.Config.House.Letters {
		return brings, tx.NumberGiven(n)
	}
	return brings, nil
}

// Correct lets fn correct what is known of a machine; the estimate follows. by is who corrects it, or empty
// where it is only looked at.
func (w *Intake) Correct(r stock.Reader, by registry.Initials, m *stock.Machine,
	fn func(*stock.Machine) error) error {
	if m.HandedTo != "" {
		return stock.WorkedOnThere(m.Tag, m.HandedTo)
	}
	before := *m
	if err := fn(m); err != nil {
		return err
	}
	if err := checkWhere(r, whereOfMachine(&before), whereOfMachine(m), &m.Place,
		stock.BaseByTag); err != nil {
		return err
	}
	if err := w.Stock.DriveGate(r, by, &before, m); err != nil {
		return err
	}
	if m.Drive != before.Drive {
		m.Retest(w.Stock.Now().UTC().Truncate(time.Millisecond))
	}
	if err := m.Validate(); err != nil {
		return err
	}
	if err := w.Fill(&before, m); err != nil {
		return err
	}
	if before.SameEvidence(m) {
		return nil
	}
	return w.Estimate(m)
}

// Keep stores a machine that was corrected: who said its year, and that it leaves its order where it turned
// out to be another machine than was promised.
func (w *Intake) Keep(tx stock.Tx, was, m *stock.Machine) error {
	m.SaidBy(tx.Action().By, was.Known)
	if err := w.Stock.LeaveOrder(tx, was, m, ""); err != nil {
		return err
	}
	return tx.Put(m)
}

// nextTag gives the next tag. A number whose tag would be another one without its last character is passed
// over.
func (w *Intake) nextTag(tx stock.Tx) (registry.Tag, error) {
	for {
		n, err := tx.NextNumber()
		if err != nil {
			return "", err
		}
		if letters := w.Stock.Config.House.Letters; !registry.CutShort(letters, n) {
			return registry.NewTag(letters, n), nil
		}
	}
}

// Date answers when a machine was made, with the reasons. A year that is yet to come is refused.
func (w *Intake) Date(m *stock.Machine) (serials.Answer, error) {
	return w.answer(w.queryOf(m))
}

// UnreadTables says for whoever shows a year which of the tables are not read whole, or that all are gone:
// the year may stand in what is missing.
func (w *Intake) UnreadTables() (said []string, err error) {
	tables, err := w.Tables()
	switch {
	case registry.CodeOf(err) != "":
		return []string{err.Error()}, nil
	case err != nil:
		return nil, err
	}
	for _, u := range tables.Unread() {
		said = append(said, u.String())
	}
	return said, nil
}

func (w *Intake) queryOf(m *stock.Machine) serials.Query {
	q := m.Query()
	q.Now = w.Stock.ThisYear()
	return q
}

func (w *Intake) answer(q serials.Query) (serials.Answer, error) {
	return w.answerBy((*serials.Tables).Date, q)
}

func (w *Intake) answerBy(date func(*serials.Tables, serials.Query) (serials.Answer, error),
	q serials.Query) (serials.Answer, error) {
	tables, err := w.Tables()
	if err != nil {
		return serials.Answer{}, err
	}
	q.Here = w.Stock.ThisYear()
	answer, err := date(tables, q)
	return answer, registry.OnField("serial", stock.Readable(err))
}

// Estimate dates the machine, and keeps what the answer rests on.
func (w *Intake) Estimate(m *stock.Machine) error {
	answer, err := w.answerBy((*serials.Tables).DateBare, w.queryOf(m))
	if err != nil {
		return err
	}
	m.Keep(answer)
	return nil
}
