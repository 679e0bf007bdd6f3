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
	"pitman/registry/planning"
	"pitman/registry/plates"
	"pitman/registry/spares"
	"pitman/registry/statistics"
	"pitman/registry/stock"
)

// Task is one line of the worklist: what to do next, and why.
type Task struct {
	For     string       `json:"for"` // bench, tester or coordinator
	Do      string       `json:"do"`
	Tag     registry.Tag `json:"tag,omitempty"`
	Order   string       `json:"order,omitempty"` // that it is for
	Why     string       `json:"why"`
	Skill   string       `json:"skill"`             // of whoever does it
	Minutes int          `json:"minutes,omitempty"` // promised work
	Due     string       `json:"due"`               // the day of the order that waits for it, "" if none does
	Start   string       `json:"start,omitempty"`   // the last day on which it can begin for that
	Days    int          `json:"days"`              // how long it has waited
	// how it is done; each front end says it in its own way
	Next registry.NextStep `json:"-"`

	rank     int  // urgency; lower comes first
	wanted   bool // an open order waits for its kind
	priority int  // of its order
	notBy    []registry.Initials
}

// Worklist is what to do today.
type Worklist struct {
	PassRate statistics.PassRate `json:"pass_rate"`
	Demand   []DriveDemand       `json:"demand"`
	Tasks    []Task              `json:"tasks"`
}

// Urgency, most urgent first. What blocks a machine that an order waits for comes before what merely waits.
const (
	rankOrder = iota
	rankUnsafe
	rankFaults
	rankTest
	rankFit
	rankPromised
	rankPack
	rankBench
	rankStart
	rankComplete
	rankMeasure
	rankTriage
	rankFind
	rankHeld
	rankAgain
	rankQueue
	rankAsk
	rankPlates
	rankYear
)

// rateYears is how long a first test tells of the people and machines of today.
const rateYears = 2

// Worklist says what to do today, most urgent first: what an order cannot wait for any longer by its due day,
// then the rest. who keeps the lines of a role or of one person; "" all.
func (w *Reports) Worklist(ctx context.Context, who string) (list Worklist, err error) {
	list = Worklist{Demand: []DriveDemand{}, Tasks: []Task{}}
	out, err := w.Planning.Outlook(ctx)
	if err != nil {
		return list, err
	}
	err = w.Store.View(ctx, func(r stock.Reader) error {
		passed, tested, err := r.FirstTests(w.Now().AddDate(-rateYears, 0, 0), w.Now().AddDate(1, 0, 0))
		if err != nil {
			return err
		}
		list.PassRate = statistics.NewPassRate(passed, tested, w.Config.PriorPassed, w.Config.PriorTested)
		if list.Demand, err = demand(r, out, list.PassRate.Lower); err != nil {
			return err
		}
		list.Tasks, err = w.tasks(r, out, list.Demand)
		return err
	})
	list.Tasks = slices.DeleteFunc(list.Tasks, func(t Task) bool { return !w.isFor(&t, who) })
	today := w.today()
	slices.SortStableFunc(list.Tasks, func(a, b Task) int { return compareTasks(&a, &b, today) })
	return list, err
}

// compareTasks puts first what cannot wait any longer, by due day and priority, and the rest by its urgency.
func compareTasks(a, b *Task, today string) int {
	late := func(t *Task) bool { return t.Start != "" && t.Start <= today }
	if late(a) && late(b) && a.Due != b.Due {
		return cmp.Compare(a.Due, b.Due)
	}
	return cmp.Or(-compareBool(late(a), late(b)), cmp.Compare(a.rank, b.rank),
		-compareBool(a.wanted, b.wanted), -compareBool(a.Due != "", b.Due != ""), cmp.Compare(a.Due, b.Due),
		cmp.Compare(b.priority, a.priority), cmp.Compare(b.Days, a.Days))
}

// today is the day in the house's zone.
func (w *Reports) today() string { return w.Now().In(w.Location()).Format(time.DateOnly) }

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

