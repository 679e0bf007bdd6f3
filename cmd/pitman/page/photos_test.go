package page_test

import (
	"bytes"
	"image"
	"image/png"
	"net/http"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/photo"
)

// A picture is in the house only while a record shows it, whatever is refused or sent twice.
func TestNoPictureIsKeptThatNoRecordShows(t *testing.T) {
	st := newStage(t)
	tag := st.logged(registry.Hand)
	v, at := st.paired("QX"), "/m/"+string(tag)
	var picture bytes.Buffer
	require.NoError(t, png.Encode(&picture, image.NewGray(image.Rect(0, 0, 8, 6))))
	kept := func() []string {
		t.Helper()
		names, err := st.server.Photos.Names()
		require.NoError(t, err)
		return names
	}

	first := v.form(at + "/photo")
	first.Set("shows", "evil")
	status, _ := v.upload(at+"/photo", first, "photo", picture.Bytes())
	assert.Equal(t, http.StatusBadRequest, status)
	assert.Empty(t, kept(), "what is refused is not kept")

	first.Set("shows", "plate")
	status, text := v.upload(at+"/photo", first, "photo", picture.Bytes())
	require.Equal(t, http.StatusSeeOther, status, text)
	require.Len(t, kept(), 1)
	file := "/photos/" + photo.FileName(kept()[0])
	status, _ = v.get(file)
	assert.Equal(t, http.StatusOK, status)

	gone := v.form(at + "/photo-remove")
	gone.Set("which", kept()[0])
	gone.Set("for-good", "yes")
	status, text = v.post(at+"/photo-remove", gone)
	require.Equal(t, http.StatusSeeOther, status, text)
	require.Empty(t, kept())

	_, _ = v.upload(at+"/photo", first, "photo", picture.Bytes())
	assert.Empty(t, kept(), "sent twice, it does not come back")
	stale := v.form(at + "/photo")
	stale.Set("since", first.Get("since"))
	stale.Set("shows", "plate")
	status, _ = v.upload(at+"/photo", stale, "photo", picture.Bytes())
	assert.Equal(t, http.StatusConflict, status)
	assert.Empty(t, kept(), "a form that was overtaken keeps nothing")

	taken, err := photo.Take(t.Context(), &picture)
	require.NoError(t, err)
	_, err = st.server.Photos.Put(taken)
	require.NoError(t, err)
	status, _ = v.get(file)
	assert.Equal(t, http.StatusNotFound, status, "what no record shows is not shown")
}
