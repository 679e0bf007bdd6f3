package recall

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/fields"
	"pitman/registry/orders"
	"pitman/registry/promise"
	"pitman/registry/stock"
)

// verbRecall is what stands in the history of a machine whose pass was withdrawn.
const verbRecall = "recall"

// Which says which passes are withdrawn; what is empty lets all through, and one at least is given.
type Which struct {
	Instrument string            `json:"instrument,omitempty" db:"instrument"`
	Tester     registry.Initials `json:"tester,omitempty" db:"tester"`
	// the first day, as 2031-03-31, in the house's zone
	From string `json:"from,omitempty" db:"from_day"`
	To   string `json:"to,omitempty" db:"to_day"` // the last day
}

// Here is a machine in the house whose standing pass is withdrawn.
type Here struct {
	Tag    registry.Tag      `json:"tag"`
	Stage  registry.Stage    `json:"stage"`
	Place  string            `json:"place,omitempty"`
	Tested time.Time         `json:"tested"`
	By     registry.Initials `json:"by"`
	With   string            `json:"instrument,omitempty"`
}

// Left is a machine that left with a withdrawn pass, and where to.
type Left struct {
	Here
	Order   string `json:"order,omitempty"`
	Partner string `json:"partner,omitempty"`
	House   string `json:"house,omitempty"` // that works on it now
}

// Found is what a recall reaches: Passes counts those that are withdrawn, standing or not.
type Found struct {
	Which
	Passes int    `json:"passes"`
	Here   []Here `json:"here"`
	Left   []Left `json:"left"`
}

// check refuses a recall of everything, and days that are none.
func (which *Which) check() (err error) {
	which.Instrument = strings.TrimSpace(which.Instrument)
	if *which == (Which{}) {
		return registry.Errorf(registry.Invalid,
			"nothing says which passes are withdrawn: name an instrument, a tester, or the days from and to").
			On("instrument")
	}
	for _, day := range []struct {
		name string
		at   *string
	}{{"from", &which.From}, {"to", &which.To}} {
		if *day.at == "" {
			continue
		}
		if *day.at, err = fields.ParseDay(day.name, *day.at); err != nil {
			return err
		}
	}
	if which.From != "" && which.To != "" && which.From > which.To {
		return registry.Errorf(registry.Invalid,
			"from %s lies behind to %s: give the first day, then the last",
			which.From, which.To).On("from")
	}
	return nil
}

// has says whether it reaches a test. Days compare as text.
func (which *Which) has(t *bench.SafetyTest, day string) bool {
	return t.Pass && t.Withdrawn == "" &&
		(which.Instrument == "" || strings.EqualFold(which.Instrument, t.Instrument)) &&
		(which.Tester == "" || which.Tester == t.By) &&
		(which.From == "" || day >= which.From) && (which.To == "" || day <= which.To)
}

// String says it in words.
func (which *Which) String() string {
	var words []string
	for _, w := range []struct{ word, value string }{{"with instrument ", which.Instrument},
		{"by ", string(which.Tester)}, {"from ", which.From}, {"to ", which.To}} {
		if w.value != "" {
			words = append(words, w.word+w.value)
		}
	}
	return strings.Join(words, ", ")
}

// Recalled looks for what a recall would reach, and changes nothing.
func (w *Recall) Recalled(ctx context.Context, which Which) (found *Found, err error) {
	if err := which.check(); err != nil {
		return nil, err
	}
	err = w.Store.View(ctx, func(r stock.Reader) error {
		found, _, err = w.find(r, which)
		return err
	})
	return found, err
}

