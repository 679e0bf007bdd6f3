package orders

import (
	"slices"
	"time"

	"pitman/registry"
	"pitman/registry/electrical"
	"pitman/registry/promise"
	"pitman/registry/stock"
)

// Asks is what a line of an order wants of a machine that takes the mains.
func (w *Orders) Asks(o *Order, l *OrderLine) electrical.Asked {
	return electrical.Asked{Supply: o.Supply, Tolerance: w.Config.VoltsTolerance, OtherVolts: l.OtherVolts,
		Cord: l.Cord}
}

// MainsJobs is the work on a machine that takes the mains, before it suits the line that it goes to.
func (w *Orders) MainsJobs(o *Order, l *OrderLine, m *stock.Machine) (jobs []Job) {
	if !m.TakesMains() {
		return nil
	}
	for _, c := range w.Asks(o, l).Work(m.Plate) {
		jobs = append(jobs, Job{Job: c.Job, Skill: registry.SkillElectrical, Parts: []string{c.Part}})
	}
	return jobs
}

// Retested writes what is still to be done to a reserved machine whose test told of another plug, cord or
// volts than its order asks for. Work that is open for the same part stays as it was written.
func (w *Orders) Retested(tx stock.Tx, m *stock.Machine) error {
	if m.Stage != registry.Reserved {
		return nil
	}
	s, err := promise.SetOf(tx, m.Tag)
	if registry.CodeOf(err) == registry.NotFound {
		return nil
	}
	if err != nil {
		return err
	}
	o, l, err := OpenLine(tx, s.Order, s.Line)
	if err != nil {
		return err
	}
	works, err := WorkOf(tx, s.Order, []promise.OrderSet{*s})
	if err != nil {
		return err
	}
	jobs := slices.DeleteFunc(w.MainsJobs(o, l, m), func(j Job) bool {
		return slices.ContainsFunc(works, func(k WorkOrder) bool {
			return k.State == WorkOpen && slices.Equal(k.Parts, j.Parts)
		})
	})
	if len(jobs) == 0 {
		return nil
	}
	for _, j := range jobs {
		s.Work = append(s.Work, j.String())
	}
	if err := tx.Put(s); err != nil {
		return err
	}
	return orderWork(tx, s, jobs)
}

// renewMainsWork takes away what is to be done no longer to what takes the mains on one place, and writes
// what is. What was done stays as it was.
func renewMainsWork(tx stock.Tx, jobs []Job, s *promise.OrderSet) error {
	works, err := WorkOf(tx, s.Order, []promise.OrderSet{*s})
	if err != nil {
		return err
	}
	said := slices.Clone(s.Work)
	for i := range works {
		k := &works[i]
		if k.Skill != registry.SkillElectrical || k.State != WorkOpen {
			continue
		}
		written := func(j Job) bool { return j.Job == k.Job }
		if slices.ContainsFunc(jobs, written) {
			jobs = slices.DeleteFunc(jobs, written)
			continue
		}
		said = slices.DeleteFunc(said, func(job string) bool { return job == k.Job })
		k.PromisedAt = time.Time{} // no place is promised with it any more
		if err := tx.Put(k); err != nil {
			return err
		}
	}
	for _, j := range jobs {
		said = append(said, j.String())
	}
	if !slices.Equal(said, s.Work) {
		s.Work = said
		if err := tx.Put(s); err != nil {
			return err
		}
	}
	return orderWork(tx, s, jobs)
}
