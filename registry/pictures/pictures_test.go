package pictures_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/pictures"
	"pitman/registry/registrytest"
)

func TestAPictureIsNotedOnceAndErasedEverywhere(t *testing.T) {
	w := registrytest.Workshop(t)
	ctx := t.Context()
	one, two := registrytest.Machine("K20417"), registrytest.Machine("K20418")
	require.NoError(t, w.Log(ctx, "QX", one, false))
	require.NoError(t, w.Log(ctx, "QX", two, false))
	name := strings.Repeat("5c", 32)
	add := func(tag registry.Tag, shows string) {
		t.Helper()
		require.NoError(t,
			w.AddPhoto(ctx, "QX", &pictures.Photo{Tag: tag, Name: name, Shows: shows, Width: 4, Height: 3}))
	}
	add(one.Tag, "plate")
	add(one.Tag, "decal")
	add(two.Tag, "")
	photos, err := w.Photos(ctx, one.Tag)
	require.NoError(t, err)
	require.Len(t, photos, 1, "the same picture of the same machine is one")
	assert.Equal(t, "decal", photos[0].Shows)

	erased := ""
	erase := func(name string) error { erased = name; return nil }
	_, err = w.RemovePhoto(ctx, "QX", one.Tag, "5c", false, erase)
	require.NoError(t, err)
	assert.Empty(t, erased, "what is put aside keeps its file")
	photos, err = w.Photos(ctx, one.Tag)
	require.NoError(t, err)
	assert.Empty(t, photos)
	add(one.Tag, "plate")
	_, err = w.RemovePhoto(ctx, "QX", two.Tag, "5c5c", true, erase)
	require.NoError(t, err)
	assert.Equal(t, name, erased)
	for _, tag := range []registry.Tag{one.Tag, two.Tag} {
		photos, err := w.Photos(ctx, tag)
		require.NoError(t, err)
		assert.Empty(t, photos)
		_, err = w.UndoOn(ctx, "QX", tag)
		assert.Equal(t, registry.Conflict, registry.CodeOf(err), "%v", err)
	}
	for _, begin := range []string{"", "ff", "5c"} {
		_, err = w.RemovePhoto(ctx, "QX", one.Tag, begin, true, erase)
		assert.Equal(t, registry.NotFound, registry.CodeOf(err), begin)
	}
}
