package work_test

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

// What waits for its test after another plug was fitted for its order goes back to its tests, and not to
// ready, when it is held meanwhile.
func TestAHeldMachineWithANewPlugIsUntested(t *testing.T) {
	w := registrytest.Workshop(t)
	tag := registrytest.Put(t, w, registry.Electric, func(m *stock.Machine) { m.Stage = registry.Check })
	form := registrytest.GoodSafety()
	form.Plug, form.Volts, form.Hertz = "F", "230", "50"
	_, test, err := w.Safety(registrytest.Ctx, "EL", tag, form)
	require.NoError(t, err)
	require.True(t, test.Pass, test.Hold)
	_, _, err = w.Test(registrytest.Ctx, "RS", tag, bench.TestForm{PassAll: true})
	require.NoError(t, err)
	o := &orders.Order{Partner: "Marsh Lane centre", Due: "2032-03-01", Supply: "230V/50Hz/G"}
	require.NoError(t, w.OpenOrder(registrytest.Ctx, "QX", o))
	require.NoError(t, w.AddLine(registrytest.Ctx, "QX",
		&orders.OrderLine{Order: o.Number, Wanted: orders.ElectricOne, Asked: 1}))
	p, err := w.Propose(registrytest.Ctx, nil)
	require.NoError(t, err)
	require.Len(t, p.Reservations, 1)
	require.NoError(t, w.Reserve(registrytest.Ctx, "QX", "", p.Reservations))
	_, err = w.WorkIsDone(registrytest.Ctx, "EL", o.Number, o.Number+"-1", 5)
	require.NoError(t, err)
	m, err := w.Hold(registrytest.Ctx, "QX", tag, "a screw is missing")
	require.NoError(t, err)
	assert.Equal(t, registry.Check, m.HeldFrom)
	registrytest.VerifiesClean(t, w)
}
