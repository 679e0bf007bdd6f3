package exchange_test

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/exchange"
	"pitman/registry/mains"
	"pitman/registry/registrytest"
	"pitman/registry/spares"
	"pitman/registry/stock"
)

// A machine that failed here and comes back as a hand machine, ready, has been converted by somebody whom
// nobody here knows: what is on it is looked at here, unless that house's word counts.
func TestAConversionElsewhere(t *testing.T) {
	key := strings.Repeat("ab", 32)
	comesBack := func(signer string, from ...string) *stock.Machine {
		here, there := registrytest.Workshop(t), registrytest.Workshop(t)
		here.Config.House.Letters, there.Config.House.Letters = "PM", "LR"
		here.Config.Safety.PassesFrom = from
		there.Config.Safety.Competent = []string{"KC"}
		m := &stock.Machine{Maker: "Ostermann", Serial: "B7", Drive: registry.Electric}
		require.NoError(t, here.Log(ctx, "QX", m, false))
		_, err := here.Triage(ctx, "QX", m.Tag, "refurbish", "complete", "")
		require.NoError(t, err)
		_, _, err = here.Safety(ctx, "EL", m.Tag, registrytest.FailedSafety())
		require.NoError(t, err)
		_, err = receive(there, bundle(t, here, "Lantern Row"))
		require.NoError(t, err)
		_, err = there.BenchStart(ctx, "QX", m.Tag, bench.WorkNote{})
		require.NoError(t, err)
		_, err = there.Convert(ctx, "KC", m.Tag, spares.Conversion{To: registry.Hand, Off: mains.Kinds})
		require.NoError(t, err)
		_, err = there.BenchFinish(ctx, "QX", m.Tag, bench.WorkNote{})
		require.NoError(t, err)
		_, _, err = there.Test(ctx, "RS", m.Tag, bench.TestForm{PassAll: true})
		require.NoError(t, err)
		ready, err := there.Machine(ctx, m.Tag)
		require.NoError(t, err)
		require.Equal(t, registry.Ready, ready.Stage)
		b, err := exchange.ReadBundle(bytes.NewReader(bundle(t, there, "Eldwray")))
		require.NoError(t, err)
		_, err = here.TakeOver(ctx, "QX", exchange.Receiving{From: "LR", Name: "x", Signer: signer}, b.Next)
		require.NoError(t, err)
		registrytest.VerifiesClean(t, here)
		back, err := here.Machine(ctx, m.Tag)
		require.NoError(t, err)
		return back
	}
	m := comesBack("")
	assert.True(t, m.TakesMains())
	assert.Equal(t, registry.Check, m.Stage)
	assert.Equal(t, mains.Unknown, m.Mains.Of("motor", false))
	assert.True(t, comesBack(key).TakesMains(), "no key is named")
	m = comesBack(key, key)
	assert.False(t, m.TakesMains())
	assert.Equal(t, registry.Ready, m.Stage)
}
