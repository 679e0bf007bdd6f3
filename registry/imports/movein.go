package imports

import (
	"fmt"
	"strings"
	"time"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/fields"
	"pitman/registry/stock"
)

// A workshop that ran before it kept this registry starts where it stands: its old list tells the stage of
// each machine, and the list is believed as far as nobody can come to harm by it.

// movingFields are the columns of a list that tell where a machine stands.
var movingFields = []string{"stage", "received", "tested", "tester"}

// oldList is what an old list tells of one machine. Days are as people write them; empty is not told.
type oldList struct {
	Stage            registry.Stage
	Received, Tested string
	Tester           registry.Initials
}

// MovedIn stands in the history of what came in so.
const MovedIn = "moved in, as told by the old list"

func (t *oldList) set(name, cell string) (err error) {
	switch name {
	case "stage":
		t.Stage, err = registry.ParseStage(strings.ToLower(cell))
	case "received":
		t.Received, err = fields.ParseDay(name, cell)
	case "tested":
		t.Tested, err = fields.ParseDay(name, cell)
	case "tester":
		t.Tester, err = registry.ParseInitials(cell)
		if err == nil && t.Tester == registry.Itself {
			err = registry.Errorf(registry.Invalid,
				"initials %s stand for what the program does by itself: type those of who tested it", cell)
		}
		err = registry.Prefixed("tester", err)
	}
	return err
}

// String is what the history says.
func (t oldList) String() string {
	said := []string{}
	if t.Stage != "" {
		said = append(said, string(t.Stage))
	}
	if t.Received != "" {
		said = append(said, "received "+t.Received)
	}
	if t.Tested != "" {
		said = append(said, "tested "+t.Tested)
	}
	if t.Tester != "" {
		said = append(said, "by "+string(t.Tester))
	}
	return MovedIn + ": " + strings.Join(said, ", ")
}

// comesIn is the rule of what of an old list is kept: at which stage the machine comes in, whether the test
// that is told counts as one, and what is not kept, with the reason. Whatever takes the mains comes in
// untested: a list is no competent person, and nobody knows what became of a machine since.
func (t oldList) comesIn(m *stock.Machine) (at registry.Stage, tested bool, remark string) {
	lacks := ""
	switch {
	case m.TakesMains():
		lacks = "an electric machine comes in untested"
	case t.Tested == "" && t.Tester == "":
		lacks = "no test with its day and its tester is told"
	case t.Tested == "":
		lacks = "the day of its test is not told"
	case t.Tester == "":
		lacks = "who tested it is not told"
	case t.Received != "" && t.Tested < t.Received:
		lacks = "its test is dated before it was received"
	}
	switch t.Stage {
	case registry.Ready, registry.Reserved, registry.Packed:
		if lacks != "" {
			return registry.Check, false, fmt.Sprintf("%s → check: %s", t.Stage, lacks)
		}
		if t.Stage != registry.Ready {
			remark = fmt.Sprintf("%s → ready: its order does not come along", t.Stage)
		}
		return registry.Ready, true, remark
	case registry.Shipped:
		tested = lacks == ""
	case "":
		at = registry.Logged
	}
	if at == "" {
		at = t.Stage
	}
	if (t.Tested != "" || t.Tester != "") && !tested {
		if lacks == "" {
			lacks = "only one that is ready, or was shipped, keeps it"
		}
		remark = fmt.Sprintf("%s: its test is not kept: %s", at, lacks)
	}
	return at, tested, remark
}

// arrivalAs is how one machine moves in.
type arrivalAs struct {
	stage  registry.Stage
	remark string
	enter  func(stock.Tx, *stock.Machine) error
}

// moveIn says how a machine moves in, or refuses a day that cannot be.
func (w *Imports) moveIn(m *stock.Machine, t oldList) (arrivalAs, error) {
	now := w.Now().UTC().Truncate(time.Millisecond)
	received, err := w.ToldDay("received", t.Received, now)
	if err != nil {
		return arrivalAs{}, err
	}
	testedAt, err := w.ToldDay("tested", t.Tested, now)
	if err != nil {
		return arrivalAs{}, err
	}
	stage, tested, remark := t.comesIn(m)
	enter := func(tx stock.Tx, m *stock.Machine) error {
		return w.Intake.EnterAs(tx, m, func() error {
			m.Stage, m.MovedIn = stage, t.String()
			if !received.IsZero() {
				m.LoggedAt = received
			}
			switch stage {
			case registry.Shipped, registry.Sold, registry.Scrapped:
				// the day on which it went is not told
			case registry.Ready:
				m.StageSince = testedAt
			default:
				m.StageSince = m.LoggedAt
			}
			if stage == registry.Held {
				m.HeldFrom, m.HeldWhy = registry.Logged, "held, as told by the old list"
			}
			if tested {
				m.TestedAt, m.TestedBy = testedAt, t.Tester
			}
			if err := tx.Put(m); err != nil || !tested {
				return err
			}
			// without a point, as no test that is made here is
			return tx.Put(&bench.FunctionTest{Tag: m.Tag, At: testedAt, By: t.Tester, Drive: m.Drive,
				Pass: true})
		})
	}
	return arrivalAs{stage, remark, enter}, nil
}

// firstDay is the earliest that a list can tell: one before it was mistyped.
const firstDay = "1900-01-01"

// ToldDay is the middle of a day that a list tells, or now if that is yet to come today; zero for none.
func (w *Imports) ToldDay(field, day string, now time.Time) (time.Time, error) {
	if day == "" {
		return time.Time{}, nil
	}
	if today := w.LocalDay(now); day > today || day < firstDay {
		return time.Time{}, registry.Errorf(registry.Invalid,
			"%s %s is not between %s and today, %s: correct the day", field, day, firstDay, today).On(field)
	}
	at, err := time.ParseInLocation(time.DateOnly, day, w.Location())
	if err != nil {
		return at, err
	}
	if at = at.Add(12 * time.Hour).UTC(); at.After(now) {
		at = now
	}
	return at, nil
}
