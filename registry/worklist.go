package registry

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"
	"time"
)

// Task is one line of the worklist: what to do next, and why.
type Task struct {
	For     string `json:"for"` // bench, tester or coordinator
	Do      string `json:"do"`
	Tag     Tag    `json:"tag,omitempty"`
	Why     string `json:"why"`
	Days    int    `json:"days"` // how long it has waited
	Command string `json:"command,omitempty"`

	rank   int  // urgency; lower comes first
	wanted bool // an open order waits for its kind
}

// DriveDemand is the demand arithmetic for one kind of machine.
type DriveDemand struct {
	Drive Drive `json:"drive"`
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
func ParseRole(s string) (string, error) { return oneOf("for", s, Roles) }

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
)

// Worklist says what to do today, most urgent first. role keeps one person's lines; "" all.
func (w *Workshop) Worklist(ctx context.Context, role string) (list Worklist, err error) {
	list = Worklist{Demand: []DriveDemand{}, Tasks: []Task{}}
	err = w.Store.View(ctx, func(r Reader) error {
		passed, tested, err := r.FirstTests(time.Time{}, w.Now().AddDate(1, 0, 0))
		if err != nil {
			return err
		}
		list.PassRate = newPassRate(passed, tested, w.Config.Worklist.PriorPassed, w.Config.Worklist.PriorTested)
		if list.Demand, err = w.demand(r, list.PassRate.Lower); err != nil {
			return err
		}
		list.Tasks, err = w.tasks(r, list.Demand)
		return err
	})
	list.Tasks = slices.DeleteFunc(list.Tasks, func(t Task) bool { return role != "" && t.For != role })
	slices.SortStableFunc(list.Tasks, func(a, b Task) int {
		return cmp.Or(cmp.Compare(a.rank, b.rank), -compareBool(a.wanted, b.wanted), cmp.Compare(b.Days, a.Days))
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
func (w *Workshop) demand(r Reader, rate float64) ([]DriveDemand, error) {
	open, err := unfilled(r)
	if err != nil {
		return nil, err
	}
	list := []DriveDemand{}
	for _, drive := range Drives {
		count := map[Stage]int{}
		for _, s := range []Stage{Queued, Bench, Check, Ready} {
			n, err := r.Count(MachineFilter{Drive: drive, Stage: s, Here: true})
			if err != nil {
				return nil, err
			}
			count[s] = n
		}
		d := DriveDemand{Drive: drive, Queued: count[Queued],
			Demand: Demand{Open: open[drive], Ready: count[Ready], InHand: count[Bench] + count[Check], Rate: rate}}
		d.Missing, d.ToStart = d.Short(), d.Start()
		list = append(list, d)
	}
	return list, nil
}

// tasks gathers the lines; they are sorted by the caller.
func (w *Workshop) tasks(r Reader, demand []DriveDemand) ([]Task, error) {
	needs, err := openNeeds(r)
	if err != nil {
		return nil, err
	}
	waits := map[Tag][]OpenNeed{}
	for _, n := range needs {
		waits[n.Tag] = append(waits[n.Tag], n)
	}
	var tasks []Task
	add := func(m *Machine, t Task) {
		t.Tag = m.Tag
		t.Why = strings.Join(append([]string{t.Why}, w.Warnings(m)...), "; ")
		tasks = append(tasks, t)
	}
	toStart, wanted := map[Drive]int{}, map[Drive]bool{}
	for _, d := range demand {
		wanted[d.Drive] = d.Open > d.Ready
		if toStart[d.Drive] = d.ToStart; d.ToStart < 0 {
			toStart[d.Drive] = d.Queued
		}
	}
	for _, stage := range []Stage{Held, Check, Bench, Queued, Logged, Ready, Reserved} {
		err := r.Machines(MachineFilter{Stage: stage, Here: true}, func(m *Machine) error {
			t, err := w.taskFor(r, m, waits[m.Tag], toStart)
			if err == nil && t.Do != "" {
				t.Days, t.wanted = w.daysSince(m.StageSince), wanted[m.Drive]
				add(m, t)
			}
			return err
		})
		if err != nil {
			return nil, err
		}
	}
	for _, n := range needs {
		t := Task{Days: w.daysSince(n.Since), wanted: wanted[n.machine.Drive]}
		if n.OnShelf > 0 {
			t.For, t.rank, t.Do, t.Why = "bench", rankFit, "fit "+n.Part, fmt.Sprintf("it waits for it, and %d on the shelf", n.OnShelf)
			t.Command = fmt.Sprintf("pitman spare fit %s %s", n.Tag, n.Part)
			if way := pathTo(unitMachine, doFit, n.machine.Stage, n.machine.HeldFrom); len(way) > 0 {
				t.Command = commandFor(way[0], n.Tag)
			}
		} else {
			t.For, t.rank, t.Do, t.Why = "coordinator", rankFind, "find "+n.Part, "it waits for it, and none is on the shelf"
			t.Command = fmt.Sprintf("pitman spare take TAG %s", n.Part)
		}
		add(n.machine, t)
	}
	return tasks, nil
}

// taskFor says what a machine waits for at its stage; an empty task is none.
func (w *Workshop) taskFor(r Reader, m *Machine, waits []OpenNeed, toStart map[Drive]int) (Task, error) {
	tag := string(m.Tag)
	blocked := slices.ContainsFunc(waits, func(n OpenNeed) bool { return n.OnShelf == 0 })
	unsafe := m.Drive == Electric && !w.SafetyStands(m)
	switch m.Stage {
	case Held:
		if m.UnsafeWhy != "" {
			return Task{For: "tester", rank: rankUnsafe, Do: "mend or test again", Command: "pitman bench start " + tag,
				Why: "failed its safety test: " + m.UnsafeWhy + "; for a competent person"}, nil
		}
		if w.daysSince(m.StageSince) >= w.Config.Worklist.HeldDays {
			return Task{For: "coordinator", rank: rankHeld, Do: "decide", Command: "pitman release " + tag,
				Why: fmt.Sprintf("held for %d days or more: %s", w.Config.Worklist.HeldDays, m.HeldWhy)}, nil
		}
	case Check:
		switch {
		case blocked:
		case unsafe && len(w.Config.Safety.Competent) == 0:
			return Task{For: "coordinator", rank: rankUnsafe, Do: "name a competent person",
				Why: "it waits for a safety test, and house.toml [safety] lists nobody"}, nil
		case unsafe:
			return Task{For: "tester", rank: rankTest, Do: "safety test", Command: "pitman safety " + tag,
				Why: "no standing pass; for " + strings.Join(w.Config.Safety.Competent, ", ")}, nil
		default:
			return w.testTask(r, m)
		}
	case Bench:
		if blocked {
			return Task{}, nil
		}
		faults, err := OpenFaults(r, m.Tag)
		if err != nil {
			return Task{}, err
		}
		if faults != nil {
			return Task{For: "bench", rank: rankFaults, Do: "mend faults", Command: "pitman slip " + tag, Why: faultWords(faults)}, nil
		}
		return Task{For: "bench", rank: rankBench, Do: "go on", Command: "pitman bench finish " + tag, Why: "on the bench"}, nil
	case Queued:
		if blocked {
			return Task{}, nil
		}
		t := Task{For: "bench", rank: rankQueue, Do: "start", Command: "pitman bench start " + tag, Why: "next in the queue; no open order needs it yet"}
		if toStart[m.Drive] > 0 {
			toStart[m.Drive]--
			t.rank, t.Why = rankStart, fmt.Sprintf("orders ask for more %s machines than will be ready", m.Drive)
		}
		return t, nil
	case Logged:
		return Task{For: "coordinator", rank: rankTriage, Do: "triage", Command: "pitman triage " + tag + " --to refurbish --why WHY",
			Why: "nobody decided yet"}, nil
	case Ready, Reserved:
		if unsafe {
			return Task{For: "tester", rank: rankAgain, Do: "safety test again", Command: "pitman safety " + tag,
				Why: "its pass is too old for packing"}, nil
		}
	}
	return Task{}, nil
}

func (w *Workshop) testTask(r Reader, m *Machine) (Task, error) {
	t := Task{For: "tester", rank: rankTest, Do: "function test", Command: "pitman test " + string(m.Tag), Why: "off the bench"}
	if slices.Contains(w.Config.Test.SecondPerson, m.Drive) {
		people, err := refurbishers(r, m.Tag)
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

func faultWords(t *FunctionTest) string {
	var words []string
	for _, p := range t.Faults() {
		words = append(words, p.Point+": "+p.Fault)
	}
	return strings.Join(words, "; ")
}

func (w *Workshop) daysSince(at time.Time) int { return max(0, int(w.Now().Sub(at).Hours()/24)) }
