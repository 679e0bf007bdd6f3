package intake_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/registrytest"
	"pitman/registry/stock"
)

func TestTwinsAreWarnedOfOnce(t *testing.T) {
	w, _, _ := registrytest.Open(t)
	first := registrytest.Machine("K-001")
	require.NoError(t, w.Log(registrytest.Ctx, "QX", first, false))
	err := w.Log(registrytest.Ctx, "QX", registrytest.Machine("k 1"), false)
	assert.Equal(t, registry.Conflict, registry.CodeOf(err))
	assert.ErrorContains(t, err, string(first.Tag))
	require.NoError(t, w.Log(registrytest.Ctx, "QX", registrytest.Machine("k 1"), true))
	require.NoError(t, w.Log(registrytest.Ctx, "QX", registrytest.Machine(stock.NoSerial), false))
	require.NoError(t, w.Log(registrytest.Ctx, "QX", registrytest.Machine(stock.NoSerial), false),
		"machines without a plate are not the same machine")
}
