package registry_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
)

// Each stage stands once at most for an action of a unit, so that a move has one command and leads to one
// place.
func TestTheTableOfMovesIsAFunction(t *testing.T) {
	seen := map[string]bool{}
	for _, m := range registry.Moves {
		assert.Contains(t, registry.Actions(), m.Action)
		for _, s := range m.From {
			assert.Contains(t, registry.Stages, s)
			name := fmt.Sprintf("%s %s at %s", m.Unit, m.Action, s)
			assert.False(t, seen[name], name)
			seen[name] = true
		}
		if m.To != registry.Stays && m.To != registry.Back {
			assert.Contains(t, registry.Stages, m.To)
		}
	}
}

// Whoever does what each refusal names, one after another, comes to where the action is allowed; and no
// refusal ever sends anybody to strip, sell, scrap or stop a machine on the way to something else.
func TestHintsLeadThereAndGiveNothingUp(t *testing.T) {
	for _, unit := range []string{registry.UnitMachine, registry.UnitBase} {
		actions := map[string]bool{}
		for _, m := range registry.Moves {
			if m.Unit == unit {
				actions[m.Action] = true
			}
		}
		for action := range actions {
			for _, start := range registry.Stages {
				at, heldFrom, hints := start, registry.Stage(""), 0
				if start == registry.Held {
					heldFrom = registry.Logged
				}
				for {
					if _, ok := registry.MoveOf(unit, action, at); ok {
						break
					}
					_, err := registry.Step(unit, "PM16", action, at, heldFrom)
					require.Error(t, err)
					hint := nextOf(t, err)
					if hint.Action == registry.DoStages {
						// where the action leads to, such as packed
						already := strings.Contains(err.Error(), "already")
						assert.True(t, hints == 0 || already, "%s of a %s at %s ends at %s", action, unit,
							start, at)
						break
					}
					i := slices.IndexFunc(registry.Moves, func(m registry.Move) bool {
						return m.Unit == unit && slices.Contains(m.From, at) && m.Action == hint.Action
					})
					require.GreaterOrEqual(t, i, 0, "%s of a %s at %s: %s is not allowed there", action, unit,
						at, hint.Action)
					taken := registry.Moves[i]
					given := slices.Contains([]registry.Stage{registry.Parts, registry.Sold,
						registry.Scrapped, registry.Held}, taken.To)
					assert.True(t, !given || action == registry.DoTake && taken.To == registry.Parts,
						"%s of a %s at %s: %s",
						action, unit, at, hint.Action)
					if at, err = registry.Step(unit, "PM16", taken.Action, at, heldFrom); err != nil {
						t.Fatal(err)
					}
					hints++
					require.Less(t, hints, len(registry.Stages), "%s of a %s at %s goes round", action, unit,
						start)
				}
			}
		}
	}
}

func nextOf(t *testing.T, err error) registry.NextStep {
	t.Helper()
	var refused *registry.Error
	require.ErrorAs(t, err, &refused)
	require.Len(t, refused.Next, 1, err)
	return refused.Next[0]
}

// The way from the door to a training centre, by what the refusals say.
func TestTheNextStepIsTheUsualOne(t *testing.T) {
	for _, c := range []struct {
		action       string
		at, heldFrom registry.Stage
		next         string
	}{
		{registry.DoTestPass, registry.Logged, "", registry.DoRefurbish},
		{registry.DoTestPass, registry.Queued, "", registry.DoBenchStart},
		{registry.DoTestPass, registry.Bench, "", registry.DoBenchDone},
		{registry.DoTestPass, registry.Held, registry.Check, registry.DoRelease},
		{registry.DoBenchStart, registry.Held, registry.Logged, registry.DoRelease},
		{registry.DoFit, registry.Check, "", registry.DoBenchStart},
		{registry.DoTake, registry.Ready, "", registry.DoStrip},
		{registry.DoTake, registry.Scrapped, "", registry.DoStrip},
		{registry.DoSell, registry.Scrapped, "", registry.DoRefurbish},
		{registry.DoBenchStart, registry.Packed, "", registry.DoUnpack},
		{registry.DoBenchStart, registry.Reserved, "", registry.DoUnreserve},
		{registry.DoReportBack, registry.Packed, "", registry.DoShip},
		{registry.DoReportBack, registry.Ready, "", registry.DoReserve},
	} {
		_, err := registry.Step(registry.UnitMachine, "PM16", c.action, c.at, c.heldFrom)
		next := nextOf(t, err)
		assert.Equal(t, c.next, next.Action, "%s at %s", c.action, c.at)
		assert.Equal(t, registry.Tag("PM16"), next.Tag)
	}
	for _, action := range []string{registry.DoRefurbish, registry.DoRelease} {
		_, err := registry.Step(registry.UnitMachine, "PM16", action, registry.Bench, "")
		assert.Equal(t, registry.DoStages, nextOf(t, err).Action, action)
	}
}

// Orders take from stock what is ready, and nothing else; written out by hand.
func TestOrdersTakeFromStockOnly(t *testing.T) {
	for _, unit := range []string{registry.UnitMachine, registry.UnitBase} {
		for action, way := range map[string][2]registry.Stage{
			registry.DoReserve:   {registry.Ready, registry.Reserved},
			registry.DoUnreserve: {registry.Reserved, registry.Ready},
			registry.DoPack:      {registry.Reserved, registry.Packed},
			registry.DoUnpack:    {registry.Packed, registry.Reserved},
			registry.DoShip:      {registry.Packed, registry.Shipped},
		} {
			for _, at := range registry.Stages {
				to, err := registry.Step(unit, "PM16", action, at, "")
				if at == way[0] {
					require.NoError(t, err)
					assert.Equal(t, way[1], to, "%s of a %s", action, unit)
				} else {
					assert.Error(t, err, "%s of a %s at %s", action, unit, at)
				}
			}
		}
	}
}
