package stock_test

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/registrytest"
	"pitman/registry/stock"
)

func TestALabelIsStaleOnceWhatStandsOnItChanges(t *testing.T) {
	w, _, _ := registrytest.Open(t)
	face := func(_ stock.Reader, m *stock.Machine, b *stock.Base) (string, error) {
		if b != nil {
			return b.Pattern, nil
		}
		return m.Serial, nil
	}
	stale := func() []registry.Tag {
		tags, err := w.StaleLabels(registrytest.Ctx, face)
		require.NoError(t, err)
		return tags
	}
	one, two := registrytest.Machine("K1"), registrytest.Machine("K2")
	require.NoError(t, w.Log(registrytest.Ctx, "QX", one, false))
	require.NoError(t, w.Log(registrytest.Ctx, "QX", two, false))
	assert.Empty(t, stale(), "what was never printed cannot be stale")

	jam := errors.New("paper jam")
	prints := []stock.Print{{Tag: one.Tag, Fingerprint: "old"}, {Tag: registry.NewTag("PM", 99), Fingerprint: "of a log undone"}}
	require.ErrorIs(t, w.NotePrints(registrytest.Ctx, "", prints, func() error { return jam }), jam)
	assert.Empty(t, stale(), "a print that failed is none")
	require.NoError(t, w.NotePrints(registrytest.Ctx, "", prints, func() error { return nil }))
	assert.Equal(t, []registry.Tag{one.Tag}, stale())
	require.NoError(t, w.NotePrints(registrytest.Ctx, "QX", []stock.Print{{Tag: one.Tag, Fingerprint: "K1"}}, func() error { return nil }))
	assert.Empty(t, stale(), "the latest print counts")
	_, err := w.Amend(registrytest.Ctx, "QX", one.Tag, "", func(m *stock.Machine) error { m.Serial = "K3"; return nil })
	require.NoError(t, err)
	assert.Equal(t, []registry.Tag{one.Tag}, stale())

	base := &stock.Base{Pattern: "Alder"}
	require.NoError(t, w.AddBase(registrytest.Ctx, "QX", base))
	require.NoError(t, w.NotePrints(registrytest.Ctx, "QX", []stock.Print{{Tag: base.Tag, Fingerprint: "Alder"}}, func() error { return nil }))
	assert.Equal(t, []registry.Tag{one.Tag}, stale())
	_, err = w.AmendBase(registrytest.Ctx, "QX", base.Tag, "", func(b *stock.Base) error { b.Pattern = "Rowan"; return nil })
	require.NoError(t, err)
	assert.Equal(t, []registry.Tag{one.Tag, base.Tag}, stale(), "a base's label as well")
	_, err = w.Triage(registrytest.Ctx, "QX", one.Tag, "scrap", "cracked bed", "RS")
	require.NoError(t, err)
	_, err = w.TriageBase(registrytest.Ctx, "QX", base.Tag, "scrap", "cracked leg")
	require.NoError(t, err)
	assert.Empty(t, stale(), "what has gone needs no label")
}
