package registry

import (
	"context"
	"time"
)

// Summary is what a workshop did between two days: the report.
type Summary struct {
	From          string         `json:"from,omitempty"` // first day, as 2031-05-04; empty = from the beginning
	To            string         `json:"to,omitempty"`   // last day; empty = up to now
	Received      int            `json:"received"`
	Finished      int            `json:"finished"` // passed their tests and came to ready
	FirstPassed   int            `json:"first_time_passed"`
	FirstTested   int            `json:"first_time_tested"`
	FirstPassRate *float64       `json:"first_time_pass_rate"` // null when nothing was tested
	Shipped       int            `json:"shipped"`
	MedianDays    []StageDays    `json:"median_days"`
	Oldest        *OldestMachine `json:"oldest"` // null when no year is known
	ByDecade      []Bar          `json:"by_decade"`
	KeptKG        float64        `json:"kept_in_use_kg"` // shipped or sold
	NotWeighed    int            `json:"kept_not_weighed"`
	Arrivals      []Arrival      `json:"reported_back"`
}

// StageDays is how long machines stay at a stage, by the stays that ended.
type StageDays struct {
	Stage  Stage   `json:"stage"`
	Median float64 `json:"median_days"`
	Stays  int     `json:"stays"` // that ended; a machine can come to a stage again
}

// OldestMachine is the one whose latest possible year is the earliest.
type OldestMachine struct {
	Tag   Tag    `json:"tag"`
	Maker string `json:"maker"`
	Year  string `json:"year"`
	to    int
}

// Report sums up what happened from one day to another, both included, in the house's zone. An empty day leaves that side open.
func (w *Workshop) Report(ctx context.Context, fromDay, toDay string) (s Summary, err error) {
	from, to, err := w.days(fromDay, toDay)
	if err != nil {
		return s, err
	}
	s = Summary{From: fromDay, To: toDay, MedianDays: []StageDays{}, ByDecade: []Bar{}, Arrivals: []Arrival{}}
	err = w.Store.View(ctx, func(r Reader) error {
		used, err := s.stages(r, from, to)
		if err != nil {
			return err
		}
		if s.FirstPassed, s.FirstTested, err = r.FirstTests(from, to); err != nil {
			return err
		}
		if s.FirstTested > 0 {
			rate := float64(s.FirstPassed) / float64(s.FirstTested)
			s.FirstPassRate = &rate
		}
		if err := s.machines(r, from, to, used); err != nil {
			return err
		}
		var arrivals []Arrival
		if err := r.All(&arrivals, Fields{}); err != nil {
			return err
		}
		for _, a := range arrivals {
			if within(a.At, from, to) {
				s.Arrivals = append(s.Arrivals, a)
			}
		}
		return nil
	})
	return s, err
}

func within(at, from, to time.Time) bool { return !at.Before(from) && at.Before(to) }

// days turns two days into a stretch of time.
func (w *Workshop) days(fromDay, toDay string) (from, to time.Time, err error) {
	zone := w.Config.Location()
	end := w.Now().AddDate(1, 0, 0)
	from, to = time.Time{}, end
	if fromDay != "" {
		if from, err = time.ParseInLocation(time.DateOnly, fromDay, zone); err != nil {
			return from, to, Errorf(Invalid, "from %q is not a day: type it as 2031-05-04", fromDay)
		}
	}
	if toDay != "" {
		if to, err = time.ParseInLocation(time.DateOnly, toDay, zone); err != nil {
			return from, to, Errorf(Invalid, "to %q is not a day: type it as 2031-05-04", toDay)
		}
		to = to.AddDate(0, 0, 1)
	}
	if fromDay != "" && toDay != "" && !from.Before(to) {
		return from, to, Errorf(Invalid, "from %s is after to %s: type the earlier day first", fromDay, toDay)
	}
	if to.After(end) {
		to = end // nothing lies further ahead, and times sort as text only up to the year 9999
	}
	return from, to, nil
}

// stages counts what came to a stage within the time, and the median of the stays that ended in it. It returns the machines that went
// out to be used.
func (s *Summary) stages(r Reader, from, to time.Time) (used map[int64]bool, err error) {
	stays := map[Stage][]float64{}
	finished, shipped, used := map[int64]bool{}, map[int64]bool{}, map[int64]bool{}
	var before StageChange
	err = r.StageChanges(from, to, func(c StageChange) error {
		now := within(c.At, from, to)
		if c.Machine == before.Machine && now {
			stays[before.Stage] = append(stays[before.Stage], daysBetween(before.At, c.At))
		}
		if now {
			switch {
			case c.Stage == Ready && c.Machine == before.Machine && before.Stage == Check: // not given back, nor let go again
				finished[c.Machine] = true
			case c.Stage == Shipped:
				shipped[c.Machine], used[c.Machine] = true, true
			case c.Stage == Sold:
				used[c.Machine] = true
			}
		}
		before = c
		return nil
	})
	s.Finished, s.Shipped = len(finished), len(shipped)
	for _, stage := range Stages {
		if median, ok := median(stays[stage]); ok {
			s.MedianDays = append(s.MedianDays, StageDays{stage, median, len(stays[stage])})
		}
	}
	return used, err
}

// machines looks at the machines received within the time, and at the weight of those in use.
func (s *Summary) machines(r Reader, from, to time.Time, used map[int64]bool) error {
	var decades []int
	var kept Mass
	unknown := 0
	weigh := func(m *Machine) {
		if m.Stage == Shipped || m.Stage == Sold {
			if m.Weight == 0 {
				s.NotWeighed++
			}
			kept += m.Weight
		}
	}
	err := r.Machines(MachineFilter{Received: [2]time.Time{from, to}}, func(m *Machine) error {
		if used[m.ID] {
			weigh(m)
			delete(used, m.ID)
		}
		s.Received++
		if decade, ok := decadeOf(m.From, m.To, m.Best); ok {
			decades = append(decades, decade)
		} else {
			unknown++
		}
		if m.To != nil && (s.Oldest == nil || *m.To < s.Oldest.to) {
			s.Oldest = &OldestMachine{m.Tag, m.Maker, m.Year(), *m.To}
		}
		return nil
	})
	if err != nil {
		return err
	}
	for id := range used { // received earlier
		var m Machine
		if err := r.Get(&m, Fields{"id": id}); CodeOf(err) == NotFound {
			continue // its log was undone
		} else if err != nil {
			return err
		}
		weigh(&m)
	}
	s.KeptKG = kept.KG()
	if bars := byDecade(decades, unknown); bars != nil {
		s.ByDecade = bars
	}
	return nil
}
