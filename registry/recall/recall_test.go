package recall_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/house"
	"pitman/registry/orders"
	"pitman/registry/recall"
	"pitman/registry/registrytest"
	"pitman/registry/stock"
)

func TestARecallHoldsWhatIsHereAndListsWhatLeft(t *testing.T) {
	w := registrytest.Workshop(t)
	form := registrytest.GoodSafety()
	free, promised, held, shipped := ready(t, w, form), ready(t, w, form), ready(t, w, form),
		ready(t, w, form)
	number := registrytest.OpenOrder(t, w, "2032-03-01", 0,
		orders.OrderLine{Wanted: orders.ElectricOne, Asked: 2})
	for _, tag := range []registry.Tag{promised, shipped} {
		m, err := w.Machine(registrytest.Ctx, tag)
		require.NoError(t, err)
		require.NoError(t, w.Reserve(registrytest.Ctx, "QX", "",
			[]orders.Reservation{{Order: number, Line: 1, Head: *m}}))
	}
	put(t, w, shipped, func(m *stock.Machine) { m.Stage = registry.Shipped })
	_, err := w.Hold(registrytest.Ctx, "QX", held, "waits for a belt")
	require.NoError(t, err)
	by := recall.Which{Tester: "EL"}
	found, err := w.Recalled(registrytest.Ctx, by)
	require.NoError(t, err)
	assert.Equal(t, 4, found.Passes)
	assert.Len(t, found.Here, 3)
	require.Len(t, found.Left, 1)
	assert.Equal(t, "Marsh Lane centre", found.Left[0].Partner)
	assert.Equal(t, number, found.Left[0].Order)

	_, err = w.Withdraw(registrytest.Ctx, "QX", by, "was taught wrongly")
	require.NoError(t, err)
	for _, tag := range []registry.Tag{free, promised, held} {
		m, err := w.Machine(registrytest.Ctx, tag)
		require.NoError(t, err)
		assert.Equal(t, registry.Held, m.Stage)
		assert.Equal(t, registry.Check, m.HeldFrom)
		assert.Contains(t, m.HeldWhy, "safety pass withdrawn: was taught wrongly")
		assert.Contains(t, w.Warnings(m), registry.DoNotPlugIn)
	}
	m, err := w.Machine(registrytest.Ctx, held)
	require.NoError(t, err)
	assert.Contains(t, m.HeldWhy, "waits for a belt")
	m, err = w.Machine(registrytest.Ctx, shipped)
	require.NoError(t, err)
	assert.Equal(t, registry.Shipped, m.Stage, "what left is judged by the rules of its day")
}

// An empty visit to the bench that is taken back gives the pass back, but not one that was withdrawn
// meanwhile.
func TestAWithdrawnPassIsNotRevived(t *testing.T) {
	w := registrytest.Workshop(t)
	tag := ready(t, w, registrytest.GoodSafety())
	_, err := w.BenchStart(registrytest.Ctx, "QX", tag, bench.WorkNote{})
	require.NoError(t, err)
	_, err = w.Withdraw(registrytest.Ctx, "MB", recall.Which{Tester: "EL"}, "was taught wrongly")
	require.NoError(t, err)
	_, err = w.UndoOn(registrytest.Ctx, "QX", tag)
	require.NoError(t, err, "the recall is taken back first")
	_, err = w.Withdraw(registrytest.Ctx, "MB", recall.Which{Tester: "EL"}, "was taught wrongly")
	require.NoError(t, err)
	_, err = w.Undo(registrytest.Ctx, "QX")
	if err == nil {
		_, err = w.Undo(registrytest.Ctx, "QX")
	}
	assert.ErrorContains(t, err, "which rests on it")
	m, err := w.Machine(registrytest.Ctx, tag)
	require.NoError(t, err)
	assert.True(t, m.SafetyAt.IsZero())
}

// put sets a machine to what led there otherwise.
func put(t *testing.T, w *house.Workshop, tag registry.Tag, change func(*stock.Machine)) {
	t.Helper()
	require.NoError(t, w.Act(registrytest.Ctx, "QX", "ship", "", func(tx stock.Tx) error {
		m, err := stock.MachineByTag(tx, tag)
		if err != nil {
			return err
		}
		change(m)
		return tx.Put(m)
	}))
}
