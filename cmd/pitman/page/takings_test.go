package page_test

import (
	"net/http"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
)

// What a sale brought is entered with it, and a slip in the amount sells nothing.
func TestASaleOnAPageTellsWhatItBrought(t *testing.T) {
	st := newStage(t)
	v := st.paired("QX")
	tag := st.logged(registry.Hand)
	path := "/m/" + string(tag) + "/sale"
	status, text := v.post(path, fill(v.form(path), "why", "nobody needs it", "brought", "lots"))
	require.Equal(t, http.StatusBadRequest, status)
	assert.Contains(t, text, `value="lots"`)
	assert.Equal(t, registry.Logged, st.machine(tag).Stage)
	status, text = v.post(path, fill(v.form(path), "why", "nobody needs it", "brought", "45.50 EUR"))
	require.Equal(t, http.StatusSeeOther, status, text)
	assert.Equal(t, registry.Sold, st.machine(tag).Stage)
	list, err := st.server.ListTakings(t.Context())
	require.NoError(t, err)
	require.Len(t, list, 1)
	assert.Equal(t, tag, list[0].Tag)
	assert.Equal(t, "45.50", list[0].Brought.String())

	_, text = v.get("/m/" + string(st.logged(registry.Hand)) + "/parts")
	assert.NotContains(t, text, "brought", "stripping brings nothing")
}
