package offers_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"

	"pitman/registry"
	"pitman/registry/offers"
)

// Every move of the registry's table has its one step, or is done to whole orders.
func TestEveryMoveHasItsStep(t *testing.T) {
	ofOrders := []string{registry.DoReserve, registry.DoUnreserve, registry.DoPack, registry.DoUnpack,
		registry.DoShip}
	for unit, steps := range map[string][]offers.Step{registry.UnitMachine: offers.HeadSteps(),
		registry.UnitBase: offers.BaseSteps()} {
		named, done := map[string]bool{}, map[string]string{}
		for _, s := range steps {
			assert.False(t, named[s.Name], "two steps are called %s", s.Name)
			named[s.Name] = true
			for _, action := range append(s.Actions, s.Meant...) {
				assert.Empty(t, done[action], "%s is done by two steps", action)
				done[action] = s.Name
				found, ok := offers.StepOf(steps, action)
				assert.True(t, ok && found.Name == s.Name, action)
			}
		}
		for _, m := range registry.Moves {
			if m.Unit == unit {
				assert.True(t, done[m.Action] != "" || slices.Contains(ofOrders, m.Action), "%s of a %s",
					m.Action, unit)
			}
		}
	}
}

func TestOpenSteps(t *testing.T) {
	why := registry.Errorf(registry.Conflict, "PM16 has no safety pass")
	named := func(moves ...offers.Offer) map[string]*registry.Error {
		found := map[string]*registry.Error{}
		for _, s := range offers.Open(offers.HeadSteps(), moves) {
			found[s.Name] = s.Waits
		}
		return found
	}
	found := named(offers.Offer{Move: registry.Move{Action: registry.DoTestPass}, Waits: true, Refusal: why},
		offers.Offer{Move: registry.Move{Action: registry.DoSafePass}, Refusal: why},
		offers.Offer{Move: registry.Move{Action: registry.DoSafeClear}, Allowed: true},
		offers.Offer{Move: registry.Move{Action: registry.DoScrap}, Refusal: why})
	assert.Equal(t, map[string]*registry.Error{"test": why, "safety": nil, "place": nil, "correct": nil,
		"undo": nil}, found, "what waits, what is allowed by another of its moves, and what is always open")
}
