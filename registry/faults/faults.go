// Package faults tells what keeps failing: which points of the tests, on which models, after which jobs, in
// which months, and what failed again after it was mended. It is for learning and for the shelf of spares. It
// knows no person, so that nobody can be ranked by it.
package faults

import (
	"cmp"
	"context"
	"maps"
	"slices"
	"strings"
	"time"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/fields"
	"pitman/registry/stock"
)

// Faults reads the tests of the house.
type Faults struct {
	*stock.Stock
}

// Told is what failed since a day.
type Told struct {
	From   string  `json:"from,omitempty"`
	Tests  int     `json:"tests"`
	Failed int     `json:"failed"`
	Points []Point `json:"points"` // most often failed first
	Months []Month `json:"months"` // oldest first
}

// Point is one point of a test, how often it was asked and how often it failed.
type Point struct {
	Point  string `json:"point"`
	Asked  int    `json:"asked"`
	Failed int    `json:"failed"`
	// how often it failed at the next test again, after the bench
	Repeats int     `json:"repeats"`
	Models  []Named `json:"models"`
	Jobs    []Named `json:"jobs"` // done at the bench before the test that it failed
}

// Named is a word and how often the point failed with it.
type Named struct {
	Name   string `json:"name"`
	Failed int    `json:"failed"`
}

// Month is one month, as 2031-05.
type Month struct {
	Month  string  `json:"month"`
	Tests  int     `json:"tests"`
	Failed int     `json:"failed"`
	Points []Named `json:"points"`
}

// safetyPoint is what a point of the safety test is called, so that it is not taken for one of the function
// test.
const safetyPoint = "safety: "

// test is a test of either kind: which points it asked, and which failed.
type test struct {
	tag    registry.Tag
	at     time.Time
	kind   string
	points map[string]bool // by point, whether it passed
}

// visit is what was done at the bench at a time.
type visit struct {
	at   time.Time
	jobs []string
}

// Since tells of the tests since a day, as 2031-03-31; an empty one is all. A point narrows it to that point.
func (w *Faults) Since(ctx context.Context, from, point string) (told *Told, err error) {
	if from != "" {
		if from, err = fields.ParseDay("from", from); err != nil {
			return nil, err
		}
	}
	var tests []test
	visits, models := map[registry.Tag][]visit{}, map[registry.Tag]string{}
	err = w.Store.View(ctx, func(r stock.Reader) error {
		if tests, err = testsOf(r); err != nil {
			return err
		}
		var k bench.Work
		if err := r.Each(&k, func() error {
			if len(k.Jobs) > 0 {
				visits[k.Tag] = append(visits[k.Tag], visit{k.At, k.Jobs})
			}
			k = bench.Work{} // the next one shares nothing with it
			return nil
		}); err != nil {
			return err
		}
		return r.Machines(stock.MachineFilter{}, func(m *stock.Machine) error {
			models[m.Tag] = strings.TrimSpace(m.Maker + " " + m.Model)
			return nil
		})
	})
	if err != nil {
		return nil, err
	}
	return w.tell(tests, visits, models, from, point)
}

// testsOf reads every test, function tests and safety tests, in the order in which they were made.
func testsOf(r stock.Reader) (tests []test, err error) {
	var f bench.FunctionTest
	if err := r.Each(&f, func() error {
		t := test{f.Tag, f.At, "function", map[string]bool{}}
		for _, p := range f.Points {
			if p.NotApplicable == "" {
				t.points[p.Point] = p.Pass
			}
		}
		tests, f = append(tests, t), bench.FunctionTest{}
		return nil
	}); err != nil {
		return nil, err
	}
	var s bench.SafetyTest
	err = r.Each(&s, func() error {
		t := test{s.Tag, s.At, "safety", map[string]bool{}}
		for _, l := range s.Limits {
			t.points[safetyPoint+l.What] = l.Pass
		}
		if s.Form.Visual == "fail" && len(s.Form.VisualFaults) == 0 {
			t.points[safetyPoint+"visual"] = false
		}
		for name := range s.Form.VisualFaults {
			t.points[safetyPoint+name] = false
		}
		if p := s.Form.Polarity; p == "pass" || p == "fail" {
			t.points[safetyPoint+"polarity"] = p == "pass"
		}
		if c := s.Class; c == "none" || c == "unknown" {
			t.points[safetyPoint+"class"] = false
		}
		tests, s = append(tests, t), bench.SafetyTest{}
		return nil
	})
	slices.SortStableFunc(tests, func(a, b test) int { return a.at.Compare(b.at) })
	return tests, err
}

