package reports_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/measure"
	"pitman/registry/orders"
	"pitman/registry/registrytest"
	"pitman/registry/reports"
	"pitman/registry/stock"
)

// What orders ask for and nothing is reserved for is the demand, and says how many to start.
func TestTheWorklistCountsOpenOrders(t *testing.T) {
	w := registrytest.Workshop(t)
	order := func() string {
		o := &orders.Order{Partner: "Bridge Street", Due: "2031-06-01"}
		require.NoError(t, w.OpenOrder(registrytest.Ctx, "QX", o))
		for kind, asked := range map[orders.Wanted]int{orders.HandMachine: 3, orders.TreadleSet: 2} {
			require.NoError(t,
				w.AddLine(registrytest.Ctx, "QX",
					&orders.OrderLine{Order: o.Number, Wanted: kind, Asked: asked}))
		}
		return o.Number
	}
	number, cancelled := order(), order()
	_, err := w.CancelOrder(registrytest.Ctx, "QX", cancelled, "a reason")
	require.NoError(t, err)
	tag := registrytest.Put(t, w, registry.Hand, func(m *stock.Machine) { m.Stage = registry.Ready })
	queued := registrytest.Put(t, w, registry.Hand, func(m *stock.Machine) { m.Stage = registry.Queued })
	demand := func(drive registry.Drive) reports.DriveDemand {
		list, err := w.Worklist(registrytest.Ctx, "bench")
		require.NoError(t, err)
		at := slices.IndexFunc(list.Tasks, func(t reports.Task) bool { return t.Tag == queued })
		require.GreaterOrEqual(t, at, 0)
		assert.Equal(t, "orders ask for more hand machines than will be ready", list.Tasks[at].Why)
		i := slices.IndexFunc(list.Demand, func(d reports.DriveDemand) bool { return d.Drive == drive })
		return list.Demand[i]
	}
	hand := demand(registry.Hand)
	assert.Equal(t, []int{3, 1, 0, 1}, []int{hand.Open, hand.Ready, hand.InHand, hand.Queued})
	assert.Equal(t, 2.0, hand.Missing)
	assert.Equal(t, 5, *hand.ToStart, "2 short, by the prior of 8 in 10: Wilson lower bound 0.49")
	assert.Equal(t, 2, demand(registry.Treadle).Open)
	assert.Zero(t, demand(registry.Electric).Open)

	m, err := w.Machine(registrytest.Ctx, tag)
	require.NoError(t, err)
	lines := []orders.OrderLine{}
	require.NoError(t, w.Store.View(registrytest.Ctx, func(r stock.Reader) (err error) {
		lines, err = orders.OrderLines(r, number)
		return err
	}))
	i := slices.IndexFunc(lines, func(l orders.OrderLine) bool { return l.Wanted == orders.HandMachine })
	require.NoError(t,
		w.Reserve(registrytest.Ctx, "QX", "",
			[]orders.Reservation{{Order: number, Line: lines[i].Line, Head: *m}}))
	hand = demand(registry.Hand)
	assert.Equal(t, []int{2, 0}, []int{hand.Open, hand.Ready}, "a filled place is asked for no more")
}

// Every line about an electric machine without a standing pass says so, whatever it is about.
func TestTheWorklistSaysDoNotPlugIn(t *testing.T) {
	w := registrytest.Workshop(t)
	w.Config.Worklist.HeldDays = 0
	lines := 0
	for _, drive := range []registry.Drive{registry.Electric, registry.Hand} {
		for _, stage := range []registry.Stage{registry.Logged, registry.Queued, registry.Bench,
			registry.Check, registry.Ready, registry.Reserved, registry.Held} {
			registrytest.Put(t, w, drive, func(m *stock.Machine) {
				if m.Stage = stage; stage == registry.Held {
					m.HeldFrom, m.HeldWhy = registry.Bench, "a reason"
				}
			})
		}
		waits := registrytest.Put(t, w, drive, func(m *stock.Machine) { m.Stage = registry.Bench })
		_, err := w.NeedSpare(registrytest.Ctx, "QX", waits, "handwheel")
		require.NoError(t, err)
	}
	list, err := w.Worklist(registrytest.Ctx, "")
	require.NoError(t, err)
	for _, task := range list.Tasks {
		m, err := w.Machine(registrytest.Ctx, task.Tag)
		require.NoError(t, err)
		said := strings.Count(task.Why, registry.DoNotPlugIn)
		if m.Drive == registry.Electric {
			assert.Equal(t, 1, said, "%s: %s", task.Do, task.Why)
			lines++
		} else {
			assert.Zero(t, said, "%s: %s", task.Do, task.Why)
		}
	}
	assert.Equal(t, 8, lines)
}

