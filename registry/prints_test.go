package registry_test

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/registrytest"
)

func TestALabelIsStaleOnceWhatStandsOnItChanges(t *testing.T) {
	w, _, _ := registrytest.Open(t)
	face := func(_ registry.Reader, m *registry.Machine, b *registry.Base) (string, error) {
		if b != nil {
			return b.Pattern, nil
		}
		return m.Serial, nil
	}
	stale := func() []registry.Tag {
		tags, err := w.StaleLabels(ctx, face)
		require.NoError(t, err)
		return tags
	}
	one, two := registrytest.Machine("K1"), registrytest.Machine("K2")
	require.NoError(t, w.Log(ctx, "QX", one, false))
	require.NoError(t, w.Log(ctx, "QX", two, false))
	assert.Empty(t, stale(), "what was never printed cannot be stale")

	jam := errors.New("paper jam")
	prints := []registry.Print{{Tag: one.Tag, Fingerprint: "old"}, {Tag: registry.NewTag("PM", 99), Fingerprint: "of a log undone"}}
	require.ErrorIs(t, w.NotePrints(ctx, "", prints, func() error { return jam }), jam)
	assert.Empty(t, stale(), "a print that failed is none")
	require.NoError(t, w.NotePrints(ctx, "", prints, func() error { return nil }))
	assert.Equal(t, []registry.Tag{one.Tag}, stale())
	require.NoError(t, w.NotePrints(ctx, "QX", []registry.Print{{Tag: one.Tag, Fingerprint: "K1"}}, func() error { return nil }))
	assert.Empty(t, stale(), "the latest print counts")
	_, err := w.Amend(ctx, "QX", one.Tag, "", func(m *registry.Machine) error { m.Serial = "K3"; return nil })
	require.NoError(t, err)
	assert.Equal(t, []registry.Tag{one.Tag}, stale())

	base := &registry.Base{Pattern: "Alder"}
	require.NoError(t, w.AddBase(ctx, "QX", base))
	require.NoError(t, w.NotePrints(ctx, "QX", []registry.Print{{Tag: base.Tag, Fingerprint: "Alder"}}, func() error { return nil }))
	assert.Equal(t, []registry.Tag{one.Tag}, stale())
	_, err = w.AmendBase(ctx, "QX", base.Tag, "", func(b *registry.Base) error { b.Pattern = "Rowan"; return nil })
	require.NoError(t, err)
	assert.Equal(t, []registry.Tag{one.Tag, base.Tag}, stale(), "a base's label as well")
	_, err = w.Triage(ctx, "QX", one.Tag, "scrap", "cracked bed", "RS")
	require.NoError(t, err)
	_, err = w.TriageBase(ctx, "QX", base.Tag, "scrap", "cracked leg")
	require.NoError(t, err)
	assert.Empty(t, stale(), "what has gone needs no label")
}