// count is what is counted of a point.
type count struct {
	asked, failed, repeats int
	models, jobs           map[string]int
}

func (w *Faults) tell(tests []test, visits map[registry.Tag][]visit, models map[registry.Tag]string, from,
	only string) (*Told, error) {
	type last struct {
		tag  registry.Tag
		kind string
	}
	points, months := map[string]*count{}, map[string]*Month{}
	monthly := map[string]map[string]int{}
	before := map[last]test{} // the test before of the same kind
	known := false
	told := &Told{From: from, Points: []Point{}, Months: []Month{}}
	for _, t := range tests {
		_, asked := t.points[only]
		known = known || asked
		earlier := before[last{t.tag, t.kind}]
		before[last{t.tag, t.kind}] = t
		jobs := jobsBetween(visits[t.tag], earlier.at, t.at)
		day := w.LocalDay(t.at)
		if day < from || only != "" && !asked {
			continue
		}
		month := day[:len("2031-05")]
		if months[month] == nil {
			months[month], monthly[month] = &Month{Month: month}, map[string]int{}
		}
		failed := false
		for name, pass := range t.points {
			if only != "" && name != only {
				continue
			}
			c := points[name]
			if c == nil {
				c = &count{models: map[string]int{}, jobs: map[string]int{}}
				points[name] = c
			}
			if c.asked++; pass {
				continue
			}
			failed = true
			c.failed++
			c.models[models[t.tag]]++
			monthly[month][name]++
			for _, job := range jobs {
				c.jobs[job]++
			}
			if passed, was := earlier.points[name]; was && !passed {
				c.repeats++
			}
		}
		told.Tests++
		months[month].Tests++
		if failed {
			told.Failed++
			months[month].Failed++
		}
	}
	if only != "" && !known {
		return nil, registry.Errorf(registry.NotFound, "point %q was asked in no test here", only).On("point")
	}
	for name, c := range points {
		if c.failed > 0 || only != "" {
			told.Points = append(told.Points, Point{name, c.asked, c.failed, c.repeats, named(c.models),
				named(c.jobs)})
		}
	}
	slices.SortFunc(told.Points, func(a, b Point) int {
		return cmp.Or(b.Failed-a.Failed, cmp.Compare(a.Point, b.Point))
	})
	for _, month := range slices.Sorted(maps.Keys(months)) {
		months[month].Points = named(monthly[month])
		told.Months = append(told.Months, *months[month])
	}
	return told, nil
}

// jobsBetween are the jobs done on a machine between its tests of one kind, each once: what was done before
// one test is not named beside the faults of the next.
func jobsBetween(visits []visit, since, until time.Time) (jobs []string) {
	for _, v := range visits {
		if v.at.After(until) || !since.IsZero() && !v.at.After(since) {
			continue
		}
		for _, job := range v.jobs {
			if !slices.Contains(jobs, job) {
				jobs = append(jobs, job)
			}
		}
	}
	return jobs
}

// named lists what was counted, most often first.
func named(counts map[string]int) []Named {
	list := []Named{}
	for name, n := range counts {
		list = append(list, Named{name, n})
	}
	slices.SortFunc(list,
		func(a, b Named) int { return cmp.Or(b.Failed-a.Failed, cmp.Compare(a.Name, b.Name)) })
	return list
}
