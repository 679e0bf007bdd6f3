package orders_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/orders"
	"pitman/registry/registrytest"
	"pitman/registry/stock"
)

// A machine that an order counts on leaves it at once when a failed test holds it: the place is free, the
// order keeps why, and a pass brings the machine back to stock and not to the order.
func TestAPromisedMachineThatFailsLeavesItsOrder(t *testing.T) {
	w := registrytest.Workshop(t)
	o := &orders.Order{Partner: "Bridge Street", Due: "2031-06-01", Supply: "230V/50Hz/G"}
	require.NoError(t, w.OpenOrder(registrytest.Ctx, "QX", o))
	require.NoError(t,
		w.AddLine(registrytest.Ctx, "QX",
			&orders.OrderLine{Order: o.Number, Wanted: orders.ElectricOne, Asked: 1}))
	tag := registrytest.Put(t, w, registry.Electric, func(m *stock.Machine) { m.Stage = registry.Ready })
	m, _, err := w.Safety(registrytest.Ctx, "EL", tag, registrytest.GoodSafety())
	require.NoError(t, err)
	m.Plate.Plug = "G"
	require.NoError(t,
		w.Store.Update(registrytest.Ctx, &registry.Action{At: w.Now(), By: "QX", Verb: "set up"},
			func(tx stock.Tx) error { return tx.Put(m) }))
	require.NoError(t,
		w.Reserve(registrytest.Ctx, "QX", "", []orders.Reservation{{Order: o.Number, Line: 1, Head: *m}}))
	for range 2 {
		_, _, err = w.Safety(registrytest.Ctx, "EL", tag, registrytest.FailedSafety())
		require.NoError(t, err)
		v, err := w.ViewOrder(registrytest.Ctx, o.Number)
		require.NoError(t, err)
		assert.Empty(t, v.Sets, "its place is free")
		require.Len(t, v.Lost, 1)
		assert.Contains(t, v.Lost[0].OutWhy, string(tag)+": failed safety test")
		m, _, err = w.Safety(registrytest.Ctx, "EL", tag, registrytest.GoodSafety())
		require.NoError(t, err)
		assert.Equal(t, registry.Ready, m.Stage)
	}
	_, _, err = w.Safety(registrytest.Ctx, "EL", tag, registrytest.FailedSafety())
	require.NoError(t, err)
	m, err = w.BenchStart(registrytest.Ctx, "QX", tag, bench.WorkNote{})
	require.NoError(t, err)
	assert.Equal(t, registry.Bench, m.Stage)
	assert.Empty(t, string(m.HeldFrom)+m.HeldWhy+m.UnsafeWhy, "nothing of the hold is left")
	var work []bench.Work
	require.NoError(t,
		w.Store.View(registrytest.Ctx,
			func(r stock.Reader) error { return r.All(&work, stock.Fields{"tag": tag}) }))
	assert.Equal(t, work[len(work)-1].At, m.StageSince)
}
