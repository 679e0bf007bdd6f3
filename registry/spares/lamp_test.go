package spares_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/mains"
	"pitman/registry/registrytest"
	"pitman/registry/spares"
	"pitman/registry/stock"
)

// A hand machine with a lamp takes the mains, and that it does so no longer is a competent person's word,
// whatever takes the lamp off.
func TestALampOnAHandMachine(t *testing.T) {
	w := registrytest.Workshop(t)
	with := func(stage registry.Stage) registry.Tag {
		return registrytest.Put(t, w, registry.Hand, func(m *stock.Machine) {
			m.Stage, m.Mains = stage, mains.Parts{{Part: "lamp", State: mains.Fitted}}
		})
	}
	away := spares.Conversion{To: registry.Treadle, Off: []string{"lamp"}}
	tag := with(registry.Bench)
	_, err := w.Convert(registrytest.Ctx, "QX", tag, away)
	assert.ErrorContains(t, err, "confirm that nothing on a machine takes the mains any more")
	_, err = w.Convert(registrytest.Ctx, "EL", tag, away)
	require.NoError(t, err)

	built := w.Lists.Spares.Parts
	w.Lists.Spares.Parts = func() ([]spares.PartKind, error) { // lamps of all machines
		list, err := built()
		for i := range list {
			list[i].Drives = nil
		}
		return list, err
	}
	tag = with(registry.Parts)
	_, _, err = w.TakeSpare(registrytest.Ctx, "QX", tag, "lamp", "")
	assert.ErrorContains(t, err, "confirm that nothing on a machine takes the mains any more")
	_, _, err = w.TakeSpare(registrytest.Ctx, "EL", tag, "lamp", "")
	require.NoError(t, err)

	// Who fits a bulb has a lamp before them, whatever was said of the machine.
	tag = registrytest.Put(t, w, registry.Hand, func(m *stock.Machine) { m.Stage = registry.Bench })
	m, _, err := w.FitSpare(registrytest.Ctx, "QX", tag, spares.PartUse{Part: "bulb", Bought: true})
	require.NoError(t, err)
	assert.True(t, m.TakesMains())
	assert.NotEmpty(t, w.Warnings(m))
}