// find lists the machines that a recall reaches, and the tests that it withdraws.
func (w *Recall) find(r stock.Reader, which Which) (found *Found, tests []bench.SafetyTest, err error) {
	found = &Found{Which: which, Here: []Here{}, Left: []Left{}}
	if err := r.All(&tests, stock.Fields{"pass": true}); err != nil {
		return nil, nil, err
	}
	tests = slices.DeleteFunc(tests,
		func(t bench.SafetyTest) bool { return !which.has(&t, w.LocalDay(t.At)) })
	found.Passes = len(tests)
	seen := map[registry.Tag]bool{}
	for i := range slices.Backward(tests) {
		t := &tests[i]
		if seen[t.Tag] {
			continue
		}
		m, err := stock.MachineByTag(r, t.Tag)
		if registry.CodeOf(err) == registry.NotFound {
			continue // its logging was undone
		}
		if err != nil {
			return nil, nil, err
		}
		rests := t.At.Equal(m.SafetyAt) && t.By == m.SafetyBy || t.Revives.Equal(m.SafetyAt)
		if m.SafetyAt.IsZero() || !rests {
			continue
		}
		seen[t.Tag] = true
		one := Here{m.Tag, m.Stage, m.Place, t.At, t.By, t.Instrument}
		if m.Here() {
			found.Here = append(found.Here, one)
			continue
		}
		left, err := whereTo(r, m, one)
		if err != nil {
			return nil, nil, err
		}
		found.Left = append(found.Left, left)
	}
	slices.Reverse(found.Here)
	slices.Reverse(found.Left)
	return found, tests, nil
}

// whereTo says where a machine went: with which order, to whom, or to which house.
func whereTo(r stock.Reader, m *stock.Machine, one Here) (Left, error) {
	left := Left{Here: one, House: m.HandedTo}
	s, err := promise.SetOf(r, m.Tag)
	if registry.CodeOf(err) == registry.NotFound {
		return left, nil
	}
	if err != nil {
		return left, err
	}
	o, err := orders.OrderByNumber(r, s.Order)
	if err != nil {
		return left, err
	}
	left.Order, left.Partner = o.Number, o.Partner
	return left, nil
}

// Withdraw withdraws passes: what is in the house is held without one, and what left is listed. It returns
// what it reached. Nothing brings a withdrawn pass back: who takes the recall back has the machines tested
// again.
func (w *Recall) Withdraw(ctx context.Context, by registry.Initials, which Which, why string) (found *Found,
	err error) {
	if err := which.check(); err != nil {
		return nil, err
	}
	if why, err = registry.CleanText("why", why, registry.MaxText); err != nil {
		return nil, err
	}
	if why == "" {
		return nil, registry.Errorf(registry.Invalid,
			"why is missing: say what is wrong with these passes, such as \"MT1 read low\"").On("why")
	}
	said := fmt.Sprintf("passes %s: %s", which.String(), why)
	err = w.Act(ctx, by, verbRecall, said, func(tx stock.Tx) error {
		var tests []bench.SafetyTest
		if found, tests, err = w.find(tx, which); err != nil {
			return err
		}
		if found.Passes == 0 {
			return registry.Errorf(registry.NotFound, "no pass %s is recorded, or all are withdrawn already",
				which.String())
		}
		if err := tx.Put(&Withdrawal{Which: which, Why: why, At: tx.Action().At}); err != nil {
			return err
		}
		for i := range tests {
			m, err := stock.MachineByTag(tx, tests[i].Tag)
			if err != nil || m.HandedTo != "" { // its records are kept where it is
				if registry.CodeOf(err) == registry.NotFound || err == nil {
					continue
				}
				return err
			}
			tests[i].Withdrawn = why
			if err := tx.Put(&tests[i]); err != nil {
				return err
			}
		}
		for _, one := range found.Here {
			if err := w.withdraw(tx, one.Tag, why); err != nil {
				return err
			}
		}
		return nil
	})
	return found, err
}

// withdraw holds one machine without its pass.
func (w *Recall) withdraw(tx stock.Tx, tag registry.Tag, why string) error {
	m, err := stock.MachineByTag(tx, tag)
	if err != nil {
		return err
	}
	why = "safety pass withdrawn: " + why
	if err := w.lapse(tx, m, why); err != nil {
		return err
	}
	switch {
	case m.Stage == registry.Held:
		m.HeldWhy = strings.TrimPrefix(m.HeldWhy+"; "+why, "; ")
	case m.Stage != registry.Parts: // what is stripped for parts goes nowhere
		if err := m.MoveTo(registry.DoHold, tx.Action().At); err != nil {
			return err
		}
		m.HeldWhy = why
	}
	return tx.Put(m)
}