// What is ready without the part, or gone, waits no more; nobody is sent to look for it.
func TestNeedsEndWithTheWork(t *testing.T) {
	w := registrytest.Workshop(t)
	var tags []registry.Tag
	for range 4 {
		tag := registrytest.Put(t, w, registry.Hand, func(m *stock.Machine) { m.Stage = registry.Bench })
		_, err := w.NeedSpare(registrytest.Ctx, "QX", tag, "handwheel")
		require.NoError(t, err)
		tags = append(tags, tag)
	}
	_, err := w.Triage(registrytest.Ctx, "QX", tags[0], "sale", "a reason", "")
	require.NoError(t, err)
	_, err = w.BenchFinish(registrytest.Ctx, "QX", tags[1], bench.WorkNote{})
	require.NoError(t, err)
	_, _, err = w.Test(registrytest.Ctx, "RS", tags[1], bench.TestForm{PassAll: true})
	require.NoError(t, err)
	require.NoError(t,
		w.Store.Update(registrytest.Ctx, &registry.Action{At: w.Now(), By: "QX", Verb: "set up"},
			func(tx stock.Tx) error {
				m, err := stock.MachineByTag(tx, tags[3])
				require.NoError(t, err)
				m.HandedTo = "Eldwray"
				return tx.Put(m)
			}))
	needs, err := w.Needs(registrytest.Ctx)
	require.NoError(t, err)
	require.Len(t, needs, 1)
	assert.Equal(t, tags[2], needs[0].Tag)
	list, err := w.Worklist(registrytest.Ctx, "")
	require.NoError(t, err)
	require.Len(t, list.Tasks, 1)
	assert.Equal(t, tags[2], list.Tasks[0].Tag)
}

// Among jobs of one kind those come first that an open order waits for, then those that wait longest; and no
// more are started for orders than orders ask for.
func TestTheWorklistPutsTheUrgentFirst(t *testing.T) {
	w := registrytest.Workshop(t)
	w.Config.Worklist.PriorPassed, w.Config.Worklist.PriorTested = 0, 0
	o := &orders.Order{Partner: "Bridge Street", Due: "2031-06-01"}
	require.NoError(t, w.OpenOrder(registrytest.Ctx, "QX", o))
	require.NoError(t,
		w.AddLine(registrytest.Ctx, "QX",
			&orders.OrderLine{Order: o.Number, Wanted: orders.HandMachine, Asked: 2}))
	now := w.Now().AddDate(0, 0, 30)
	w.Now = func() time.Time { return now }
	at := func(drive registry.Drive, stage registry.Stage, days int) registry.Tag {
		return registrytest.Put(t, w, drive,
			func(m *stock.Machine) { m.Stage, m.StageSince = stage, now.AddDate(0, 0, -days) })
	}
	treadleCheck := at(registry.Treadle, registry.Check, 20)
	handCheck := at(registry.Hand, registry.Check, 2)
	handCheckLonger := at(registry.Hand, registry.Check, 5)
	treadleBench := at(registry.Treadle, registry.Bench, 9)
	handBench := at(registry.Hand, registry.Bench, 1)
	treadleQueued := at(registry.Treadle, registry.Queued, 12)
	treadleQueuedLonger := at(registry.Treadle, registry.Queued, 15)
	handQueued := at(registry.Hand, registry.Queued, 3)
	// The order is overdue by two days: its line, and what it waits for, come before all else.
	want := []registry.Tag{"", handCheckLonger, handCheck, handBench, handQueued, treadleCheck, treadleBench,
		treadleQueuedLonger, treadleQueued}
	tags := func() (tags []registry.Tag) {
		list, err := w.Worklist(registrytest.Ctx, "")
		require.NoError(t, err)
		for _, task := range list.Tasks {
			tags = append(tags, task.Tag)
		}
		return tags
	}
	assert.Equal(t, want, tags())

	// A part that keeps back what an order waits for is looked for first.
	for _, tag := range []registry.Tag{treadleBench, handBench} {
		_, err := w.NeedSpare(registrytest.Ctx, "QX", tag, "handwheel")
		require.NoError(t, err)
	}
	list, err := w.Worklist(registrytest.Ctx, "coordinator")
	require.NoError(t, err)
	require.Len(t, list.Tasks, 3)
	assert.Equal(t, o.Number, list.Tasks[0].Order)
	assert.Equal(t, handBench, list.Tasks[1].Tag)
}

