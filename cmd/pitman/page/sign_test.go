package page_test

import (
	"context"
	"net/http"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/mains"
	"pitman/registry/pin/hash"
	"pitman/registry/stock"
)

// bare is electric by its name, and has nothing on it any more that takes the mains: converting it is signed.
func (st *stage) bare() registry.Tag {
	m := &stock.Machine{Maker: "Ostermann", Serial: "none", Drive: registry.Electric}
	for _, part := range mains.Kinds {
		m.MoveMains(mains.Off, part)
	}
	require.NoError(st.t, st.server.Log(context.Background(), "QX", m, true))
	return m.Tag
}

// A form that is to be signed comes back with a field for the PIN, and with all that was typed but that.
func TestSigningOnAPage(t *testing.T) {
	st := newStage(t)
	st.server.Pins.Cost = hash.Cost{Passes: 1, MemoryKiB: 8, Lanes: 1}
	st.server.Config.Safety.Competent = []string{"EL", "RS"}
	v := st.paired("EL")
	first, second := st.bare(), st.bare()
	path := "/m/" + string(first) + "/convert"
	status, text := v.post(path, fill(v.form(path), "to", "hand"))
	require.Equal(t, http.StatusSeeOther, status, text)
	_, text = v.get("/m/" + string(first))
	assert.Contains(t, text, "You signed without a PIN, since nobody here has one yet")

	_, err := st.server.Pins.Set(context.Background(), "EL", "EL", "482911")
	require.NoError(t, err)
	path = "/m/" + string(second) + "/convert"
	form := fill(v.form(path), "to", "hand", "why", "the motor went to another")
	status, text = v.post(path, form)
	assert.Equal(t, http.StatusConflict, status)
	assert.Contains(t, text, `type="password" id="pin"`)
	assert.Contains(t, text, "the motor went to another")
	assert.Contains(t, text, "PIN of EL")
	status, text = v.post(path, fill(form, "pin", "000000"))
	assert.Equal(t, http.StatusConflict, status)
	assert.Contains(t, text, "is not the PIN of EL")
	assert.NotContains(t, text, "000000")
	assert.Equal(t, registry.Electric, st.machine(second).Drive)

	other := st.paired("RS")
	status, text = other.post(path, fill(other.form(path), "to", "hand", "pin", "482911"))
	assert.Equal(t, http.StatusConflict, status)
	assert.Contains(t, text, "RS has no PIN")
	assert.Equal(t, registry.Electric, st.machine(second).Drive)

	status, text = v.post(path, fill(form, "pin", "482911"))
	require.Equal(t, http.StatusSeeOther, status, text)
	assert.Equal(t, registry.Hand, st.machine(second).Drive)
	assert.NotContains(t, st.said.String(), "482911")
	done := st.actions()
	status, _ = v.post(path, form)
	assert.Equal(t, http.StatusSeeOther, status)
	assert.Equal(t, done, st.actions(), "a form that is sent twice is signed once")
}
