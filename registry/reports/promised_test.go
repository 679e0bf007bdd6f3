package reports_test

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/orders"
	"pitman/registry/promise"
	"pitman/registry/registrytest"
	"pitman/registry/reports"
	"pitman/registry/stock"
)

// An overdue order stands on top, also where not one machine of its kind is in the house, and no number of
// heads is named for places that lack a base.
func TestAnOverdueOrderStandsOnTop(t *testing.T) {
	w := registrytest.OrderWorkshop(t)
	unsafe := registrytest.TreadleHead(0)
	unsafe.Drive, unsafe.Stage, unsafe.HeldFrom, unsafe.UnsafeWhy = registry.Electric, registry.Held,
		registry.Check, "earth 3 ohm"
	registrytest.InHand(t, w, registrytest.TreadleHead(241*registrytest.Mm),
		registrytest.TreadleHead(241*registrytest.Mm), unsafe)
	late := registrytest.OpenOrder(t, w, "2031-03-15", 0,
		orders.OrderLine{Wanted: orders.TreadleSet, Asked: 13})
	now := time.Date(2031, 5, 4, 9, 0, 0, 0, time.UTC)
	w.Now = func() time.Time { return now }
	list, err := w.Worklist(registrytest.Ctx, "")
	require.NoError(t, err)
	require.NotEmpty(t, list.Tasks)
	top := list.Tasks[0]
	assert.Equal(t, []string{late, "2031-03-15", "coordinator"}, []string{top.Order, top.Due, top.For})
	assert.Contains(t, top.Why, "overdue by 50 days")
	i := slices.IndexFunc(list.Demand,
		func(d reports.DriveDemand) bool { return d.Drive == registry.Treadle })
	d := list.Demand[i]
	p, err := w.Propose(registrytest.Ctx, nil)
	require.NoError(t, err)
	assert.Equal(t, float64(p.Orders[0].Lines[0].Short), d.Missing, "as the proposal says")
	assert.Equal(t, []int{13, 0, 13}, []int{d.Open, d.Ready, d.NoBase}, "two heads are ready, and no base")
	require.NotNil(t, d.ToStart)
	assert.Zero(t, *d.ToStart)
	assert.Equal(t, reports.WhyNoBase, d.Why)
}

// What a place was promised with stands there with its order's day, until it is done, tried and packed.
func TestPromisedWorkStandsInTheWorklist(t *testing.T) {
	w := registrytest.OrderWorkshop(t)
	w.Spares.Lists.Kits = nil
	head := registrytest.TreadleHead(241 * registrytest.Mm)
	head.Groove = stock.No
	base := registrytest.TreadleBase(241 * registrytest.Mm)
	registrytest.InHand(t, w, head, base)
	number := registrytest.OpenOrder(t, w, "2032-03-01", 0,
		orders.OrderLine{Wanted: orders.TreadleSet, Asked: 1})
	p, err := w.Propose(registrytest.Ctx, nil)
	require.NoError(t, err)
	require.Len(t, p.Reservations, 1)
	require.NoError(t, w.Reserve(registrytest.Ctx, "QX", "", p.Reservations))
	lines := func() (does []string) {
		list, err := w.Worklist(registrytest.Ctx, "")
		require.NoError(t, err)
		for _, task := range list.Tasks {
			assert.Equal(t, number, task.Order, task.Do)
			assert.Equal(t, "2032-03-01", task.Due)
			does = append(does, task.For+": "+task.Do)
		}
		return does
	}
	assert.Equal(t, []string{"bench: swap handwheel"}, lines())
	_, err = w.WorkIsDone(registrytest.Ctx, "QX", number, number+"-1", 20)
	require.NoError(t, err)
	assert.Equal(t, []string{"tester: function test"}, lines())
	require.NoError(t, w.Store.Update(registrytest.Ctx, &registry.Action{At: w.Now(), By: "RS", Verb: "test"},
		func(tx stock.Tx) error {
			s, err := promise.SetOf(tx, head.Tag)
			require.NoError(t, err)
			s.TriedAt, s.TriedBy = w.Now(), "RS"
			return tx.Put(s)
		}))
	assert.Equal(t, []string{"bench: pack"}, lines())
	_, err = w.Pack(registrytest.Ctx, "QX", number, []registry.Tag{head.Tag, base.Tag}, "")
	require.NoError(t, err)
	assert.Equal(t, []string{"coordinator: send what is packed"}, lines())
}

// A person's list has what that person may do.
func TestAPersonsLines(t *testing.T) {
	w := registrytest.Workshop(t)
	w.Config.Worklist.Skills = map[string][]string{"WD": {"wood"}, "TM": {"test", "electrical"}}
	w.Config.House.Coordinators = []string{"CO"}
	w.Config.Safety.Competent = []string{"EL"}
	registrytest.Put(t, w, registry.Hand, func(m *stock.Machine) { m.Stage = registry.Check })
	registrytest.Put(t, w, registry.Electric, func(m *stock.Machine) { m.Stage = registry.Check })
	registrytest.Put(t, w, registry.Hand, func(m *stock.Machine) { m.Stage = registry.Queued })
	registrytest.Put(t, w, registry.Hand, func(m *stock.Machine) { m.Stage = registry.Logged })
	for who, want := range map[string][]string{
		"WD": {},
		"TM": {"function test"}, // the list of skills makes nobody competent
		"EL": {"safety test", "function test", "start"},
		"CO": {"function test", "triage", "start"},
		"ZZ": {"function test", "start"},
	} {
		list, err := w.Worklist(registrytest.Ctx, who)
		require.NoError(t, err)
		does := []string{}
		for _, task := range list.Tasks {
			does = append(does, task.Do)
		}
		assert.ElementsMatch(t, want, does, who)
	}
}

// A year typed with a digit missing is centuries overdue, counted by a calendar: 0203-03-01 is 667,728 days
// before 2031-05-04 (days from 0001-01-01 by the rule of leap years: 741,566 and 73,838).
func TestCenturiesOverdueAreCounted(t *testing.T) {
	w := registrytest.OrderWorkshop(t)
	registrytest.OpenOrder(t, w, "0203-03-01", 0, orders.OrderLine{Wanted: orders.HandMachine, Asked: 1})
	registrytest.OpenOrder(t, w, "2031-05-03", 0, orders.OrderLine{Wanted: orders.HandMachine, Asked: 1})
	w.Now = func() time.Time { return time.Date(2031, 5, 4, 9, 0, 0, 0, time.UTC) }
	list, err := w.Worklist(registrytest.Ctx, "")
	require.NoError(t, err)
	require.Len(t, list.Tasks, 2)
	assert.Contains(t, list.Tasks[0].Why, "overdue by 667728 days")
	assert.Contains(t, list.Tasks[1].Why, "overdue by 1 day;")
}
