package stock_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/registrytest"
	"pitman/registry/stock"
)

// Who asks before a triage where it leads is told the stage that it does lead to.
func TestOutcomeIsWhereTriageLeads(t *testing.T) {
	w := registrytest.Workshop(t)
	for _, way := range []string{"refurbish", "parts", "sale", "scrap"} {
		tag := registrytest.Put(t, w, registry.Hand, func(*stock.Machine) {})
		m, err := w.Triage(registrytest.Ctx, "QX", tag, way, "a reason", "")
		require.NoError(t, err, way)
		assert.Equal(t, m.Stage, stock.Outcome(way), way)
	}
}
