package reports

import (
	"context"
	"math"
	"time"

	"pitman/registry"
	"pitman/registry/fields"
	"pitman/registry/measure"
	"pitman/registry/orders"
	"pitman/registry/packing"
	"pitman/registry/statistics"
	"pitman/registry/stock"
	"pitman/registry/takings"
)

// Summary is what a workshop did between two days: the report.
type Summary struct {
	// first day, as 2031-05-04; empty = from the beginning
	From          string           `json:"from,omitempty"`
	To            string           `json:"to,omitempty"` // last day; empty = up to now
	Received      int              `json:"received"`
	Finished      int              `json:"finished"` // passed their tests and came to ready
	FirstPassed   int              `json:"first_time_passed"`
	FirstTested   int              `json:"first_time_tested"`
	FirstPassRate *float64         `json:"first_time_pass_rate"` // null when nothing was tested
	Shipped       int              `json:"shipped"`
	MedianDays    []StageDays      `json:"median_days"`
	Oldest        *OldestMachine   `json:"oldest"` // null when no year is known
	ByDecade      []statistics.Bar `json:"by_decade"`
	Sets          int              `json:"shipped_sets"` // of the shipped, those that went with a base
	// heads shipped or sold, with the bases that went with them
	KeptKG     float64 `json:"kept_in_use_kg"`
	NotWeighed int     `json:"kept_not_weighed"` // heads and bases
	// of the crates that left, as on their papers; those with a piece that is not weighed are left out
	GrossKG    float64           `json:"shipped_gross_kg"`
	GrossLacks int               `json:"shipped_crates_not_weighed"`
	Arrivals   []packing.Arrival `json:"reported_back"`
	Brought    []takings.Sum     `json:"brought"` // by way out and currency
	Scrap      []takings.Metal   `json:"scrap"`   // by metal
}

// StageDays is how long machines stay at a stage, by the stays that ended.
type StageDays struct {
	Stage  registry.Stage `json:"stage"`
	Median float64        `json:"median_days"`
	Stays  int            `json:"stays"` // that ended; a machine can come to a stage again
}

// OldestMachine is the one whose latest possible year is the earliest.
type OldestMachine struct {
	Tag   registry.Tag `json:"tag"`
	Maker string       `json:"maker"`
	Year  string       `json:"year"`
	to    int
}

