package recall_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/electrical"
	"pitman/registry/house"
	"pitman/registry/orders"
	"pitman/registry/promise"
	"pitman/registry/registrytest"
	"pitman/registry/stock"
)

// Source: IET Code of Practice for In-Service Inspection and Testing, 5 mA in its 5th edition and 0.75 mA for
// portable class I in its 4th: what passed by the one is judged again by the other.
func TestPassesOfAnotherEditionLapse(t *testing.T) {
	w := registrytest.Workshop(t)
	w.Config.Safety.Limits.Edition = 5
	leaking := registrytest.GoodSafety()
	leaking.Class, leaking.Earth, leaking.CordLength, leaking.CordArea = "I", "0.12", "2", "0.75"
	leaking.Polarity, leaking.Plug, leaking.Leakage = "pass", "G", "3.4"
	sound := leaking
	sound.Leakage = "0.4"
	bad, good := ready(t, w, leaking), ready(t, w, sound)
	promised := ready(t, w, leaking)
	number := registrytest.OpenOrder(t, w, "2032-03-01", 0,
		orders.OrderLine{Wanted: orders.ElectricOne, Asked: 1})
	head, err := w.Machine(registrytest.Ctx, promised)
	require.NoError(t, err)
	require.NoError(t, w.Reserve(registrytest.Ctx, "QX", "",
		[]orders.Reservation{{Order: number, Line: 1, Head: *head}}))

	lapsed, err := w.Rejudge(registrytest.Ctx)
	require.NoError(t, err)
	assert.Empty(t, lapsed, "by the edition that they were made by")

	w.Config.Safety.Limits.Edition = 4
	lapsed, err = w.Rejudge(registrytest.Ctx)
	require.NoError(t, err)
	require.Len(t, lapsed, 2)
	for _, tag := range []registry.Tag{bad, promised} {
		m, err := w.Machine(registrytest.Ctx, tag)
		require.NoError(t, err)
		assert.Equal(t, registry.Check, m.Stage)
		assert.Contains(t, w.Warnings(m), registry.DoNotPlugIn)
	}
	m, err := w.Machine(registrytest.Ctx, good)
	require.NoError(t, err)
	assert.Equal(t, registry.Ready, m.Stage)
	var lost []promise.OrderSet
	require.NoError(t, w.Store.View(registrytest.Ctx, func(r stock.Reader) (err error) {
		lost, err = promise.LostSets(r, number)
		return err
	}))
	require.Len(t, lost, 1)
	assert.Contains(t, lost[0].OutWhy, "leakage 3.4 mA, limit at most 0.75 mA")

	_, err = w.UndoOn(registrytest.Ctx, "EL", bad)
	assert.ErrorContains(t, err, "it follows from the rules")
	again, err := w.Rejudge(registrytest.Ctx)
	require.NoError(t, err)
	assert.Empty(t, again)
}

// ready is an electric machine that passed both tests.
func ready(t *testing.T, w *house.Workshop, form electrical.SafetyForm) registry.Tag {
	t.Helper()
	tag := registrytest.Put(t, w, registry.Electric, func(m *stock.Machine) { m.Stage = registry.Check })
	_, tested, err := w.Safety(registrytest.Ctx, "EL", tag, form)
	require.NoError(t, err)
	require.True(t, tested.Pass, tested.Hold)
	_, _, err = w.Test(registrytest.Ctx, "QX", tag, bench.TestForm{PassAll: true})
	require.NoError(t, err)
	return tag
}
