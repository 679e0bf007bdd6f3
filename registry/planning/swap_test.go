package planning_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/electrical"
	"pitman/registry/measure"
	"pitman/registry/orders"
	"pitman/registry/registrytest"
	"pitman/registry/stock"
)

// Least work comes first, then what came first; a head goes out of its place into stock.
func TestSwapTakesTheLeastWorkThenTheOldest(t *testing.T) {
	w := registrytest.OrderWorkshop(t)
	out, b := registrytest.TreadleHead(241*registrytest.Mm), registrytest.TreadleBase(241*registrytest.Mm)
	registrytest.InHand(t, w, out, b)
	number := registrytest.Confirmed(t, w, orders.OrderLine{Wanted: orders.TreadleSet, Asked: 1})

	laborious, young, old, misfit := registrytest.TreadleHead(241*registrytest.Mm),
		registrytest.TreadleHead(241*registrytest.Mm), registrytest.TreadleHead(241*registrytest.Mm),
		registrytest.TreadleHead(300*registrytest.Mm)
	// the handwheel has to be swapped
	laborious.Groove, laborious.LoggedAt = stock.No, w.Now().AddDate(0, 0, -30)
	old.LoggedAt = w.Now().AddDate(0, 0, -10)
	misfit.LoggedAt = w.Now().AddDate(0, 0, -50)
	registrytest.InHand(t, w, laborious, misfit, young, old)
	for _, in := range []*stock.Machine{old, young, laborious} {
		p, err := w.Swap(registrytest.Ctx, "QX", out.Tag, "", "")
		require.NoError(t, err)
		assert.Equal(t, in.Tag, p.Head.Tag)
		v, err := w.ViewOrder(registrytest.Ctx, number)
		require.NoError(t, err)
		require.Len(t, v.Sets, 1)
		assert.Equal(t, []registry.Tag{in.Tag, b.Tag}, []registry.Tag{v.Sets[0].Head, v.Sets[0].Base})
		assert.Equal(t, p.Minutes, v.Sets[0].Minutes)
		// so that it is not taken again
		_, err = w.Amend(registrytest.Ctx, "QX", out.Tag, "",
			func(m *stock.Machine) error { m.Pins = 300 * registrytest.Mm; return nil })
		require.NoError(t, err)
		out = in
	}
	near := registrytest.TreadleHead(250 * registrytest.Mm)
	registrytest.InHand(t, w, near)
	_, err := w.Swap(registrytest.Ctx, "QX", out.Tag, "", "")
	assert.ErrorContains(t, err, string(near.Tag)+" with "+string(b.Tag)+
		": pin centres: head 250 mm, base 241 mm", "the nearest misfit is named")
	_, err = w.Swap(registrytest.Ctx, "QX", out.Tag, misfit.Tag, "")
	assert.ErrorContains(t, err, string(misfit.Tag)+" with "+string(b.Tag))
}

// A safety pass that no longer stands keeps a head out, whether it is looked for or named.
func TestSwapTakesOnlyWhatIsUsable(t *testing.T) {
	w := registrytest.OrderWorkshop(t)
	electric := func() *stock.Machine {
		m := registrytest.TreadleHead(0)
		m.Drive, m.SafetyAt, m.SafetyBy, m.Class = registry.Electric, w.Now(), "QX", "II"
		m.Plate = electrical.Nameplate{Motor: "brush", Plug: "G",
			Volts: measure.Rating{{Low: 230, High: 230}}}
		return m
	}
	out := electric()
	registrytest.InHand(t, w, out)
	registrytest.Confirmed(t, w, orders.OrderLine{Wanted: orders.ElectricOne, Asked: 1})
	stale := electric()
	stale.SafetyAt, stale.LoggedAt = w.Now().AddDate(-2, 0, 0), w.Now().AddDate(-3, 0, 0)
	registrytest.InHand(t, w, stale)
	_, err := w.Swap(registrytest.Ctx, "QX", out.Tag, "", "")
	assert.ErrorContains(t, err, "no other head in stock is for that line")
	_, err = w.Swap(registrytest.Ctx, "QX", out.Tag, stale.Tag, "")
	assert.ErrorContains(t, err, "takes the mains, without a safety pass that stands")
	fresh := electric()
	registrytest.InHand(t, w, fresh)
	p, err := w.Swap(registrytest.Ctx, "QX", out.Tag, "", "")
	require.NoError(t, err)
	assert.Equal(t, fresh.Tag, p.Head.Tag)
}
