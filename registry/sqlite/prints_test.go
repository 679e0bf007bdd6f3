package sqlite_test

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
)

func TestALabelIsStaleOnceWhatStandsOnItChanges(t *testing.T) {
	w, _, _ := open(t)
	face := func(_ registry.Reader, m *registry.Machine) (string, error) { return m.Serial, nil }
	stale := func() (tags []registry.Tag) {
		machines, err := w.StaleLabels(ctx, face)
		require.NoError(t, err)
		for _, m := range machines {
			tags = append(tags, m.Tag)
		}
		return tags
	}
	one, two := machine("K1"), machine("K2")
	require.NoError(t, w.Log(ctx, "QX", one, false))
	require.NoError(t, w.Log(ctx, "QX", two, false))
	assert.Empty(t, stale(), "what was never printed cannot be stale")

	jam := errors.New("paper jam")
	prints := []registry.Print{{Tag: one.Tag, Fingerprint: "old"}, {Tag: registry.NewTag("PM", 99), Fingerprint: "a base's"}}
	require.ErrorIs(t, w.NotePrints(ctx, "", prints, func() error { return jam }), jam)
	assert.Empty(t, stale(), "a print that failed is none")
	require.NoError(t, w.NotePrints(ctx, "", prints, func() error { return nil }))
	assert.Equal(t, []registry.Tag{one.Tag}, stale())
	require.NoError(t, w.NotePrints(ctx, "QX", []registry.Print{{Tag: one.Tag, Fingerprint: "K1"}}, func() error { return nil }))
	assert.Empty(t, stale(), "the latest print counts")
	_, err := w.Amend(ctx, "QX", one.Tag, "", func(m *registry.Machine) error { m.Serial = "K3"; return nil })
	require.NoError(t, err)
	assert.Equal(t, []registry.Tag{one.Tag}, stale())
}
