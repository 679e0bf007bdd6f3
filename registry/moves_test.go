package registry

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Each stage stands once at most for an action of a unit, so that a move has one command and leads to one
// place.
func TestTheTableOfMovesIsAFunction(t *testing.T) {
	seen := map[string]bool{}
	for _, m := range Moves {
		assert.Contains(t, Actions(), m.Action)
		for _, s := range m.From {
			assert.Contains(t, Stages, s)
			name := fmt.Sprintf("%s %s at %s", m.Unit, m.Action, s)
			assert.False(t, seen[name], name)
			seen[name] = true
		}
		if m.To != Stays && m.To != Back {
			assert.Contains(t, Stages, m.To)
		}
	}
}

// Whoever does what each refusal names, one after another, comes to where the action is allowed; and no
// refusal ever sends anybody to strip, sell, scrap or stop a machine on the way to something else.
func TestHintsLeadThereAndGiveNothingUp(t *testing.T) {
	for _, unit := range []string{UnitMachine, UnitBase} {
		actions := map[string]bool{}
		for _, m := range Moves {
			if m.Unit == unit {
				actions[m.Action] = true
			}
		}
		for action := range actions {
			for _, start := range Stages {
				at, heldFrom, hints := start, Stage(""), 0
				if start == Held {
					heldFrom = Logged
				}
				for {
					if _, ok := MoveOf(unit, action, at); ok {
						break
					}
					_, err := Step(unit, "PM16", action, at, heldFrom)
					require.Error(t, err)
					hint := nextOf(t, err)
					if hint.Action == DoStages {
						// where the action leads to, such as packed
						already := strings.Contains(err.Error(), "already")
						assert.True(t, hints == 0 || already, "%s of a %s at %s ends at %s", action, unit,
							start, at)
						break
					}
					i := slices.IndexFunc(Moves, func(m Move) bool {
						return m.Unit == unit && slices.Contains(m.From, at) && m.Action == hint.Action
					})
					require.GreaterOrEqual(t, i, 0, "%s of a %s at %s: %s is not allowed there", action, unit,
						at, hint.Action)
					taken := Moves[i]
					given := slices.Contains([]Stage{Parts, Sold, Scrapped, Held}, taken.To)
					assert.True(t, !given || action == DoTake && taken.To == Parts, "%s of a %s at %s: %s",
						action, unit, at, hint.Action)
					if at, err = Step(unit, "PM16", taken.Action, at, heldFrom); err != nil {
						t.Fatal(err)
					}
					hints++
					require.Less(t, hints, len(Stages), "%s of a %s at %s goes round", action, unit, start)
				}
			}
		}
	}
}

func nextOf(t *testing.T, err error) NextStep {
	t.Helper()
	var refused *Error
	require.ErrorAs(t, err, &refused)
	require.Len(t, refused.Next, 1, err)
	return refused.Next[0]
}

// The way from the door to a training centre, by what the refusals say.
func TestTheNextStepIsTheUsualOne(t *testing.T) {
	for _, c := range []struct {
		action       string
		at, heldFrom Stage
		next         string
	}{
		{DoTestPass, Logged, "", DoRefurbish},
		{DoTestPass, Queued, "", DoBenchStart},
		{DoTestPass, Bench, "", DoBenchDone},
		{DoTestPass, Held, Check, DoRelease},
		{DoBenchStart, Held, Logged, DoRelease},
		{DoFit, Check, "", DoBenchStart},
		{DoTake, Ready, "", DoStrip},
		{DoTake, Scrapped, "", DoStrip},
		{DoSell, Scrapped, "", DoRefurbish},
		{DoBenchStart, Packed, "", DoUnpack},
		{DoBenchStart, Reserved, "", DoUnreserve},
		{DoReportBack, Packed, "", DoShip},
		{DoReportBack, Ready, "", DoReserve},
	} {
		_, err := Step(UnitMachine, "PM16", c.action, c.at, c.heldFrom)
		next := nextOf(t, err)
		assert.Equal(t, c.next, next.Action, "%s at %s", c.action, c.at)
		assert.Equal(t, Tag("PM16"), next.Tag)
	}
	for _, action := range []string{DoRefurbish, DoRelease} {
		_, err := Step(UnitMachine, "PM16", action, Bench, "")
		assert.Equal(t, DoStages, nextOf(t, err).Action, action)
	}
}

// Orders take from stock what is ready, and nothing else; written out by hand.
func TestOrdersTakeFromStockOnly(t *testing.T) {
	for _, unit := range []string{UnitMachine, UnitBase} {
		for action, way := range map[string][2]Stage{
			DoReserve: {Ready, Reserved}, DoUnreserve: {Reserved, Ready}, DoPack: {Reserved, Packed},
			DoUnpack: {Packed, Reserved}, DoShip: {Packed, Shipped},
		} {
			for _, at := range Stages {
				to, err := Step(unit, "PM16", action, at, "")
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
