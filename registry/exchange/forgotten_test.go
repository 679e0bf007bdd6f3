package exchange_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry/exchange"
	"pitman/registry/forget"
	"pitman/registry/registrytest"
	"pitman/registry/stock"
)

// One house forgot a donor whom the other one still knows: the machine goes there and back all the same, and
// the name does not come with it.
func TestAMachineGoesBetweenHousesOfWhichOneForgot(t *testing.T) {
	w, other := registrytest.InLetters(t, "LR"), registrytest.InLetters(t, "EL")
	m := registrytest.Machine("K1")
	m.Donor, m.Note = "Ada Merrow", "from Ada Merrow, drawer key"
	require.NoError(t, w.Log(ctx, "QX", m, false))
	take := func(from, to, does string) {
		giver, taker := w, other
		if from == "EL" {
			giver, taker = other, w
		}
		arrived, err := receive(taker, bundle(t, giver, to))
		require.NoError(t, err)
		require.Len(t, arrived, 1)
		require.Equal(t, does, arrived[0].Does, arrived[0].Why)
		registrytest.VerifiesClean(t, taker)
	}
	take("LR", "Eldwray", exchange.ArrivalNew)
	_, err := w.Forget(ctx, "QX", forget.Who{Donor: "Ada Merrow"}, false)
	require.NoError(t, err)
	_, err = other.Amend(ctx, "EZ", m.Tag, "", func(m *stock.Machine) error { m.Place = "bay 3"; return nil })
	require.NoError(t, err)
	take("EL", "Lantern Row", exchange.ArrivalContinued)
	back, err := w.Machine(ctx, m.Tag)
	require.NoError(t, err)
	assert.Empty(t, back.Donor)
	assert.Equal(t, "from …, drawer key", back.Note)
	assert.Equal(t, "bay 3", back.Place)
	for _, line := range history(t, w, m.Tag) {
		assert.NotContains(t, line, "Merrow")
	}
	take("LR", "Eldwray", exchange.ArrivalContinued)

	second := registrytest.Machine("K2")
	second.Donor = "Bo Lark"
	require.NoError(t, w.Log(ctx, "QX", second, false))
	_, err = w.Forget(ctx, "QX", forget.Who{Donor: "Bo Lark"}, false)
	require.NoError(t, err)
	third := registrytest.InLetters(t, "TH")
	arrived, err := receive(third, bundle(t, w, "Third House"))
	require.NoError(t, err)
	require.Equal(t, exchange.ArrivalNew, arrived[0].Does)
	registrytest.VerifiesClean(t, third)
}
