package registry

import (
	"slices"
)

// Move is one line of the table of allowed moves: who reads it knows what may be done at which stage, where
// it leads and what it asks for. The rules read the same table, so what is not in it cannot happen. Which
// command or key does it is known to the front ends.
type Move struct {
	Unit   string  `json:"unit"` // machine or base
	Action string  `json:"action"`
	From   []Stage `json:"from"`
	To     Stage   `json:"to"` // a stage, Stays or Back
	Needs  string  `json:"needs,omitempty"`
}

// Where a move can lead beside a stage.
const (
	Stays Stage = "stays" // the stage does not change
	Back  Stage = "back"  // to where the unit was before it was held
)

// What is done to a unit, as the table names it.
const (
	DoRefurbish  = "triage to refurbish"
	DoStrip      = "triage to parts"
	DoSell       = "triage to sale"
	DoScrap      = "triage to scrap"
	DoBenchStart = "bench start"
	DoBenchMend  = "bench start after a failed safety test"
	DoBenchNote  = "bench note"
	DoBenchDone  = "bench finish"
	DoTestPass   = "a passed function test"
	DoTestFail   = "a failed function test"
	DoSafePass   = "a passed safety test"
	DoSafeClear  = "a passed safety test after a failed one"
	DoSafeFail   = "a failed safety test"
	DoConvert    = "convert"
	DoHold       = "hold"
	DoRelease    = "release"
	DoReserve    = "reserve"
	DoUnreserve  = "give back"
	DoPack       = "pack"
	DoUnpack     = "unpack"
	DoShip       = "ship"
	DoReportBack = "report back"
	DoTake       = "spare take"
	DoFit        = "spare fit"
	DoNeed       = "spare need"
	DoBaseReady  = "make ready"
	DoBaseLack   = "lack a part"
)

const (
	UnitMachine = "machine"
	UnitBase    = "base"
)

// Moves is the one table of allowed moves. A stage stands at most once for each action of a unit.
var Moves = []Move{
	{UnitMachine, DoRefurbish, []Stage{Logged, Parts, Sold, Scrapped}, Queued, "a reason"},
	{UnitMachine, DoStrip, []Stage{Logged, Queued, Bench, Check, Ready, Held, Sold, Scrapped}, Parts,
		"a reason; a second look at an old machine"},
	{UnitMachine, DoSell, []Stage{Logged, Queued, Bench, Check, Ready, Held}, Sold, "a reason"},
	{UnitMachine, DoScrap, []Stage{Logged, Queued, Bench, Check, Ready, Held, Parts}, Scrapped,
		"a reason; a second look at an old machine"},

	{UnitMachine, DoBenchStart, []Stage{Queued, Check, Ready}, Bench, "tests made before count no longer"},
	{UnitMachine, DoBenchMend, []Stage{Held}, Bench, "held by a failed safety test"},
	{UnitMachine, DoBenchNote, []Stage{Bench}, Stays, ""},
	{UnitMachine, DoBenchDone, []Stage{Bench}, Check, ""},

	{UnitMachine, DoTestPass, []Stage{Check, Ready}, Ready,
		"another person than the refurbisher, where the house says so; a standing safety pass, if electric"},
	{UnitMachine, DoTestPass, []Stage{Reserved}, Stays,
		"the same; a set is tried on its base, and keeps its place"},
	{UnitMachine, DoTestFail, []Stage{Check, Ready, Reserved}, Bench,
		"the same; what was promised leaves its order"},
	{UnitMachine, DoSafePass, []Stage{Logged, Queued, Bench, Check, Ready, Reserved, Held}, Stays,
		"electric; a competent person"},
	{UnitMachine, DoSafeClear, []Stage{Held}, Back, "held by a failed safety test; a competent person"},
	{UnitMachine, DoSafeFail, []Stage{Logged, Queued, Bench, Check, Ready, Reserved, Held}, Held,
		"electric; a competent person"},
	{UnitMachine, DoConvert, []Stage{Logged, Queued, Bench}, Stays,
		"tests that no longer apply are cancelled"},
	{UnitMachine, DoConvert, []Stage{Check, Ready}, Check, "it is tested again"},

	{UnitMachine, DoHold, []Stage{Logged, Queued, Bench, Check, Ready, Reserved}, Held,
		"a reason; what was promised leaves its order"},
	{UnitMachine, DoRelease, []Stage{Held}, Back,
		"not after a failed safety test: that needs a pass, or the bench"},

	{UnitMachine, DoReserve, []Stage{Ready}, Reserved,
		"an order that it fits; a standing safety pass, if electric"},
	{UnitMachine, DoUnreserve, []Stage{Reserved}, Ready, ""},
	{UnitMachine, DoPack, []Stage{Reserved}, Packed,
		"a standing safety pass, if electric; a second look at an old machine; its kit"},
	{UnitMachine, DoUnpack, []Stage{Packed}, Reserved, ""},
	{UnitMachine, DoShip, []Stage{Packed}, Shipped, ""},
	{UnitMachine, DoReportBack, []Stage{Shipped}, Stays, ""},

	{UnitMachine, DoTake, []Stage{Parts}, Stays, "the part is still on it"},
	{UnitMachine, DoFit, []Stage{Bench}, Stays, "a part from the shelf, or one that was bought"},
	{UnitMachine, DoNeed, []Stage{Queued, Bench, Check, Held}, Stays, ""},

	{UnitBase, DoBaseReady, []Stage{Logged}, Ready, "every needed part on the list present"},
	{UnitBase, DoBaseLack, []Stage{Ready}, Logged, "a needed part turns out to be missing"},
	{UnitBase, DoHold, []Stage{Logged, Ready, Reserved}, Held,
		"a reason; what was promised leaves its order"},
	{UnitBase, DoRelease, []Stage{Held}, Back, ""},
	{UnitBase, DoStrip, []Stage{Logged, Ready, Held}, Parts, "a reason"},
	{UnitBase, DoSell, []Stage{Logged, Ready, Held}, Sold, "a reason"},
	{UnitBase, DoScrap, []Stage{Logged, Ready, Held, Parts}, Scrapped, "a reason"},
	{UnitBase, DoRefurbish, []Stage{Parts, Sold, Scrapped}, Logged, "a reason"},
	{UnitBase, DoReserve, []Stage{Ready}, Reserved, "an order"},
	{UnitBase, DoUnreserve, []Stage{Reserved}, Ready, ""},
	{UnitBase, DoPack, []Stage{Reserved}, Packed, ""},
	{UnitBase, DoUnpack, []Stage{Packed}, Reserved, ""},
	{UnitBase, DoShip, []Stage{Packed}, Shipped, ""},
}

