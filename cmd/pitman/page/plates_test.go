package page_test

import (
	"bytes"
	"image"
	"image/png"
	"net/http"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/photo"
	"pitman/registry/pictures"
	"pitman/registry/registrytest"
	"pitman/registry/stock"
)

// Whoever reads a plate again is not led by what was typed.
func TestAPlateIsReadWithoutWhatWasTyped(t *testing.T) {
	st := newStage(t)
	tag := st.logged(registry.Hand)
	serial := st.machine(tag).Serial
	v := st.paired("HB")
	_, text := v.get("/m/" + string(tag))
	assert.NotContains(t, text, "/plate\"", "there is no picture to read")
	require.NoError(t, st.server.AddPhoto(t.Context(), "QX", &pictures.Photo{Tag: tag, Shows: "plate",
		Name: strings.Repeat("5c", 32), Width: 4, Height: 3}))
	_, text = v.get("/m/" + string(tag))
	assert.Contains(t, text, "/plate\"")
	_, text = v.get("/")
	assert.Contains(t, text, `href="/plates"`, "the worklist leads there")
	path := "/m/" + string(tag) + "/plate"
	_, text = v.get("/plates")
	assert.Contains(t, text, path)
	assert.NotContains(t, text, serial)
	status, text := v.get(path)
	assert.Equal(t, http.StatusOK, status)
	assert.Contains(t, text, "/photos/"+strings.Repeat("5c", 32))
	assert.NotContains(t, text, serial)

	status, text = v.post(path, fill(v.form(path), "serial", serial+"7"))
	assert.Equal(t, http.StatusConflict, status)
	assert.Contains(t, text, "look at the picture once more")
	assert.Contains(t, text, "/m/"+string(tag)+"/correct", "it can be corrected")
	status, _ = v.post(path, fill(v.form(path), "serial", strings.ToLower(serial)))
	assert.Equal(t, http.StatusSeeOther, status)
	_, text = v.get("/plates")
	assert.Contains(t, text, "you read "+serial)
	assert.NotContains(t, text, path)
	_, text = v.get("/m/" + string(tag))
	assert.Contains(t, text, "serial read again")
}

// What right looks like stands beside the point that is asked.
func TestAHousesOwnPictureStandsBesideAPoint(t *testing.T) {
	st := newStage(t)
	tag := registrytest.Put(t, st.server.Workshop, registry.Hand,
		func(m *stock.Machine) { m.Stage = registry.Check })
	v := st.paired("HB")
	_, text := v.get("/m/" + string(tag) + "/test")
	assert.NotContains(t, text, "/examples/")
	x, err := st.server.Examples.Parse("point", "tension")
	require.NoError(t, err)
	var picture bytes.Buffer
	require.NoError(t, png.Encode(&picture, image.NewGray(image.Rect(0, 0, 8, 6))))
	taken, err := photo.Take(t.Context(), &picture)
	require.NoError(t, err)
	require.NoError(t, st.server.Examples.Put(x, taken))
	_, text = v.get("/m/" + string(tag) + "/test")
	assert.Equal(t, 1, strings.Count(text, `<img class="shown" src="/examples/point%20tension.jpg"`))
	status, text := v.get("/examples/point%20tension.jpg")
	assert.Equal(t, http.StatusOK, status)
	assert.Equal(t, string(taken.Bytes), text)
	status, _ = v.get("/examples/..%2fpitman.db")
	assert.Equal(t, http.StatusNotFound, status)
}
