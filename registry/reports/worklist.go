package reports

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/orders"
	"pitman/registry/spares"
	"pitman/registry/stock"
)

// Task is one line of the worklist: what to do next, and why.
type Task struct {
	For  string            `json:"for"` // bench, tester or coordinator
	Do   string            `json:"do"`
	Tag  registry.Tag      `json:"tag,omitempty"`
	Why  string            `json:"why"`
	Days int               `json:"days"` // how long it has waited
	Next registry.NextStep `json:"-"`    // how it is done; each front end says it in its own way

	rank   int  // urgency; lower comes first
	wanted bool // an open order waits for its kind
}

// DriveDemand is the demand arithmetic for one kind of machine.
type DriveDemand struct {
	Drive registry.Drive `json:"drive"`
	Demand
	Queued  int     `json:"queued"` // waiting for a bench
	Missing float64 `json:"short"`
	ToStart int     `json:"to_start"` // -1 = no number would be enough
}

// Worklist is what to do today.
type Worklist struct {
	PassRate PassRate      `json:"pass_rate"`
	Demand   []DriveDemand `json:"demand"`
	Tasks    []Task        `json:"tasks"`
}

// Roles are the people a task can be for.
var Roles = []string{"bench", "tester", "coordinator"}

// ParseRole reads a role.
func ParseRole(s string) (string, error) { return registry.OneOf("for", s, Roles) }

// Urgency, most urgent first. What blocks a machine that an order waits for comes before what merely waits.
const (
	rankUnsafe = iota
	rankFaults
	rankTest
	rankFit
	rankBench
	rankStart
	rankTriage
	rankFind
	rankHeld
	rankAgain
	rankQueue
	rankYear
)

// Worklist says what to do today, most urgent first. role keeps one person's lines; "" all.
func (w *Reports) Worklist(ctx context.Context, role string) (list Worklist, err error) {
	list = Worklist{Demand: []DriveDemand{}, Tasks: []Task{}}
	err = w.Store.View(ctx, func(r stock.Reader) error {
		passed, tested, err := r.FirstTests(time.Time{}, w.Now().AddDate(1, 0, 0))
		if err != nil {
			return err
		}
		list.PassRate = newPassRate(passed, tested, w.Config.PriorPassed, w.Config.PriorTested)
		if list.Demand, err = w.demand(r, list.PassRate.Lower); err != nil {
			return err
		}
		list.Tasks, err = w.tasks(r, list.Demand)
		return err
	})
	list.Tasks = slices.DeleteFunc(list.Tasks, func(t Task) bool { return role != "" && t.For != role })
	slices.SortStableFunc(list.Tasks, func(a, b Task) int {
		return cmp.Or(cmp.Compare(a.rank, b.rank), -compareBool(a.wanted, b.wanted),
			cmp.Compare(b.Days, a.Days))
	})
	return list, err
}

// compareBool puts false before true.
func compareBool(a, b bool) int {
	switch {
	case a == b:
		return 0
	case b:
		return -1
	}
	return 1
}

// demand sets what is asked beside what is there, for each drive.
func (w *Reports) demand(r stock.Reader, rate float64) ([]DriveDemand, error) {
	open, err := orders.Unfilled(r)
	if err != nil {
		return nil, err
	}
	list := []DriveDemand{}
	for _, drive := range registry.Drives {
		count := map[registry.Stage]int{}
		for _, s := range []registry.Stage{registry.Queued, registry.Bench, registry.Check, registry.Ready} {
			n, err := r.Count(stock.MachineFilter{Drive: drive, Stage: s, Here: true})
			if err != nil {
				return nil, err
			}
			count[s] = n
		}
		d := DriveDemand{Drive: drive, Queued: count[registry.Queued],
			Demand: Demand{Open: open[drive], Ready: count[registry.Ready], InHand: count[registry.Bench] +
				count[registry.Check], Rate: rate}}
		d.Missing, d.ToStart = d.Short(), d.Start()
		list = append(list, d)
	}
	return list, nil
}

// tasks gathers the lines; they are sorted by the caller.
func (w *Reports) tasks(r stock.Reader, demand []DriveDemand) ([]Task, error) {
	needs, err := spares.OpenNeeds(r)
	if err != nil {
		return nil, err
	}
	waits := map[registry.Tag][]spares.OpenNeed{}
	for _, n := range needs {
		waits[n.Tag] = append(waits[n.Tag], n)
	}
	var tasks []Task
	add := func(m *stock.Machine, t Task) {
		t.Tag = m.Tag
		t.Why = strings.Join(append([]string{t.Why}, w.Warnings(m)...), "; ")
		tasks = append(tasks, t)
	}
	toStart, wanted := map[registry.Drive]int{}, map[registry.Drive]bool{}
	for _, d := range demand {
		wanted[d.Drive] = d.Open > d.Ready
		if toStart[d.Drive] = d.ToStart; d.ToStart < 0 {
			toStart[d.Drive] = d.Queued
		}
	}
	for _, stage := range []registry.Stage{registry.Held, registry.Check, registry.Bench, registry.Queued,
		registry.Logged, registry.Ready, registry.Reserved} {
		err := r.Machines(stock.MachineFilter{Stage: stage, Here: true}, func(m *stock.Machine) error {
			t, err := w.taskFor(r, m, waits[m.Tag], toStart)
			if err == nil && t.Do != "" {
				t.Days, t.wanted = w.daysSince(m.StageSince), wanted[m.Drive]
				add(m, t)
			}
			if m.Contradicted() {
				add(m, Task{For: "coordinator", rank: rankYear, Do: "settle its year",
					Days: w.daysSince(m.LoggedAt),
					Why:  "serial number and other evidence exclude each other",
					Next: registry.Next(registry.DoAmend, m.Tag).Asking("year-known", "because")})
			}
			return err
		})
		if err != nil {
			return nil, err
		}
	}
	for _, n := range needs {
		t := Task{Days: w.daysSince(n.Since), wanted: wanted[n.Machine.Drive]}
		if n.OnShelf > 0 {
			t.For, t.rank, t.Do, t.Why = "bench", rankFit, "fit "+n.Part,
				fmt.Sprintf("it waits for it, and %d on the shelf", n.OnShelf)
			t.Next = registry.Next(registry.DoFit, n.Tag).With("part", n.Part)
			if way := registry.PathTo(registry.UnitMachine, registry.DoFit, n.Machine.Stage,
				n.Machine.HeldFrom); len(way) > 0 {
				t.Next = registry.Next(way[0].Action, n.Tag)
			}
		} else {
			t.For, t.rank, t.Do, t.Why = "coordinator", rankFind, "find "+n.Part,
				"it waits for it, and none is on the shelf"
			t.Next = registry.Next(registry.DoTake, "").With("part", n.Part)
		}
		add(n.Machine, t)
	}
	return tasks, nil
}

