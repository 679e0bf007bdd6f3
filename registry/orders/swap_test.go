package orders_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/orders"
)

// confirmed is an order with what the proposal put onto it.
func confirmed(t *testing.T, w *registry.Workshop, line registry.OrderLine) string {
	t.Helper()
	number := order(t, w, "2032-03-01", 0, line)
	p, err := orders.Propose(ctx, w, nil)
	require.NoError(t, err)
	require.NotEmpty(t, p.Reservations)
	require.NoError(t, w.Reserve(ctx, "QX", "", p.Reservations))
	return number
}

// Least work comes first, then what came first; a head goes out of its place into stock.
func TestSwapTakesTheLeastWorkThenTheOldest(t *testing.T) {
	w := workshop(t)
	out, b := head(241*mm), base(241*mm)
	stock(t, w, out, b)
	number := confirmed(t, w, registry.OrderLine{Wanted: registry.TreadleSet, Asked: 1})

	laborious, young, old, misfit := head(241*mm), head(241*mm), head(241*mm), head(300*mm)
	laborious.Groove, laborious.LoggedAt = registry.No, w.Now().AddDate(0, 0, -30) // the handwheel has to be swapped
	old.LoggedAt = w.Now().AddDate(0, 0, -10)
	misfit.LoggedAt = w.Now().AddDate(0, 0, -50)
	stock(t, w, laborious, misfit, young, old)
	for _, in := range []*registry.Machine{old, young, laborious} {
		p, err := orders.Swap(ctx, w, "QX", out.Tag, "", "")
		require.NoError(t, err)
		assert.Equal(t, in.Tag, p.Head.Tag)
		v, err := w.ViewOrder(ctx, number)
		require.NoError(t, err)
		require.Len(t, v.Sets, 1)
		assert.Equal(t, []registry.Tag{in.Tag, b.Tag}, []registry.Tag{v.Sets[0].Head, v.Sets[0].Base})
		assert.Equal(t, p.Minutes, v.Sets[0].Minutes)
		_, err = w.Amend(ctx, "QX", out.Tag, "", func(m *registry.Machine) error { m.Pins = 300 * mm; return nil }) // so that it is not taken again
		require.NoError(t, err)
		out = in
	}
	near := head(250 * mm)
	stock(t, w, near)
	_, err := orders.Swap(ctx, w, "QX", out.Tag, "", "")
	assert.ErrorContains(t, err, string(near.Tag)+" with "+string(b.Tag)+": pin centres: head 250 mm, base 241 mm", "the nearest misfit is named")
	_, err = orders.Swap(ctx, w, "QX", out.Tag, misfit.Tag, "")
	assert.ErrorContains(t, err, string(misfit.Tag)+" with "+string(b.Tag))
}

// A safety pass that no longer stands keeps a head out, whether it is looked for or named.
func TestSwapTakesOnlyWhatIsUsable(t *testing.T) {
	w := workshop(t)
	electric := func() *registry.Machine {
		m := head(0)
		m.Drive, m.SafetyAt, m.SafetyBy, m.Class = registry.Electric, w.Now(), "QX", "II"
		m.Plate = registry.Nameplate{Motor: "brush", Plug: "G", Volts: registry.Rating{{Low: 230, High: 230}}}
		return m
	}
	out := electric()
	stock(t, w, out)
	confirmed(t, w, registry.OrderLine{Wanted: registry.ElectricOne, Asked: 1})
	stale := electric()
	stale.SafetyAt, stale.LoggedAt = w.Now().AddDate(-2, 0, 0), w.Now().AddDate(-3, 0, 0)
	stock(t, w, stale)
	_, err := orders.Swap(ctx, w, "QX", out.Tag, "", "")
	assert.ErrorContains(t, err, "no other head in stock is for that line")
	_, err = orders.Swap(ctx, w, "QX", out.Tag, stale.Tag, "")
	assert.ErrorContains(t, err, "is electric, without a safety pass that stands")
	fresh := electric()
	stock(t, w, fresh)
	p, err := orders.Swap(ctx, w, "QX", out.Tag, "", "")
	require.NoError(t, err)
	assert.Equal(t, fresh.Tag, p.Head.Tag)
}
