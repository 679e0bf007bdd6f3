package spares_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/electrical"
	"pitman/registry/registrytest"
	"pitman/registry/spares"
	"pitman/registry/stock"
	"pitman/registry/takings"
)

// A motor off a machine that failed says so on the shelf and in the next machine, until that one passes.
func TestAFailedTestStaysWithThePart(t *testing.T) {
	w := registrytest.Workshop(t)
	at := func(stage registry.Stage) registry.Tag {
		return registrytest.Put(t, w, registry.Electric, func(m *stock.Machine) { m.Stage = stage })
	}
	donor, next, third := at(registry.Check), at(registry.Bench), at(registry.Bench)
	_, test, err := w.Safety(registrytest.Ctx, "EL", donor,
		electrical.SafetyForm{Class: "II", Visual: "pass", Insulation: "0.4"})
	require.NoError(t, err)
	require.False(t, test.Pass)
	_, err = w.Triage(registrytest.Ctx, "QX", donor, "parts", "worn", "MB")
	require.NoError(t, err)
	failed := "came from " + string(donor) + ", which failed its safety test: insulation 0.4"
	_, s, err := w.TakeSpare(registrytest.Ctx, "QX", donor, "motor", "")
	require.NoError(t, err)
	assert.Contains(t, s.Came(), failed)
	_, err = w.SellSpares(registrytest.Ctx, "QX", &takings.Taking{}, "", []string{s.Code()})
	assert.ErrorContains(t, err, "it is not sold, since nobody tests it where it goes")
	_, plain, err := w.TakeSpare(registrytest.Ctx, "QX", donor, "handwheel", "")
	require.NoError(t, err)
	assert.Empty(t, plain.Came(), "a handwheel carries no mains")

	shelf, err := w.SpareShelf(registrytest.Ctx)
	require.NoError(t, err)
	assert.Contains(t, shelf.SpareShelf[0].Came(), failed)
	_, fitted, err := w.FitSpare(registrytest.Ctx, "QX", next, spares.PartUse{Part: "motor"})
	require.NoError(t, err)
	assert.Contains(t, fitted, failed, "as its history says it")
	suspect := func(tag registry.Tag) []string {
		said, err := w.Suspect(registrytest.Ctx, tag)
		require.NoError(t, err)
		return said
	}
	require.Len(t, suspect(next), 1)
	assert.Contains(t, suspect(next)[0], failed)

	// Taken on to a third machine before any test, it says the same.
	_, err = w.Triage(registrytest.Ctx, "QX", next, "parts", "worn", "MB")
	require.NoError(t, err)
	_, s, err = w.TakeSpare(registrytest.Ctx, "QX", next, "motor", "")
	require.NoError(t, err)
	assert.Contains(t, s.Came(), failed)
	assert.Empty(t, suspect(next))
	_, _, err = w.FitSpare(registrytest.Ctx, "QX", third, spares.PartUse{Part: "motor", From: s.Code()})
	require.NoError(t, err)
	require.Len(t, suspect(third), 1)
	_, test, err = w.Safety(registrytest.Ctx, "EL", third, registrytest.GoodSafety())
	require.NoError(t, err)
	require.True(t, test.Pass, test.Hold)
	assert.Empty(t, suspect(third))
}

// A clock that was set back between a pass and a failure, or between a part that came off and one that went on,
// clears no part.
func TestAClockThatWasSetBackClearsNoPart(t *testing.T) {
	w := registrytest.Workshop(t)
	at := func(stage registry.Stage) registry.Tag {
		return registrytest.Put(t, w, registry.Electric, func(m *stock.Machine) { m.Stage = stage })
	}
	donor, next := at(registry.Check), at(registry.Bench)
	_, _, err := w.Safety(registrytest.Ctx, "EL", donor, registrytest.GoodSafety())
	require.NoError(t, err)
	_, test, err := w.Safety(registrytest.Ctx, "EL", next, registrytest.GoodSafety())
	require.NoError(t, err)
	require.True(t, test.Pass, test.Hold)
	clock := w.Now
	w.Now = func() time.Time { return clock().AddDate(0, 0, -1) }
	_, _, err = w.Safety(registrytest.Ctx, "EL", donor,
		electrical.SafetyForm{Class: "II", Visual: "pass", Insulation: "0.4"})
	require.NoError(t, err)
	_, err = w.Triage(registrytest.Ctx, "QX", donor, "parts", "worn", "MB")
	require.NoError(t, err)
	_, s, err := w.TakeSpare(registrytest.Ctx, "QX", donor, "motor", "")
	require.NoError(t, err)
	require.Contains(t, s.Came(), "insulation 0.4")
	_, _, err = w.FitSpare(registrytest.Ctx, "QX", next, spares.PartUse{Part: "motor"})
	require.NoError(t, err)
	said, err := w.Suspect(registrytest.Ctx, next)
	require.NoError(t, err)
	require.Len(t, said, 1)
}
