package intake_test

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/registrytest"
	"pitman/registry/stock"
)

// A tag is given once: neither a blank one that was bound, nor one whose binding was undone, is taken again,
// and what could not be printed was not given.
func TestABlankTagIsBoundOnce(t *testing.T) {
	w := registrytest.Workshop(t)
	jam := errors.New("paper jam")
	_, err := w.BlankTags(registrytest.Ctx, "", 2, func(stock.Tx, []registry.Tag) error { return jam })
	require.ErrorIs(t, err, jam)
	for _, n := range []int{-1, 0, 1001} {
		_, err = w.BlankTags(registrytest.Ctx, "", n, func(stock.Tx, []registry.Tag) error { return nil })
		assert.ErrorContains(t, err, "type a number from 1 to 1000")
	}
	tags, err := w.BlankTags(registrytest.Ctx, "", 2, func(stock.Tx, []registry.Tag) error { return nil })
	require.NoError(t, err)
	require.Len(t, tags, 2)
	log := func(serial string, tag registry.Tag) (*stock.Machine, error) {
		m := registrytest.Machine(serial)
		m.Tag = tag
		return m, w.Log(registrytest.Ctx, "QX", m, false)
	}
	plain, err := log("K1", "")
	require.NoError(t, err)
	assert.NotContains(t, tags, plain.Tag)
	m, err := log("K2", tags[1])
	require.NoError(t, err)
	assert.Equal(t, tags[1], m.Tag)
	_, err = log("K3", tags[1])
	assert.Equal(t, registry.Conflict, registry.CodeOf(err))
	_, err = w.Undo(registrytest.Ctx, "QX")
	require.NoError(t, err)
	_, err = log("K2", tags[1])
	assert.ErrorContains(t, err, "what was logged with it was undone", "nothing bears it that one could look at")
	_, err = log("K4", registry.NewTag("PM", 99))
	assert.ErrorContains(t, err, "was not printed as a blank one")
	_, err = log("K4", tags[0])
	assert.NoError(t, err)
}
