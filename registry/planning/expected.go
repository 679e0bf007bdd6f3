package planning

import (
	"math"
	"time"

	"pitman/registry"
	"pitman/registry/statistics"
	"pitman/registry/stock"
)

// stays reads how long machines stayed on the bench and before their test within the last year, as the median
// of the stays that ended.
func (s *inHand) stays(r stock.Reader) error {
	ended := map[registry.Stage][]float64{}
	var before stock.StageChange
	err := r.StageChanges(s.w.Now().AddDate(-1, 0, 0), s.w.Now().AddDate(1, 0, 0),
		func(c stock.StageChange) error {
			if c.Machine == before.Machine {
				ended[before.Stage] = append(ended[before.Stage], statistics.DaysBetween(before.At, c.At))
			}
			before = c
			return nil
		})
	s.usual = map[registry.Stage]float64{}
	for stage, days := range ended {
		s.usual[stage], _ = statistics.Median(days)
	}
	return err
}

// expected is the day by which a machine on the bench, or before its test, is ready if it takes as long as
// others did; empty where none did.
func (s *inHand) expected(m *stock.Machine) string {
	way := []registry.Stage{registry.Bench, registry.Check}
	if m.Stage == registry.Check {
		way = way[1:]
	}
	days := 0.0
	for i, stage := range way {
		usual, known := s.usual[stage]
		if !known {
			return ""
		}
		if i == 0 { // some of it is over
			usual = max(0, usual-statistics.DaysBetween(m.StageSince, s.w.Now()))
		}
		days += usual
	}
	return s.w.Now().In(s.w.Location()).AddDate(0, 0, int(math.Ceil(days))).Format(time.DateOnly)
}
