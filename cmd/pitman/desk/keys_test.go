package desk

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/offers"
	"pitman/registry/stock"
)

// Every step has its one key on the page of a machine or base, and no key is without a step.
func TestEveryStepHasAKey(t *testing.T) {
	keysOfItsPage(t, offers.HeadSteps(), headKeys(), 'a', 'i', 'o')
	keysOfItsPage(t, offers.BaseSteps(), baseKeys(), 'a', 'i')
}

func keysOfItsPage[T any](t *testing.T, steps []offers.Step, keys map[string]doing[T], taken ...rune) {
	t.Helper()
	require.Len(t, keys, len(steps))
	for _, s := range steps {
		key := keys[s.Name].key
		require.NotZero(t, key, s.Name)
		require.NotContains(t, taken, key, "two things on one key: %s", s.Name)
		taken = append(taken, key)
	}
}

// What a refusal can name next has its key on the page of a machine or base; what has none is done elsewhere.
func TestEveryNextStepHasAKey(t *testing.T) {
	elsewhere := map[string][]string{
		"scanned on the page of its order, or done on it": {registry.DoPack, registry.DoShip,
			registry.DoPutKit, registry.DoKitBack,
			registry.DoShowOrder, registry.DoListOrders},
		"a key of the first page": {registry.DoAddBase, registry.DoFind, registry.DoListBases,
			registry.DoListSpares, registry.DoSetPIN},
		"asked in the form that was refused": {registry.DoLogAgain},
		"the page that the refusal speaks of": {registry.DoShow, registry.DoShowBase, registry.DoStages,
			registry.DoSlip},
		"for the coordinator, at the command line": {registry.DoReserve, registry.DoUnreserve,
			registry.DoUnpack,
			registry.DoOpenOrder, registry.DoOrderLine, registry.DoAmendOrder, registry.DoCancelOrder,
			registry.DoSwap, registry.DoPropose, registry.DoCountSpares, registry.DoCountStock,
			registry.DoWorkDone, registry.DoListWork, registry.DoListPapers, registry.DoAddPartner,
			registry.DoListPartners,
			registry.DoAmendPartner, registry.DoListShips, registry.DoListPledges, registry.DoListTakings, registry.DoShowShipment,
			registry.DoNewShipment, registry.DoAmendShip,
			registry.DoLoad, registry.DoUnload, registry.DoSend, registry.DoArrive},
		"about files and houses, which the desk does not touch": {registry.DoInit, registry.DoRestore,
			registry.DoVerify, registry.DoRenew, registry.DoTakeAgain, registry.DoUpdate,
			registry.DoMapColumn,
			registry.DoLeaveColumn, registry.DoHandOver, registry.DoTakeOver, registry.DoGrow,
			registry.DoDropHouse, registry.DoKeepHouse, registry.DoListHouses},
		"of pictures, which a terminal cannot show": {registry.DoReadPlates},
	}
	s := sit(t, "QX")
	head, base := s.add("Ostermann", "B1", registry.Electric), &stock.Base{}
	require.NoError(t, s.d.AddBase(context.Background(), "QX", base))
	done := map[string]string{}
	for why, actions := range elsewhere {
		for _, action := range actions {
			done[action] = why
		}
	}
	for _, action := range registry.Actions() {
		onHead, _ := s.d.keyOf(registry.Next(action, head.Tag))
		onBase, _ := s.d.keyOf(registry.Next(action, base.Tag))
		require.Equal(t, done[action] == "", onHead != 0 || onBase != 0, "%s: %s", action, done[action])
		delete(done, action)
	}
	require.Empty(t, done, "nothing is called that")
}
