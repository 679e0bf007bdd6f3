package exchange_test

import (
	"bytes"
	"errors"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/electrical"
	"pitman/registry/exchange"
	"pitman/registry/house"
	"pitman/registry/recall"
	"pitman/registry/registrytest"
	"pitman/registry/stock"
)

// A pass of another house counts where house.toml names the key under the bundle, it was made in the house
// that signed, and this house's limits would give it as well.
func TestAPassFromElsewhere(t *testing.T) {
	key, other := strings.Repeat("ab", 32), strings.Repeat("cd", 32)
	giver := registrytest.InLetters(t, "LR")
	giver.Config.Safety.Competent = []string{"KC"}
	m := &stock.Machine{Maker: "Ostermann", Serial: "B7", Drive: registry.Electric}
	require.NoError(t, giver.Log(ctx, "QX", m, false))
	_, _, err := giver.Safety(ctx, "KC", m.Tag, registrytest.GoodSafety())
	require.NoError(t, err)
	file := bundle(t, giver, "Eldwray")

	take := func(signer string, file []byte, settle func(*house.Config)) *house.Workshop {
		w := registrytest.InLetters(t, "EL")
		settle(&w.Config)
		b, err := exchange.ReadBundle(bytes.NewReader(file))
		require.NoError(t, err)
		_, err = w.TakeOver(ctx, "EZ", exchange.Receiving{From: b.Head.Letters, Name: "x", Signer: signer},
			b.Next)
		require.NoError(t, err)
		return w
	}
	stands := func(w *house.Workshop) bool {
		m, err := w.Machine(ctx, m.Tag)
		require.NoError(t, err)
		return w.SafetyStands(m)
	}
	counts := func(c *house.Config) { c.Safety.PassesFrom = []string{other, key} }
	w := take(key, file, counts)
	assert.True(t, stands(w))
	there, err := w.Machine(ctx, m.Tag)
	require.NoError(t, err)
	letters, err := w.HouseOfPass(ctx, there)
	require.NoError(t, err)
	assert.Equal(t, "LR", letters)
	registrytest.VerifiesClean(t, w)
	// Once passes were kept without the key of their house; the history tells whose they are.
	require.NoError(t, w.Stock.Act(ctx, "QX", "amend", "", func(tx stock.Tx) error {
		there.SafetyKey = ""
		return tx.Put(there)
	}))
	unsigned, err := w.Rejudge(ctx)
	require.NoError(t, err)
	require.Len(t, unsigned, 1)
	assert.Contains(t, unsigned[0].Why, "it was recorded in the house LR, and no signature came with it")
	assert.False(t, stands(w))
	w = take(key, file, counts)

	assert.False(t, stands(take(key, file, func(*house.Config) {})), "no key is named")
	assert.False(t, stands(take("", file, counts)), "nobody signed")
	assert.False(t, stands(take(strings.Repeat("ef", 32), file, counts)), "somebody else signed")
	assert.False(t, stands(take(key, file, func(c *house.Config) {
		counts(c)
		c.Safety.Limits.InsulationIIMohm = 1000
	})), "the limits are tighter here")
	assert.False(t, stands(take(other, bundle(t, w, "Marsh Lane"), func(c *house.Config) {
		counts(c)
		c.House.Letters = "ML"
	})), "it is a third house's")
}

// A pass that its own house should have ended counts for nothing, whoever signed for it: its program was
// another, or somebody wrote in its file.
func TestAPassThatWorkEnded(t *testing.T) {
	key := strings.Repeat("ab", 32)
	giver, w := registrytest.Workshop(t), registrytest.InLetters(t, "EL")
	giver.Config.House.Letters, giver.Config.Safety.Competent = "LR", []string{"KC"}
	w.Config.Safety.PassesFrom = []string{key}
	m := &stock.Machine{Maker: "Ostermann", Serial: "B7", Drive: registry.Electric}
	require.NoError(t, giver.Log(ctx, "QX", m, false))
	_, err := giver.Triage(ctx, "QX", m.Tag, "refurbish", "complete", "")
	require.NoError(t, err)
	passed, _, err := giver.Safety(ctx, "KC", m.Tag, registrytest.GoodSafety())
	require.NoError(t, err)
	_, err = giver.BenchStart(ctx, "QX", m.Tag, bench.WorkNote{Jobs: []string{"rewire"}})
	require.NoError(t, err)
	require.NoError(t, giver.Stock.Act(ctx, "QX", "amend", "", func(tx stock.Tx) error {
		now, err := stock.MachineByTag(tx, m.Tag)
		now.SafetyAt, now.SafetyBy = passed.SafetyAt, passed.SafetyBy
		return errors.Join(err, tx.Put(now))
	}))
	b, err := exchange.ReadBundle(bytes.NewReader(bundle(t, giver, "Eldwray")))
	require.NoError(t, err)
	_, err = w.TakeOver(ctx, "EZ", exchange.Receiving{From: "LR", Name: "x", Signer: key}, b.Next)
	require.NoError(t, err)
	here, err := w.Machine(ctx, m.Tag)
	require.NoError(t, err)
	assert.False(t, w.SafetyStands(here))
	registrytest.VerifiesClean(t, w)
}