// Report sums up what happened from one day to another, both included, in the house's zone. An empty day
// leaves that side open.
func (w *Reports) Report(ctx context.Context, fromDay, toDay string) (s Summary, err error) {
	from, to, err := w.days(fromDay, toDay)
	if err != nil {
		return s, err
	}
	s = Summary{From: fromDay, To: toDay, MedianDays: []StageDays{}, ByDecade: []statistics.Bar{},
		Arrivals: []packing.Arrival{}}
	err = w.Store.View(ctx, func(r stock.Reader) error {
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
		if err := s.left(r, w.Packing, from, to); err != nil {
			return err
		}
		if s.Brought, s.Scrap, err = takings.Summed(r, from, to); err != nil {
			return err
		}
		var arrivals []packing.Arrival
		if err := r.All(&arrivals, stock.Fields{}); err != nil {
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

// dayIn is when a day begins there.
func dayIn(zone *time.Location, field, s string) (time.Time, error) {
	day, err := fields.ParseDay(field, s)
	if err != nil {
		return time.Time{}, err
	}
	return time.ParseInLocation(time.DateOnly, day, zone)
}

// days turns two days into a stretch of time.
func (w *Reports) days(fromDay, toDay string) (from, to time.Time, err error) {
	zone := w.Location()
	end := w.Now().AddDate(1, 0, 0)
	from, to = time.Time{}, end
	if fromDay != "" {
		if from, err = dayIn(zone, "from", fromDay); err != nil {
			return from, to, err
		}
	}
	if toDay != "" {
		if to, err = dayIn(zone, "to", toDay); err != nil {
			return from, to, err
		}
		to = to.AddDate(0, 0, 1)
	}
	if fromDay != "" && toDay != "" && !from.Before(to) {
		return from, to,
			registry.Errorf(registry.Invalid, "from %s is after to %s: type the earlier day first", fromDay,
				toDay)
	}
	if to.After(end) {
		to = end // nothing lies further ahead, and times sort as text only up to the year 9999
	}
	return from, to, nil
}

// stages counts what came to a stage within the time, and the median of the stays that ended in it. It
// returns the machines that went out to be used.
func (s *Summary) stages(r stock.Reader, from, to time.Time) (used map[int64]bool, err error) {
	stays := map[registry.Stage][]float64{}
	finished, shipped, used := map[int64]bool{}, map[int64]bool{}, map[int64]bool{}
	var before stock.StageChange
	err = r.StageChanges(from, to, func(c stock.StageChange) error {
		now := within(c.At, from, to)
		if c.Machine == before.Machine && now {
			stays[before.Stage] = append(stays[before.Stage], statistics.DaysBetween(before.At, c.At))
		}
		// what moved in as gone had left before
		if now && c.Machine == before.Machine {
			switch {
			// not given back, nor let go again
			case c.Stage == registry.Ready && before.Stage == registry.Check:
				finished[c.Machine] = true
			case c.Stage == registry.Shipped:
				shipped[c.Machine], used[c.Machine] = true, true
			case c.Stage == registry.Sold:
				used[c.Machine] = true
			}
		}
		before = c
		return nil
	})
	s.Finished, s.Shipped = len(finished), len(shipped)
	for _, stage := range registry.Stages {
		if median, ok := statistics.Median(stays[stage]); ok {
			s.MedianDays = append(s.MedianDays, StageDays{stage, median, len(stays[stage])})
		}
	}
	return used, err
}

// machines looks at the machines received within the time, and at the weight of those in use.
func (s *Summary) machines(r stock.Reader, from, to time.Time, used map[int64]bool) error {
	var decades []int
	var kept measure.Mass
	unknown := 0
	weigh := func(m *stock.Machine) {
		if m.Stage == registry.Shipped || m.Stage == registry.Sold {
			if m.Weight == 0 {
				s.NotWeighed++
			}
			kept += m.Weight
		}
	}
	err := r.Machines(stock.MachineFilter{Received: [2]time.Time{from, to}}, func(m *stock.Machine) error {
		if used[m.ID] {
			weigh(m)
			delete(used, m.ID)
		}
		s.Received++
		if decade, ok := statistics.DecadeOf(m.From, m.To, m.Best); ok {
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
		var m stock.Machine
		if err := r.Get(&m, stock.Fields{"id": id}); registry.CodeOf(err) == registry.NotFound {
			continue // its log was undone
		} else if err != nil {
			return err
		}
		weigh(&m)
	}
	s.KeptKG = kept.KG()
	if bars := statistics.ByDecade(decades, unknown); bars != nil {
		s.ByDecade = bars
	}
	return nil
}

// left adds up the crates that left within the time, bases and all.
func (s *Summary) left(r stock.Reader, papers *packing.Packing, from, to time.Time) error {
	all, err := orders.All(r, "")
	if err != nil {
		return err
	}
	var bases, gross measure.Mass
	for _, o := range all {
		err := papers.EachLeft(r, &o, func(at time.Time, set packing.Left) {
			if !within(at, from, to) {
				return
			}
			if set.Base {
				s.Sets++
				bases += set.BaseNet
				if set.BaseNet == 0 {
					s.NotWeighed++
				}
			}
			if gross += set.Gross; set.Gross == 0 {
				s.GrossLacks++
			}
		})
		if err != nil {
			return err
		}
	}
	s.KeptKG, s.GrossKG = (measure.Mass(math.Round(s.KeptKG*float64(measure.Kilogram))) + bases).KG(),
		gross.KG()
	return nil
}
