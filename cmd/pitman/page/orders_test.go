package page_test

import (
	"net/http"
	"net/url"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/orders"
	"pitman/registry/registrytest"
	"pitman/registry/spares"
	"pitman/registry/stock"
)

// An order is packed piece by piece, whatever is sent twice or belongs elsewhere, and leaves when all is in.
func TestAnOrderIsPackedAndShipped(t *testing.T) {
	st := newStage(t)
	w := st.server.Workshop
	w.Lists.Spares.Kits = func() ([]spares.KitRow, error) {
		return []spares.KitRow{{Part: "needle", Drives: registry.DriveSet{registry.Hand}, Quantity: 2}}, nil
	}
	v := st.paired("QX")
	var tags []registry.Tag
	for range 3 {
		tags = append(tags, registrytest.Put(t, w, registry.Hand, func(m *stock.Machine) {
			m.Stage, m.TestedBy, m.TestedAt = registry.Ready, "MB", w.Now()
		}))
	}
	o := &orders.Order{Partner: "Marsh Lane centre", Due: "2032-03-01"}
	require.NoError(t, w.OpenOrder(t.Context(), "TV", o))
	require.NoError(t, w.AddLine(t.Context(), "TV",
		&orders.OrderLine{Order: o.Number, Wanted: orders.HandMachine, Asked: 2}))
	at := "/orders/" + o.Number
	_, text := v.get(at)
	assert.Contains(t, text, "Nothing is on it yet")
	var slots []orders.Reservation
	for _, tag := range tags[:2] {
		slots = append(slots, orders.Reservation{Order: o.Number, Line: 1, Head: *st.machine(tag)})
	}
	require.NoError(t, w.Reserve(t.Context(), "TV", "", slots))
	_, text = v.get("/orders")
	assert.Contains(t, text, "Marsh Lane centre")
	_, text = v.get(at)
	assert.Contains(t, text, "Still to pack: 2")

	status, text := v.post(at, url.Values{"key": {newKey()}, "tag": {string(tags[2])}})
	assert.Equal(t, http.StatusConflict, status)
	assert.Contains(t, text, "is not on order "+o.Number)
	status, text = v.post(at, url.Values{"key": {newKey()}, "tag": {"what?"}})
	assert.Equal(t, http.StatusConflict, status)
	assert.Contains(t, text, "refused")
	status, text = v.post(at, url.Values{"key": {newKey()}, "do": {"ship"}})
	assert.Equal(t, http.StatusConflict, status, text)
	assert.Equal(t, registry.Reserved, st.machine(tags[0]).Stage)

	// What goes with it is shown first, and is put with it only when that is sent again; without it, it stays
	// out.
	form := url.Values{"key": {newKey()}, "tag": {string(tags[0])}}
	_, text = v.post(at, form)
	assert.Contains(t, text, "Put with it:")
	assert.Contains(t, text, "2 × needle")
	form.Set("with", string(tags[0]))
	status, text = v.post(at, form)
	assert.Equal(t, http.StatusConflict, status)
	assert.Contains(t, text, "short of 2 × needle")
	assert.Equal(t, registry.Reserved, st.machine(tags[0]).Stage, "a GET and refusals pack nothing")
	_, err := w.CountSupply(t.Context(), "QX", "needle", 4)
	require.NoError(t, err)
	// One that is on this order is no part of another, whatever is sent on: nothing leaves the stock for it.
	elsewhere := &orders.Order{Partner: "Fernhill room", Due: "2032-04-01"}
	require.NoError(t, w.OpenOrder(t.Context(), "TV", elsewhere))
	wrong := url.Values{"key": {newKey()}, "tag": {string(tags[0])}}
	for _, with := range []string{"", string(tags[0])} {
		wrong.Set("with", with)
		status, text = v.post("/orders/"+elsewhere.Number, wrong)
		assert.Equal(t, http.StatusConflict, status)
		assert.Contains(t, text, "nothing was changed")
		kit, err := w.Kit(t.Context(), tags[0], spares.Leaving{})
		require.NoError(t, err)
		assert.Equal(t, 0, kit.Lines[0].Have)
		assert.Equal(t, 4, kit.Lines[0].Stock)
	}
	for range 2 {
		status, text = v.post(at, form)
		assert.Equal(t, http.StatusOK, status)
		assert.Contains(t, text, "Still to pack: 1", "sent twice, it is packed once")
	}
	_, text = v.post(at, url.Values{"key": {newKey()}, "tag": {string(tags[1])}, "with": {string(tags[1])}})
	assert.Contains(t, text, "Everything on it is packed")

	key := newKey()
	for range 2 {
		status, _ = v.post(at, url.Values{"key": {key}, "do": {"ship"}})
		assert.Equal(t, http.StatusSeeOther, status)
	}
	_, text = v.get("/orders")
	assert.NotContains(t, text, "Marsh Lane centre")
	for _, tag := range tags[:2] {
		assert.Equal(t, registry.Shipped, st.machine(tag).Stage)
	}
	assert.Equal(t, registry.Ready, st.machine(tags[2]).Stage)
}