// A house that strikes a key from its list has no pass of that house from that moment on, before anything is
// written.
func TestAKeyThatIsStruckTakesItsPassesAlong(t *testing.T) {
	w := registrytest.InLetters(t, "EL")
	key := strings.Repeat("ab", 32)
	w.Config.Safety.PassesFrom = []string{key}
	m := &stock.Machine{Drive: registry.Electric, Gates: stock.Gates{SafetyAt: w.Now(), SafetyBy: "KC",
		SafetyKey: key}}
	assert.True(t, w.SafetyStands(m))
	w.Config.Safety.PassesFrom = []string{strings.Repeat("cd", 32)}
	assert.False(t, w.SafetyStands(m))
	assert.Contains(t, w.Warnings(m), registry.DoNotPlugIn)
	assert.ErrorContains(t, w.SafetyGate(m, "packing it"),
		"came from a house whose passes count here no longer")
}

// A pass that is withdrawn while its machine is in another house does not come back with it.
func TestAPassThatWasWithdrawnMeanwhile(t *testing.T) {
	w, away := registrytest.InLetters(t, "LR"), registrytest.InLetters(t, "EL")
	w.Config.Safety.Competent = []string{"KC"}
	m := &stock.Machine{Maker: "Ostermann", Serial: "B7", Drive: registry.Electric}
	require.NoError(t, w.Log(ctx, "QX", m, false))
	_, _, err := w.Safety(ctx, "KC", m.Tag, registrytest.GoodSafety())
	require.NoError(t, err)
	_, err = receive(away, bundle(t, w, "Eldwray"))
	require.NoError(t, err)
	found, err := w.Withdraw(ctx, "QX", recall.Which{Tester: "KC"}, "was taught wrongly")
	require.NoError(t, err)
	require.Len(t, found.Left, 1)
	assert.Equal(t, "Eldwray", found.Left[0].House)
	there, err := w.Machine(ctx, m.Tag)
	require.NoError(t, err)
	why, err := w.WithdrawnPass(ctx, there)
	require.NoError(t, err)
	assert.Equal(t, "was taught wrongly", why)

	arrived, err := receive(w, bundle(t, away, "Lantern Row"))
	require.NoError(t, err)
	assert.Equal(t, exchange.ArrivalContinued, arrived[0].Does, arrived[0].Why)
	there, err = w.Machine(ctx, m.Tag)
	require.NoError(t, err)
	assert.True(t, there.SafetyAt.IsZero())
	registrytest.VerifiesClean(t, w)
}

// So it is with a pass that a look alone gave back, when whoever looked is recalled.
func TestALookThatWasWithdrawnMeanwhile(t *testing.T) {
	w, away := registrytest.InLetters(t, "LR"), registrytest.InLetters(t, "EL")
	w.Config.Safety.Competent, w.Config.Safety.VisualRevives = []string{"KC", "TV"}, true
	m := &stock.Machine{Maker: "Ostermann", Serial: "B7", Drive: registry.Electric}
	require.NoError(t, w.Log(ctx, "QX", m, false))
	_, err := w.Triage(ctx, "QX", m.Tag, "refurbish", "runs, needs work", "")
	require.NoError(t, err)
	_, _, err = w.Safety(ctx, "KC", m.Tag, registrytest.GoodSafety())
	require.NoError(t, err)
	_, err = w.BenchStart(ctx, "QX", m.Tag, bench.WorkNote{})
	require.NoError(t, err)
	_, err = w.BenchFinish(ctx, "QX", m.Tag, bench.WorkNote{Note: "oiled"})
	require.NoError(t, err)
	_, _, err = w.LookAlone(ctx, "TV", m.Tag, electrical.SafetyForm{Visual: "pass"})
	require.NoError(t, err)
	_, err = receive(away, bundle(t, w, "Eldwray"))
	require.NoError(t, err)
	_, err = w.Withdraw(ctx, "QX", recall.Which{Tester: "TV"}, "was taught wrongly")
	require.NoError(t, err)
	_, err = receive(w, bundle(t, away, "Lantern Row"))
	require.NoError(t, err)
	there, err := w.Machine(ctx, m.Tag)
	require.NoError(t, err)
	assert.True(t, there.SafetyAt.IsZero() && there.PausedAt.IsZero())
	registrytest.VerifiesClean(t, w)
}
