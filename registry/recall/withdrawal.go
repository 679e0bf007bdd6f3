package recall

import (
	"context"
	"time"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/stock"
)

// Withdrawal is a recall that was done. It reaches what was away then, too: nothing is written in the history
// of a machine that another house goes on with, so its pass is looked at again when it comes back.
type Withdrawal struct {
	registry.Row
	Which
	Why string    `json:"why" db:"why,personal"`
	At  time.Time `json:"at" db:"at"`
}

// Kind names the table.
func (*Withdrawal) Kind() string { return "withdrawal" }

// Subject is what it reaches: no machine, since it stays in this house.
func (k *Withdrawal) Subject() string { return "passes " + k.Which.String() }

// reached says why a recall that was done reaches the pass of a machine, by its test or by the look alone
// that gave it back; "" when none does.
func reached(r stock.Reader, m *stock.Machine, test *bench.SafetyTest,
	day func(time.Time) string) (why string, err error) {
	var done []Withdrawal
	if err := r.All(&done, stock.Fields{}); err != nil {
		return "", err
	}
	look, err := bench.LookedAlone(r, m)
	if err != nil {
		return "", err
	}
	for _, k := range done {
		for _, t := range []*bench.SafetyTest{test, look} {
			if t != nil && k.has(t, day(t.At)) && !t.At.After(k.At) {
				return k.Why, nil
			}
		}
	}
	return "", nil
}

// Arrived ends the pass of a machine that comes back from another house, where a recall reached it while it
// was away. The machine is the caller's to put.
func Arrived(tx stock.Tx, m *stock.Machine, day func(time.Time) string) error {
	test, err := passHere(tx, m)
	if err != nil || test == nil {
		return err
	}
	why, err := reached(tx, m, test, day)
	if err != nil || why == "" {
		return err
	}
	m.CancelSafety()
	test.Withdrawn = why
	return tx.Put(test)
}

// passHere is the test by which a machine has a pass that was recorded in this house; nil when there is none.
func passHere(r stock.Reader, m *stock.Machine) (*bench.SafetyTest, error) {
	if m.SafetyAt.IsZero() || m.SafetyKey != "" {
		return nil, nil
	}
	return bench.PassOf(r, m)
}

// WithdrawnPass says why the pass was withdrawn with which a machine left; "" where it was not.
func (w *Recall) WithdrawnPass(ctx context.Context, m *stock.Machine) (why string, err error) {
	err = w.Store.View(ctx, func(r stock.Reader) error {
		why, err = Withdrawn(r, m, w.LocalDay)
		return err
	})
	return why, err
}

// Withdrawn is WithdrawnPass within a reading.
func Withdrawn(r stock.Reader, m *stock.Machine, day func(time.Time) string) (string, error) {
	if m.SafetyAt.IsZero() {
		return "", nil
	}
	var tests []bench.SafetyTest
	if err := r.All(&tests, stock.Fields{"tag": m.Tag}); err != nil {
		return "", err
	}
	for i := range tests {
		if t := &tests[i]; t.Withdrawn != "" && t.At.Equal(m.SafetyAt) && t.By == m.SafetyBy {
			return t.Withdrawn, nil
		}
	}
	test, err := passHere(r, m)
	if err != nil || test == nil {
		return "", err
	}
	return reached(r, m, test, day)
}
