package plates_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/pictures"
	"pitman/registry/registrytest"
	"pitman/registry/stock"
)

// Read twice and agreed is what is kept; whatever changes the serial afterwards makes it wait again.
func TestASerialIsReadAgain(t *testing.T) {
	w := registrytest.Workshop(t)
	ctx := t.Context()
	one, two, none := registrytest.Machine("K20417"), registrytest.Machine("K20418"),
		registrytest.Machine(stock.NoSerial)
	for i, m := range []*stock.Machine{one, two, none} {
		require.NoError(t, w.Log(ctx, "QX", m, false))
		require.NoError(t, w.AddPhoto(ctx, "QX", &pictures.Photo{Tag: m.Tag, Shows: "plate",
			Name: strings.Repeat(string(rune('a'+i)), 64), Width: 4, Height: 3}))
	}
	tags := func() (tags []registry.Tag) {
		t.Helper()
		waits, err := w.PlatesToRead(ctx)
		require.NoError(t, err)
		for _, p := range waits {
			tags = append(tags, p.Tag)
		}
		return tags
	}
	require.Equal(t, []registry.Tag{one.Tag, two.Tag}, tags(), "one without a serial has nothing to agree with")

	_, err := w.ReadPlate(ctx, "QX", one.Tag, "K20417")
	require.Equal(t, registry.Conflict, registry.CodeOf(err), "who typed it reads nothing again: %v", err)
	_, err = w.ReadPlate(ctx, "HB", one.Tag, "K20471")
	require.Equal(t, registry.Conflict, registry.CodeOf(err))
	assert.ErrorContains(t, err, `the registry has "K20417"`)
	for _, typed := range []string{"", "none", " "} {
		_, err = w.ReadPlate(ctx, "HB", one.Tag, typed)
		assert.Error(t, err, typed)
	}
	assert.Len(t, tags(), 2, "nothing was written")

	_, err = w.ReadPlate(ctx, "HB", one.Tag, " k 20417 ")
	require.NoError(t, err, "case and blanks are no other serial")
	read, err := w.ReadAgain(ctx, one)
	require.NoError(t, err)
	assert.Equal(t, registry.Initials("HB"), read.By)
	assert.Equal(t, []registry.Tag{two.Tag}, tags())

	_, err = w.Amend(ctx, "QX", one.Tag, "", func(m *stock.Machine) error { m.Serial = "K20419"; return nil })
	require.NoError(t, err)
	assert.Equal(t, []registry.Tag{one.Tag, two.Tag}, tags(), "what was read is another serial")
	_, err = w.ReadPlate(ctx, "HB", one.Tag, "K20419")
	require.NoError(t, err)
	_, err = w.UndoOn(ctx, "HB", one.Tag)
	require.NoError(t, err)
	assert.Equal(t, []registry.Tag{one.Tag, two.Tag}, tags())

	_, err = w.RemovePhoto(ctx, "QX", two.Tag, "bb", false, nil)
	require.NoError(t, err)
	_, err = w.ReadPlate(ctx, "HB", two.Tag, "K20418")
	assert.Equal(t, registry.NotFound, registry.CodeOf(err), "there is no picture to read it off: %v", err)
}