// tasks gathers the lines; they are sorted by the caller.
func (w *Reports) tasks(r stock.Reader, out *planning.Outlook, demand []DriveDemand) ([]Task, error) {
	needs, err := spares.OpenNeeds(r)
	if err != nil {
		return nil, err
	}
	waits := map[registry.Tag][]spares.OpenNeed{}
	for _, n := range needs {
		waits[n.Tag] = append(waits[n.Tag], n)
	}
	tasks, promised, err := w.promised(r, out)
	if err != nil {
		return nil, err
	}
	byDrive := map[registry.Drive]*DriveDemand{}
	for i := range demand {
		byDrive[demand[i].Drive] = &demand[i]
	}
	add := func(m *stock.Machine, t Task) {
		t.Tag = m.Tag
		if d := byDrive[m.Drive]; d != nil && t.wanted {
			t.Due, t.Start = d.Due, w.start(d.Due, 0)
		}
		if p, ok := promised[m.Tag]; ok {
			t.Order, t.Due, t.Start, t.priority = p.Order, p.Due, p.Start, p.priority
		}
		t.Why = strings.Join(append([]string{t.Why}, w.Warnings(m)...), "; ")
		tasks = append(tasks, t)
	}
	toStart, wanted := map[registry.Drive]int{}, map[registry.Drive]bool{}
	for _, d := range demand {
		wanted[d.Drive] = d.Wanted()
		if toStart[d.Drive] = d.Queued; d.ToStart != nil {
			toStart[d.Drive] = *d.ToStart
		}
	}
	for _, stage := range []registry.Stage{registry.Held, registry.Check, registry.Bench, registry.Queued,
		registry.Logged, registry.Ready, registry.Reserved} {
		err := r.Machines(stock.MachineFilter{Stage: stage, Here: true}, func(m *stock.Machine) error {
			t, err := w.taskFor(r, m, waits[m.Tag], toStart)
			if err == nil && t.Do != "" {
				t.Days, t.wanted = w.daysSince(m.StageSince), wanted[m.Drive] && t.rank != rankQueue
				add(m, t)
			}
			if m.Contradicted() {
				add(m, Task{For: "coordinator", Skill: SkillCoordinate, rank: rankYear, Do: "settle its year",
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
			t.For, t.Skill, t.rank, t.Do, t.Why = "bench", registry.SkillBench, rankFit, "fit "+n.Part,
				fmt.Sprintf("it waits for it, and %d on the shelf", n.OnShelf)
			t.Next = registry.Next(registry.DoFit, n.Tag).With("part", n.Part)
			if way := registry.PathTo(registry.UnitMachine, registry.DoFit, n.Machine.Stage,
				n.Machine.HeldFrom); len(way) > 0 {
				t.Next = registry.Next(way[0].Action, n.Tag)
			}
		} else {
			t.For, t.Skill, t.rank, t.Do, t.Why = "coordinator", SkillCoordinate, rankFind, "find "+n.Part,
				"it waits for it, and none is on the shelf"
			t.Next = registry.Next(registry.DoTake, "").With("part", n.Part)
		}
		add(n.Machine, t)
	}
	more, err := w.bases(r, byDrive[registry.Treadle])
	if err != nil {
		return nil, err
	}
	unread, err := w.unread(r)
	return slices.Concat(tasks, more, unread), err
}

// unread is one line for all serials that wait to be read again off their plates.
func (w *Reports) unread(r stock.Reader) ([]Task, error) {
	waits, err := plates.ToRead(r)
	if err != nil || len(waits) == 0 {
		return nil, err
	}
	return []Task{{For: "coordinator", Skill: SkillCoordinate, rank: rankPlates,
		Do: "have serials read again",
		Why: registry.Counted(len(waits), "machine") +
			" with a picture of the plate, which nobody has read " +
			"a second time",
		Next: registry.Next(registry.DoReadPlates, ""), Days: w.daysSince(waits[0].Since)}}, nil
}

// taskFor says what a machine waits for at its stage; an empty task is none.
func (w *Reports) taskFor(r stock.Reader, m *stock.Machine, waits []spares.OpenNeed,
	toStart map[registry.Drive]int) (Task, error) {
	blocked := slices.ContainsFunc(waits, func(n spares.OpenNeed) bool { return n.OnShelf == 0 })
	unsafe := w.LacksSafetyPass(m)
	switch m.Stage {
	case registry.Held:
		if m.UnsafeWhy != "" {
			return Task{For: "tester", Skill: registry.SkillElectrical, rank: rankUnsafe, Do: "mend or test again",
				Next: registry.Next(registry.DoBenchStart, m.Tag),
				Why:  m.Unsafe() + "; for a competent person"}, nil
		}
		if w.daysSince(m.StageSince) >= w.Config.HeldDays {
			return Task{For: "coordinator", Skill: SkillCoordinate, rank: rankHeld, Do: "decide",
				Next: registry.Next(registry.DoRelease, m.Tag),
				Why: fmt.Sprintf("held for %s or more: %s", registry.Counted(w.Config.HeldDays, "day"),
					m.HeldWhy)}, nil
		}
	case registry.Check:
		switch {
		case blocked:
		case unsafe && len(w.Stock.Config.Safety.Competent) == 0:
			return Task{For: "coordinator", Skill: SkillCoordinate, rank: rankUnsafe,
				Do:  "name a competent person",
				Why: "it waits for a safety test, and house.toml [safety] lists nobody"}, nil
		case unsafe:
			return Task{For: "tester", Skill: registry.SkillElectrical, rank: rankTest, Do: "safety test",
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
			return Task{For: "bench", Skill: registry.SkillBench, rank: rankFaults, Do: "mend faults",
				Next: registry.Next(registry.DoSlip, m.Tag), Why: faultWords(faults)}, nil
		}
		return Task{For: "bench", Skill: registry.SkillBench, rank: rankBench, Do: "go on",
			Next: registry.Next(registry.DoBenchDone, m.Tag), Why: "on the bench"}, nil
	case registry.Queued:
		if blocked {
			return Task{}, nil
		}
		t := Task{For: "bench", Skill: registry.SkillBench, rank: rankQueue, Do: "start",
			Next: registry.Next(registry.DoBenchStart, m.Tag),
			Why:  "next in the queue; no open order needs it yet"}
		if toStart[m.Drive] > 0 {
			toStart[m.Drive]--
			t.rank, t.Why = rankStart,
				fmt.Sprintf("orders ask for more %s machines than will be ready", m.Drive)
		}
		return t, nil
	case registry.Logged:
		return Task{For: "coordinator", Skill: SkillCoordinate, rank: rankTriage, Do: "triage",
			Next: registry.Next(registry.DoRefurbish, m.Tag),
			Why:  "nobody decided yet"}, nil
	case registry.Ready, registry.Reserved:
		if unsafe {
			return Task{For: "tester", Skill: registry.SkillElectrical, rank: rankAgain, Do: "safety test again",
				Next: registry.Next(registry.DoSafetyResult, m.Tag),
				Why:  "its pass is too old for packing"}, nil
		}
	}
	return Task{}, nil
}

func (w *Reports) testTask(r stock.Reader, m *stock.Machine) (Task, error) {
	t := Task{For: "tester", Skill: SkillTest, rank: rankTest, Do: "function test",
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
			t.notBy = people
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
