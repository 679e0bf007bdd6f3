package intake_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/registrytest"
	"pitman/registry/stock"
)

// A drive that was logged wrongly is corrected together with what was tested under it.
func TestACorrectedDriveStartsTheTestsAgain(t *testing.T) {
	w := registrytest.Workshop(t)
	tag := registrytest.Put(t, w, registry.Electric, func(m *stock.Machine) { m.Stage = registry.Check })
	_, _, err := w.Safety(registrytest.Ctx, "EL", tag, registrytest.GoodSafety())
	require.NoError(t, err)
	_, err = w.Amend(registrytest.Ctx, "QX", tag, "",
		func(m *stock.Machine) error { m.Drive = registry.Hand; return nil })
	require.ErrorContains(t, err, "untested: convert it", "it was tested as electric")
	slip := registrytest.Put(t, w, registry.Electric, func(m *stock.Machine) {})
	for _, drive := range []registry.Drive{registry.Hand, registry.Electric} {
		m, err := w.Amend(registrytest.Ctx, "QX", slip, "",
			func(m *stock.Machine) error { m.Drive = drive; return nil })
		require.NoError(t, err)
		assert.True(t, m.SafetyAt.IsZero(), drive)
	}
	_, err = w.Amend(registrytest.Ctx, "RS", slip, "",
		func(m *stock.Machine) error { m.Drive = registry.Hand; return nil })
	require.ErrorContains(t, err, "only whoever logged it may correct that")
	hand := registrytest.Put(t, w, registry.Hand, func(m *stock.Machine) { m.Stage = registry.Ready })
	m, err := w.Amend(registrytest.Ctx, "RS", hand, "",
		func(m *stock.Machine) error { m.Drive = registry.Electric; return nil })
	require.NoError(t, err)
	assert.Equal(t, registry.Check, m.Stage, "that it is electric may always be said")
}
