package spares_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/electrical"
	"pitman/registry/mains"
	"pitman/registry/registrytest"
	"pitman/registry/spares"
	"pitman/registry/stock"
)

// Every part is in one place at a time: on the machine it was made with, on the shelf, or in one other
// machine; nothing is fitted twice and nothing is lost. The model keeps its own books beside the registry's.
func TestSparesAreConserved(t *testing.T) {
	w := registrytest.Workshop(t)
	random := rand.New(rand.NewPCG(3, 1))
	parts := []string{"handwheel", "needle-bar", "feed-dog"}
	var tags []registry.Tag
	for i := range 6 {
		stage := registry.Parts
		if i >= 3 {
			stage = registry.Bench
		}
		tags = append(tags, registrytest.Put(t, w, registry.Hand, func(m *stock.Machine) { m.Stage = stage }))
	}
	type slot struct {
		tag  registry.Tag
		part string
	}
	there := map[slot]bool{}
	for _, tag := range tags {
		for _, part := range parts {
			there[slot{tag, part}] = true
		}
	}
	shelf := map[string]string{} // code → part
	used := map[string]bool{}
	taken, fitted := 0, 0
	for range 400 {
		tag, part := tags[random.IntN(len(tags))], parts[random.IntN(len(parts))]
		m, err := w.Machine(registrytest.Ctx, tag)
		require.NoError(t, err)
		switch random.IntN(4) {
		case 0, 1:
			_, s, err := w.TakeSpare(registrytest.Ctx, "QX", tag, part, "")
			if m.Stage != registry.Parts || !there[slot{tag, part}] {
				require.Error(t, err)
				continue
			}
			require.NoError(t, err)
			there[slot{tag, part}] = false
			shelf[s.Code()] = part
			taken++
		case 2:
			// Any code there ever was, right or wrong, in any machine.
			code := fmt.Sprintf("S%d", 1+random.IntN(len(shelf)+len(used)+1))
			_, _, err := w.FitSpare(registrytest.Ctx, "QX", tag, spares.PartUse{Part: part, From: code})
			if m.Stage != registry.Bench || shelf[code] != part {
				require.Error(t, err)
				continue
			}
			require.NoError(t, err)
			delete(shelf, code)
			require.False(t, used[code], "fitted twice")
			used[code] = true
			there[slot{tag, part}] = true
			fitted++
		case 3:
			// Machines change sides: what was mended is stripped one day.
			to := map[registry.Stage]registry.Stage{registry.Parts: registry.Bench,
				registry.Bench: registry.Parts}[m.Stage]
			require.NoError(t,
				w.Store.Update(registrytest.Ctx, &registry.Action{At: w.Now(), By: "QX", Verb: "set up"},
					func(tx stock.Tx) error {
						m.Stage = to
						return tx.Put(m)
					}))
		}
		on, err := w.SpareShelf(registrytest.Ctx)
		require.NoError(t, err)
		var codes []string
		for _, s := range on.SpareShelf {
			codes = append(codes, s.Code())
			require.Equal(t, shelf[s.Code()], s.Part)
		}
		require.Len(t, codes, len(shelf))
		_, left, err := w.LeftOn(registrytest.Ctx, tag)
		require.NoError(t, err)
		for _, part := range parts {
			require.Equal(t, there[slot{tag, part}],
				slices.ContainsFunc(left, func(p spares.PartKind) bool { return p.Part == part }), "%s on %s",
				part, tag)
		}
	}
	assert.Greater(t, taken, 10)
	assert.Greater(t, fitted, 5)
}

