package orders

import (
	"slices"
	"time"

	"pitman/registry/stock"
)

// PlugJobs is the work on the plug of a machine that goes where another is in use.
func (o *Order) PlugJobs(m *stock.Machine) []Job {
	work := o.Supply.PlugWork(m.Plate)
	if work == "" {
		return nil
	}
	return []Job{{Job: work, Skill: SkillElectrical, Parts: []string{"plug type " + o.Supply.Plug()}}}
}

// renewPlugWork takes away what is to be done no longer to the plug of one place, and writes what is. What
// was done stays as it was.
func renewPlugWork(tx stock.Tx, o *Order, s *stock.OrderSet, m *stock.Machine) error {
	works, err := WorkOf(tx, o.Number, []stock.OrderSet{*s})
	if err != nil {
		return err
	}
	jobs := o.PlugJobs(m)
	said := slices.Clone(s.Work)
	for i := range works {
		k := &works[i]
		if k.Skill != SkillElectrical || k.State != WorkOpen {
			continue
		}
		if len(jobs) > 0 && jobs[0].Job == k.Job {
			jobs = nil // it is written already
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