func TestNoMoreAreStartedForOrdersThanTheyAskFor(t *testing.T) {
	w := registrytest.Workshop(t)
	w.Config.Worklist.PriorPassed, w.Config.Worklist.PriorTested = 1_000_000, 1_000_000 // all pass
	o := &orders.Order{Partner: "Bridge Street", Due: "2031-06-01"}
	require.NoError(t, w.OpenOrder(registrytest.Ctx, "QX", o))
	require.NoError(t,
		w.AddLine(registrytest.Ctx, "QX",
			&orders.OrderLine{Order: o.Number, Wanted: orders.HandMachine, Asked: 1}))
	for range 5 {
		registrytest.Put(t, w, registry.Hand, func(m *stock.Machine) { m.Stage = registry.Queued })
	}
	list, err := w.Worklist(registrytest.Ctx, "bench")
	require.NoError(t, err)
	forOrders := 0
	for _, task := range list.Tasks {
		if strings.HasPrefix(task.Why, "orders ask for") {
			forOrders++
		}
	}
	assert.Equal(t, 2, forOrders, "1 at a bound just below 1 is 2 to start")
	assert.Len(t, list.Tasks, 5)
}

// A machine is held over N days on the Nth day.
func TestHeldShowsUpOnItsDay(t *testing.T) {
	w := registrytest.Workshop(t)
	now := w.Now()
	w.Now = func() time.Time { return now }
	for _, days := range []int{13, 14} {
		registrytest.Put(t, w, registry.Hand, func(m *stock.Machine) {
			m.Stage, m.HeldFrom, m.HeldWhy, m.StageSince = registry.Held, registry.Bench, "a reason",
				now.AddDate(0, 0, -days)
		})
		list, err := w.Worklist(registrytest.Ctx, "coordinator")
		require.NoError(t, err)
		assert.Len(t, list.Tasks, days-13)
	}
	for days, want := range map[int]string{1: "held for 1 day or more: a reason", 13: "held for 13 days or more: a reason"} {
		w.Config.Worklist.HeldDays = days
		list, err := w.Worklist(registrytest.Ctx, "coordinator")
		require.NoError(t, err)
		require.NotEmpty(t, list.Tasks)
		assert.Equal(t, want, list.Tasks[0].Why)
	}
}

// Figures added up by hand: what left to be used counts with its weight, as long as it did not come back.
func TestTheReportByHand(t *testing.T) {
	w := registrytest.Workshop(t)
	const gram = measure.Mass(1)
	weigh := func(stage registry.Stage, weight measure.Mass) registry.Tag {
		return registrytest.Put(t, w, registry.Hand,
			func(m *stock.Machine) { m.Stage, m.Weight = stage, weight })
	}
	weigh(registry.Shipped, 11_500*gram)
	weigh(registry.Sold, 8_000*gram)
	weigh(registry.Shipped, 0)
	weigh(registry.Scrapped, 9_000*gram)
	back := weigh(registry.Sold, 7_000*gram)
	_, err := w.Triage(registrytest.Ctx, "QX", back, "refurbish", "came back", "")
	require.NoError(t, err)
	s, err := w.Report(registrytest.Ctx, "", "")
	require.NoError(t, err)
	assert.Equal(t, 5, s.Received)
	assert.Equal(t, 2, s.Shipped)
	assert.Equal(t, 19.5, s.KeptKG)
	assert.Equal(t, 1, s.NotWeighed)
}

// What was finished before the stretch of time, and only came back to stock within it, is not finished again.
func TestFinishedIsWhatPassedItsTests(t *testing.T) {
	w := registrytest.Workshop(t)
	tag := registrytest.Put(t, w, registry.Hand, func(m *stock.Machine) { m.Stage = registry.Check })
	_, _, err := w.Test(registrytest.Ctx, "RS", tag, bench.TestForm{PassAll: true})
	require.NoError(t, err)
	later := w.Now().AddDate(0, 1, 0)
	w.Now = func() time.Time { return later }
	_, err = w.Hold(registrytest.Ctx, "QX", tag, "to be photographed")
	require.NoError(t, err)
	_, err = w.Release(registrytest.Ctx, "QX", tag, "")
	require.NoError(t, err)
	for days, want := range map[[2]string]int{{"", ""}: 1, {"2031-05-01", "2031-05-31"}: 1,
		{"2031-06-01", "2031-06-30"}: 0,
		{"", "9999-12-31"}:           1, {"9998-12-31", "9999-12-31"}: 0} {
		s, err := w.Report(registrytest.Ctx, days[0], days[1])
		require.NoError(t, err)
		assert.Equal(t, []int{want, want}, []int{s.Finished, s.FirstTested}, days)
	}
}