func TestSmallThingsAreCounted(t *testing.T) {
	w := registrytest.Workshop(t)
	tag := registrytest.Put(t, w, registry.Hand, func(m *stock.Machine) { m.Stage = registry.Bench })
	_, _, err := w.FitSpare(registrytest.Ctx, "QX", tag, spares.PartUse{Part: "winder-tyre"})
	assert.ErrorContains(t, err, "no winder-tyre is left")
	_, err = w.CountSupply(registrytest.Ctx, "QX", "winder-tyre", 2)
	require.NoError(t, err)
	for range 2 {
		_, _, err = w.FitSpare(registrytest.Ctx, "QX", tag, spares.PartUse{Part: "winder-tyre"})
		require.NoError(t, err)
	}
	_, _, err = w.FitSpare(registrytest.Ctx, "QX", tag, spares.PartUse{Part: "winder-tyre"})
	assert.ErrorContains(t, err, "no winder-tyre is left")
	_, err = w.CountSupply(registrytest.Ctx, "QX", "handwheel", 2)
	assert.ErrorContains(t, err, "moves one by one")
	_, err = w.CountSupply(registrytest.Ctx, "QX", "winder-tyre", -1)
	assert.ErrorContains(t, err, "from 0 to 1000000")
}

func TestNeedsAreMetByFitting(t *testing.T) {
	w := registrytest.Workshop(t)
	tag := registrytest.Put(t, w, registry.Hand, func(m *stock.Machine) { m.Stage = registry.Bench })
	_, err := w.NeedSpare(registrytest.Ctx, "QX", tag, "handwheel")
	require.NoError(t, err)
	_, err = w.NeedSpare(registrytest.Ctx, "QX", tag, "handwheel")
	assert.ErrorContains(t, err, "waits for a handwheel already")
	needs, err := w.Needs(registrytest.Ctx)
	require.NoError(t, err)
	require.Len(t, needs, 1)
	assert.Zero(t, needs[0].OnShelf)
	list, err := w.Worklist(registrytest.Ctx, "coordinator")
	require.NoError(t, err)
	assert.Equal(t, "find handwheel", list.Tasks[0].Do)

	donor := registrytest.Put(t, w, registry.Hand, func(m *stock.Machine) { m.Stage = registry.Parts })
	_, _, err = w.TakeSpare(registrytest.Ctx, "QX", donor, "handwheel", "drawer 2")
	require.NoError(t, err)
	list, err = w.Worklist(registrytest.Ctx, "bench")
	require.NoError(t, err)
	assert.Equal(t, "fit handwheel", list.Tasks[0].Do)
	_, _, err = w.FitSpare(registrytest.Ctx, "QX", tag, spares.PartUse{Part: "handwheel"})
	require.NoError(t, err)
	needs, err = w.Needs(registrytest.Ctx)
	require.NoError(t, err)
	assert.Empty(t, needs)
}

// A conversion leaves nothing of the tests of the old drive, and nothing of a motor that is gone.
func TestConvertingStartsTheTestsAgain(t *testing.T) {
	w := registrytest.Workshop(t)
	tag := registrytest.Put(t, w, registry.Electric, func(m *stock.Machine) { m.Stage = registry.Check })
	_, _, err := w.Safety(registrytest.Ctx, "EL", tag, registrytest.GoodSafety())
	require.NoError(t, err)
	m, _, err := w.Test(registrytest.Ctx, "RS", tag, bench.TestForm{PassAll: true})
	require.NoError(t, err)
	require.False(t, m.TestedAt.IsZero())
	m, err = w.Convert(registrytest.Ctx, "QX", tag,
		spares.Conversion{To: registry.Hand, Fit: []spares.PartUse{{Part: "hand-crank", Bought: true}},
			Remove: []string{"motor"},
			Off:    mains.Kinds, Confirmed: "EL"})
	require.NoError(t, err)
	assert.Equal(t, registry.Check, m.Stage)
	assert.True(t, m.TestedAt.IsZero())
	assert.True(t, m.SafetyAt.IsZero())
	assert.Equal(t, electrical.Nameplate{}, m.Plate)
	assert.Empty(t, m.Class)
	on, err := w.SpareShelf(registrytest.Ctx)
	require.NoError(t, err)
	require.Len(t, on.SpareShelf, 1)
	assert.Equal(t, "motor", on.SpareShelf[0].Part)
	// Who converted it is a refurbisher.
	_, err = w.MayTest(registrytest.Ctx, "QX", tag)
	assert.ErrorContains(t, err, "QX worked on")
}
