package orders

import (
	"fmt"
	"strings"
	"time"

	"pitman/registry"
	"pitman/registry/promise"
	"pitman/registry/stock"
)

// Job is one piece of work that a place needs.
type Job struct {
	Job     string
	Minutes int
	Skill   string   // of whoever does it: wood, bench or electrical
	Parts   []string // what it takes
}

func (j Job) String() string {
	if j.Skill == registry.SkillElectrical { // a plug is no part of a fit, and has no minutes
		return j.Job
	}
	return fmt.Sprintf("%s, %d min", j.Job, j.Minutes)
}

// Untimed counts the jobs, written for people, of which nobody said how long they take.
func Untimed(work []string) (n int) {
	for _, job := range work {
		if !strings.HasSuffix(job, " min") {
			n++
		}
	}
	return n
}

// Work writes the jobs of a place for people.
func (p *Reservation) Work() (list []string) {
	for _, j := range p.Jobs {
		list = append(list, j.String())
	}
	return list
}

// WorkState is how far a work order has come.
type WorkState string

const (
	WorkOpen WorkState = "open"
	WorkDone WorkState = "done"
)

// WorkOrder is one job that a place was promised with. It stands as long as its place does: a place that is
// given back takes its work along, done or not.
type WorkOrder struct {
	registry.Row
	ID         string                `json:"id" db:"ident"` // ORD1-3: the third of that order
	Order      string                `json:"order" db:"number"`
	Head       registry.Tag          `json:"tag" db:"head"`
	Base       registry.Tag          `json:"base" db:"base"`
	PromisedAt time.Time             `json:"promised_at" db:"promised_at"`
	Job        string                `json:"job" db:"job"`
	Minutes    int                   `json:"minutes" db:"minutes"`
	Skill      string                `json:"skill" db:"skill"`
	Parts      registry.List[string] `json:"parts" db:"parts,json"`
	State      WorkState             `json:"state"`
	DoneAt     time.Time             `json:"done_at,omitzero" db:"done_at"`
	By         registry.Initials     `json:"by" db:"done_by"`
	Spent      int                   `json:"spent_minutes" db:"spent"` // 0 = nobody said
}

// Kind names the table.
func (*WorkOrder) Kind() string { return "work_order" }

// Subject is the order.
func (k *WorkOrder) Subject() string { return k.Order }

// orderWork makes the work orders of a place.
func orderWork(tx stock.Tx, s *promise.OrderSet, jobs []Job) error {
	var before []WorkOrder
	if err := tx.All(&before, stock.Fields{"number": s.Order}); err != nil {
		return err
	}
	// A place of the same pieces, given back within the second in which it was promised, had work of its own.
	for _, k := range before {
		if k.Head == s.Head && k.Base == s.Base && k.PromisedAt.Equal(s.At) {
			k.PromisedAt = time.Time{}
			if err := tx.Put(&k); err != nil {
				return err
			}
		}
	}
	for i, j := range jobs {
		k := &WorkOrder{ID: fmt.Sprintf("%s-%d", s.Order, len(before)+i+1), Order: s.Order, Head: s.Head,
			Base: s.Base, PromisedAt: s.At,
			Job: j.Job, Minutes: j.Minutes, Skill: j.Skill, Parts: j.Parts}
		if err := tx.Put(k); err != nil {
			return err
		}
	}
	return nil
}

// WorkOf lists the work of places that stand, in the order in which it was promised.
func WorkOf(r stock.Reader, number string, sets []promise.OrderSet) ([]WorkOrder, error) {
	var all []WorkOrder
	if err := r.All(&all, stock.Fields{"number": number}); err != nil {
		return nil, err
	}
	list := []WorkOrder{}
	for _, k := range all {
		for _, s := range sets {
			if s.Head != k.Head || s.Base != k.Base || !s.At.Equal(k.PromisedAt) {
				continue
			}
			if k.State = WorkOpen; !k.DoneAt.IsZero() {
				k.State = WorkDone
			}
			list = append(list, k)
		}
	}
	return list, nil
}

// OrderWork lists the work of one order, or of all that are open.
func (w *Orders) OrderWork(r stock.Reader, number string) ([]WorkOrder, error) {
	numbers := []string{number}
	if number == "" {
		open, err := All(r, OrderOpen)
		if err != nil {
			return nil, err
		}
		numbers = nil
		for _, o := range open {
			numbers = append(numbers, o.Number)
		}
	} else if _, err := OrderByNumber(r, number); err != nil {
		return nil, err
	}
	list := []WorkOrder{}
	for _, n := range numbers {
		sets, err := promise.OrderSets(r, n)
		if err != nil {
			return nil, err
		}
		works, err := WorkOf(r, n, sets)
		if err != nil {
			return nil, err
		}
		list = append(list, works...)
	}
	return list, nil
}

// SetWork says of a place which of its work is still open, and whether the set is still to be tried: since
// the work for it, or because the house tries every set. Work without minutes is a plug, which has its own
// gate.
func (w *Orders) SetWork(r stock.Reader, s *promise.OrderSet) (open []WorkOrder, untried bool, err error) {
	works, err := WorkOf(r, s.Order, []promise.OrderSet{*s})
	untried = w.Config.TryEverySet && s.Base != ""
	for _, k := range works {
		if k.State == WorkOpen {
			open = append(open, k)
		}
		untried = untried || k.Minutes > 0
	}
	return open, untried && s.TriedAt.IsZero(), err
}

// WorkGate refuses to pack a place whose work is not done, or that was worked on and not tried as a set
// since.
func (w *Orders) WorkGate(r stock.Reader, s *promise.OrderSet) error {
	open, untried, err := w.SetWork(r, s)
	if err != nil {
		return err
	}
	for _, k := range open {
		if k.Minutes > 0 {
			return registry.Errorf(registry.Conflict,
				"%s is promised with work that is not done: %s, %d min; nothing was packed", k.Head, k.Job,
				k.Minutes).
				Then(registry.Next(registry.DoWorkDone, "").With("id", k.ID))
		}
	}
	if untried {
		why := "since the work for its place"
		if len(s.Work) == 0 {
			why = "and this house tries every set"
		}
		return registry.Errorf(registry.Conflict,
			"%s was not tried %s %s: record a function test of it so; nothing was packed", s.Head,
			s.TriedOn(), why).
			Then(registry.Next(registry.DoTestPass, s.Head))
	}
	return nil
}