// taskFor says what a machine waits for at its stage; an empty task is none.
func (w *Reports) taskFor(r stock.Reader, m *stock.Machine, waits []spares.OpenNeed,
	toStart map[registry.Drive]int) (Task, error) {
	blocked := slices.ContainsFunc(waits, func(n spares.OpenNeed) bool { return n.OnShelf == 0 })
	unsafe := m.TakesMains() && !w.SafetyStands(m)
	switch m.Stage {
	case registry.Held:
		if m.UnsafeWhy != "" {
			return Task{For: "tester", rank: rankUnsafe, Do: "mend or test again",
				Next: registry.Next(registry.DoBenchStart, m.Tag),
				Why:  "failed its safety test: " + m.UnsafeWhy + "; for a competent person"}, nil
		}
		if w.daysSince(m.StageSince) >= w.Config.HeldDays {
			return Task{For: "coordinator", rank: rankHeld, Do: "decide",
				Next: registry.Next(registry.DoRelease, m.Tag),
				Why:  fmt.Sprintf("held for %d days or more: %s", w.Config.HeldDays, m.HeldWhy)}, nil
		}
	case registry.Check:
		switch {
		case blocked:
		case unsafe && len(w.Stock.Config.Safety.Competent) == 0:
			return Task{For: "coordinator", rank: rankUnsafe, Do: "name a competent person",
				Why: "it waits for a safety test, and house.toml [safety] lists nobody"}, nil
		case unsafe:
			return Task{For: "tester", rank: rankTest, Do: "safety test",
				Next: registry.Next(registry.DoSafetyResult, m.Tag),
				Why:  "no standing pass; for " + strings.Join(w.Stock.Config.Safety.Competent, ", ")}, nil
		default:
			return w.testTask(r, m)
		}
	case registry.Bench:
		if blocked {
			return Task{}, nil
		}
		faults, err := bench.OpenFaults(r, m.Tag)
		if err != nil {
			return Task{}, err
		}
		if faults != nil {
			return Task{For: "bench", rank: rankFaults, Do: "mend faults",
				Next: registry.Next(registry.DoSlip, m.Tag), Why: faultWords(faults)}, nil
		}
		return Task{For: "bench", rank: rankBench, Do: "go on",
			Next: registry.Next(registry.DoBenchDone, m.Tag), Why: "on the bench"}, nil
	case registry.Queued:
		if blocked {
			return Task{}, nil
		}
		t := Task{For: "bench", rank: rankQueue, Do: "start",
			Next: registry.Next(registry.DoBenchStart, m.Tag),
			Why:  "next in the queue; no open order needs it yet"}
		if toStart[m.Drive] > 0 {
			toStart[m.Drive]--
			t.rank, t.Why = rankStart,
				fmt.Sprintf("orders ask for more %s machines than will be ready", m.Drive)
		}
		return t, nil
	case registry.Logged:
		return Task{For: "coordinator", rank: rankTriage, Do: "triage",
			Next: registry.Next(registry.DoRefurbish, m.Tag),
			Why:  "nobody decided yet"}, nil
	case registry.Ready, registry.Reserved:
		if unsafe {
			return Task{For: "tester", rank: rankAgain, Do: "safety test again",
				Next: registry.Next(registry.DoSafetyResult, m.Tag),
				Why:  "its pass is too old for packing"}, nil
		}
	}
	return Task{}, nil
}

func (w *Reports) testTask(r stock.Reader, m *stock.Machine) (Task, error) {
	t := Task{For: "tester", rank: rankTest, Do: "function test",
		Next: registry.Next(registry.DoTestResult, m.Tag), Why: "off the bench"}
	if slices.Contains(w.Bench.Config.SecondPerson, m.Drive) {
		people, err := bench.Refurbishers(r, m.Tag)
		if err != nil {
			return t, err
		}
		if len(people) > 0 {
			names := make([]string, len(people))
			for i, p := range people {
				names[i] = string(p)
			}
			t.Why = "off the bench; by someone else than " + strings.Join(names, ", ")
		}
	}
	return t, nil
}

func faultWords(t *bench.FunctionTest) string {
	var words []string
	for _, p := range t.Faults() {
		words = append(words, p.Point+": "+p.Fault)
	}
	return strings.Join(words, "; ")
}

func (w *Reports) daysSince(at time.Time) int { return max(0, int(w.Now().Sub(at).Hours()/24)) }
