package spares_test

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/mains"
	"pitman/registry/registrytest"
	"pitman/registry/spares"
	"pitman/registry/stock"
)

// Every row of the kit list that the program carries is a part on its list of parts.
func TestTheBuiltInKitIsOnThePartsList(t *testing.T) {
	w := registrytest.Workshop(t)
	kits, err := w.Lists.Spares.Kits()
	require.NoError(t, err)
	parts, err := w.Lists.Spares.Parts()
	require.NoError(t, err)
	names := map[string]bool{}
	for _, p := range parts {
		names[p.Part] = true
	}
	for _, k := range kits {
		assert.True(t, names[k.Part], k.Part)
	}
}

// Small things are neither made nor lost: whatever is put with machines and taken back, the total is what
// came in less what was taken out.
func TestKitsConserveTheStock(t *testing.T) {
	w := registrytest.Workshop(t)
	dice := rand.New(rand.NewPCG(3, 14))
	var tags []registry.Tag
	for range 3 {
		tags = append(tags,
			registrytest.Put(t, w, registry.Hand,
				func(m *stock.Machine) { m.Needle, m.Bobbin = "15x1", "class 15" }))
	}
	total := map[string]int{}
	things := []string{"needle", "bobbin-15", "oil"}
	undone := 0
	for range 80 {
		tag, thing := tags[dice.IntN(len(tags))], things[dice.IntN(len(things))]
		switch dice.IntN(5) {
		case 0:
			_, err := w.PutKit(registrytest.Ctx, "MB", tag, spares.Leaving{})
			require.NoError(t, err)
		case 1:
			_, err := w.TakeKitBack(registrytest.Ctx, "MB", tag)
			require.NoError(t, err)
		case 2:
			n := 1 + dice.IntN(8)
			_, err := w.ChangeSupply(registrytest.Ctx, "QX", thing, n)
			require.NoError(t, err)
			total[thing] += n
		case 3:
			n := 1 + dice.IntN(4)
			if _, err := w.ChangeSupply(registrytest.Ctx, "QX", thing, -n); err == nil {
				total[thing] -= n
			} else {
				require.Equal(t, registry.Conflict, registry.CodeOf(err))
			}
		case 4:
			if done, err := w.Undo(registrytest.Ctx, "MB"); err == nil {
				require.Contains(t, []string{"kit put", "kit back"}, done.Action)
				undone++
			} else {
				require.Contains(t, []registry.Code{registry.Conflict, registry.NotFound},
					registry.CodeOf(err))
			}
		}
		have := map[string]int{}
		inHand, err := w.KitStock(registrytest.Ctx)
		require.NoError(t, err)
		for _, s := range inHand {
			have[s.Part] += s.Count
		}
		for _, tag := range tags {
			kit, err := w.Kit(registrytest.Ctx, tag, spares.Leaving{})
			require.NoError(t, err)
			for _, l := range kit.Lines {
				if l.Part == "bobbin-case-15" {
					continue // a real part, on the machine
				}
				assert.LessOrEqual(t, l.Have, l.Want)
				have[l.Part] += l.Have
			}
		}
		for _, thing := range things {
			require.Equal(t, total[thing], have[thing], thing)
		}
	}
	assert.Positive(t, undone)
}

// A real part is in the kit while it is on the machine.
func TestAPartTakenOffIsLackingInTheKit(t *testing.T) {
	w := registrytest.Workshop(t)
	tag := registrytest.Put(t, w, registry.Hand,
		func(m *stock.Machine) { m.Needle, m.Bobbin, m.Stage = "15x1", "class 15", registry.Queued })
	lacks := func() (parts []string) {
		kit, err := w.Kit(registrytest.Ctx, tag, spares.Leaving{})
		require.NoError(t, err)
		for _, lack := range kit.Lacks {
			parts = append(parts, lack.Part)
		}
		return parts
	}
	assert.NotContains(t, lacks(), "bobbin-case-15")
	_, err := w.NeedSpare(registrytest.Ctx, "QX", tag, "bobbin-case-15")
	require.NoError(t, err)
	assert.Contains(t, lacks(), "bobbin-case-15")
	_, err = w.BenchStart(registrytest.Ctx, "QX", tag, bench.WorkNote{})
	require.NoError(t, err)
	_, _, err = w.FitSpare(registrytest.Ctx, "QX", tag, spares.PartUse{Part: "bobbin-case-15", Bought: true})
	require.NoError(t, err)
	assert.NotContains(t, lacks(), "bobbin-case-15")
}

// Nothing of the built-in list is a loose mains plug, and one that went with a machine before keeps it here.
func TestNoPlugLeavesLoose(t *testing.T) {
	w := registrytest.Workshop(t)
	kits, err := w.Lists.Spares.Kits()
	require.NoError(t, err)
	for _, k := range kits {
		assert.False(t, mains.IsPlug(k.Part), k.Part)
	}
	tag := registrytest.Put(t, w, registry.Electric, func(*stock.Machine) {})
	put := func(count int) (refused error) {
		require.NoError(t, w.Act(registrytest.Ctx, "MB", "kit put", "", func(tx stock.Tx) error {
			item := &spares.KitItem{Tag: tag, Part: "plug-g"}
			if err := tx.Get(item, stock.Fields{"tag": tag}); err != nil &&
				registry.CodeOf(err) != registry.NotFound {
				return err
			}
			item.Count = count
			if err := tx.Put(item); err != nil {
				return err
			}
			refused = spares.NoLoosePlug(tx, tag)
			return nil
		}))
		return refused
	}
	assert.ErrorContains(t, put(1), "holds plug-g, and no mains plug leaves loose")
	assert.NoError(t, put(0))
}