// MoveOf finds the line of the table for an action at a stage.
func MoveOf(unit, action string, at Stage) (Move, bool) {
	i := slices.IndexFunc(Moves,
		func(m Move) bool { return m.Unit == unit && m.Action == action && slices.Contains(m.From, at) })
	if i < 0 {
		return Move{}, false
	}
	return Moves[i], true
}

// Step says where an action leads from here, or refuses it with the step that comes next on the way there.
func Step(unit string, tag Tag, action string, at, heldFrom Stage) (Stage, error) {
	m, ok := MoveOf(unit, action, at)
	if !ok {
		return at, RefuseMove(unit, tag, action, at, heldFrom)
	}
	switch m.To {
	case Stays:
		return at, nil
	case Back:
		return heldFrom, nil
	}
	return m.To, nil
}

// RefuseMove says at which stages the action is allowed, and what to do to get there.
func RefuseMove(unit string, tag Tag, action string, at, heldFrom Stage) error {
	var allowed []string
	for _, m := range Moves {
		if m.Unit == unit && m.Action == action {
			if m.To == at {
				return Errorf(Conflict, "%s is at stage %s already", tag, at).Then(Next(DoStages, ""))
			}
			for _, s := range m.From {
				allowed = append(allowed, string(s))
			}
		}
	}
	next := Next(DoStages, "")
	if path := PathTo(unit, action, at, heldFrom); len(path) > 0 {
		next = Next(path[0].Action, tag)
	}
	return Errorf(Conflict, "%s is at stage %s, and %s is for a %s at stage %s", tag, at, action, unit,
		OrList(allowed)).Then(next)
}

// detours lead to a stage, but nobody takes them in order to get there: things that go wrong, and giving a
// unit up or stopping it.
var detours = []string{DoTestFail, DoSafeFail, DoSafeClear, DoBenchMend, DoBaseLack, DoStrip, DoSell, DoScrap,
	DoHold}

// leads says whether a move may stand on the way to an action. A unit is stripped only for whoever wants a
// part of it.
func (m Move) leads(action string) bool {
	return m.To != Stays && (!slices.Contains(detours, m.Action) || action == DoTake && m.Action == DoStrip)
}

// PathTo finds the shortest way from a stage to one where the action is allowed.
func PathTo(unit, action string, at, heldFrom Stage) []Move {
	type way struct {
		stage Stage
		moves []Move
	}
	seen := map[Stage]bool{at: true}
	for queue := []way{{stage: at}}; len(queue) > 0; queue = queue[1:] {
		here := queue[0]
		if _, ok := MoveOf(unit, action, here.stage); ok {
			return here.moves
		}
		for _, m := range Moves {
			if m.Unit != unit || !slices.Contains(m.From, here.stage) || !m.leads(action) {
				continue
			}
			to := m.To
			if to == Back {
				to = heldFrom
			}
			if to != "" && !seen[to] {
				seen[to] = true
				queue = append(queue, way{to, append(slices.Clone(here.moves), m)})
			}
		}
	}
	return nil
}
