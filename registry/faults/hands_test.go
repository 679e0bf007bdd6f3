package faults_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/faults"
	"pitman/registry/registrytest"
)

// A hand is offered by a coordinator, of what came back twice, and nobody stands before anybody.
func TestWhoWouldLikeAHand(t *testing.T) {
	w := registrytest.Workshop(t)
	failed := func(serial string, by registry.Initials, points ...string) {
		t.Helper()
		m := registrytest.Machine(serial)
		m.Drive = registry.Hand
		require.NoError(t, w.Log(registrytest.Ctx, "QX", m, true))
		_, err := w.Triage(registrytest.Ctx, "QX", m.Tag, "refurbish", "complete and turns", "")
		require.NoError(t, err)
		_, err = w.BenchStart(registrytest.Ctx, by, m.Tag, bench.WorkNote{})
		require.NoError(t, err)
		_, err = w.BenchFinish(registrytest.Ctx, by, m.Tag, bench.WorkNote{})
		require.NoError(t, err)
		form := bench.TestForm{PassAll: true, Fail: map[string]string{}}
		for _, p := range points {
			form.Fail[p] = "not right"
		}
		_, _, err = w.Test(registrytest.Ctx, "RS", m.Tag, form)
		require.NoError(t, err)
	}
	failed("B1", "ZZ", "tension", "winder")
	failed("B2", "ZZ", "tension")
	failed("B3", "ZZ", "tension")
	failed("B4", "MB", "tension", "feed-dog")
	failed("B5", "MB", "tension", "feed-dog")
	failed("B6", "EL", "tension")
	failed("B7", "EL")

	_, err := w.Faulty.Hands(registrytest.Ctx, "KC", "")
	require.Equal(t, registry.Conflict, registry.CodeOf(err))
	assert.ErrorContains(t, err, "for a coordinator of the house alone, and KC is none")
	w.Config.House.Coordinators = []string{"KC"}
	got, err := w.Faulty.Hands(registrytest.Ctx, "KC", "")
	require.NoError(t, err)
	assert.Equal(t, []faults.Hand{{"feed-dog", []registry.Initials{"MB"}},
		{"tension", []registry.Initials{"MB", "ZZ"}}}, got)
	got, err = w.Faulty.Hands(registrytest.Ctx, "KC", "2099-01-01")
	require.NoError(t, err)
	assert.Empty(t, got)
	_, err = w.Faulty.Hands(registrytest.Ctx, "KC", "soon")
	assert.ErrorContains(t, err, `from "soon"`)
}
