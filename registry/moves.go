package registry

import (
	"slices"
	"strings"
)

// Move is one line of the table of allowed moves: who reads it knows what may be done at which stage, where it leads, what it
// asks for and which command does it. The rules read the same table, so what is not in it cannot happen.
type Move struct {
	Unit    string  `json:"unit"` // machine or base
	Action  string  `json:"action"`
	From    []Stage `json:"from"`
	To      Stage   `json:"to"` // a stage, Stays or Back
	Command string  `json:"command"`
	Needs   string  `json:"needs,omitempty"`
}

// Where a move can lead beside a stage.
const (
	Stays Stage = "stays" // the stage does not change
	Back  Stage = "back"  // to where the unit was before it was held
)

// What is done to a unit, as the table names it.
const (
	doRefurbish  = "triage to refurbish"
	doStrip      = "triage to parts"
	doSell       = "triage to sale"
	doScrap      = "triage to scrap"
	doBenchStart = "bench start"
	doBenchMend  = "bench start after a failed safety test"
	doBenchNote  = "bench note"
	doBenchDone  = "bench finish"
	doTestPass   = "a passed function test"
	doTestFail   = "a failed function test"
	doSafePass   = "a passed safety test"
	doSafeClear  = "a passed safety test after a failed one"
	doSafeFail   = "a failed safety test"
	doConvert    = "convert"
	doHold       = "hold"
	doRelease    = "release"
	doReserve    = "reserve"
	doUnreserve  = "give back"
	doPack       = "pack"
	doUnpack     = "unpack"
	doShip       = "ship"
	doReportBack = "report back"
	doTake       = "spare take"
	doFit        = "spare fit"
	doNeed       = "spare need"
	doBaseReady  = "make ready"
	doBaseLack   = "lack a part"
)

const (
	unitMachine = "machine"
	unitBase    = "base"
)

// Moves is the one table of allowed moves. A stage stands at most once for each action of a unit.
var Moves = []Move{
	{unitMachine, doRefurbish, []Stage{Logged, Parts, Sold, Scrapped}, Queued, "pitman triage TAG --to refurbish --why WHY", "a reason"},
	{unitMachine, doStrip, []Stage{Logged, Queued, Bench, Check, Ready, Held, Sold, Scrapped}, Parts,
		"pitman triage TAG --to parts --why WHY", "a reason; a second look at an old machine"},
	{unitMachine, doSell, []Stage{Logged, Queued, Bench, Check, Ready, Held}, Sold, "pitman triage TAG --to sale --why WHY", "a reason"},
	{unitMachine, doScrap, []Stage{Logged, Queued, Bench, Check, Ready, Held, Parts}, Scrapped,
		"pitman triage TAG --to scrap --why WHY", "a reason; a second look at an old machine"},

	{unitMachine, doBenchStart, []Stage{Queued, Check, Ready}, Bench, "pitman bench start TAG", "tests made before count no longer"},
	{unitMachine, doBenchMend, []Stage{Held}, Bench, "pitman bench start TAG", "held by a failed safety test"},
	{unitMachine, doBenchNote, []Stage{Bench}, Stays, "pitman bench note TAG --job JOB", ""},
	{unitMachine, doBenchDone, []Stage{Bench}, Check, "pitman bench finish TAG", ""},

	{unitMachine, doTestPass, []Stage{Check, Ready}, Ready,
		"pitman test TAG --pass all", "another person than the refurbisher, where the house says so; a standing safety pass, if electric"},
	{unitMachine, doTestFail, []Stage{Check, Ready}, Bench, "pitman test TAG --fail POINT=FAULT", "the same"},
	{unitMachine, doSafePass, []Stage{Logged, Queued, Bench, Check, Ready, Reserved, Held}, Stays,
		"pitman safety TAG --class CLASS --visual pass ...", "electric; a competent person"},
	{unitMachine, doSafeClear, []Stage{Held}, Back,
		"pitman safety TAG --class CLASS --visual pass ...", "held by a failed safety test; a competent person"},
	{unitMachine, doSafeFail, []Stage{Logged, Queued, Bench, Check, Ready, Reserved, Held}, Held,
		"pitman safety TAG --class CLASS --visual fail", "electric; a competent person"},
	{unitMachine, doConvert, []Stage{Logged, Queued, Bench}, Stays, "pitman convert TAG --to DRIVE", "tests that no longer apply are cancelled"},
	{unitMachine, doConvert, []Stage{Check, Ready}, Check, "pitman convert TAG --to DRIVE", "it is tested again"},

	{unitMachine, doHold, []Stage{Logged, Queued, Bench, Check, Ready}, Held, "pitman hold TAG --why WHY", "a reason"},
	{unitMachine, doRelease, []Stage{Held}, Back, "pitman release TAG", "not after a failed safety test: that needs a pass, or the bench"},

	{unitMachine, doReserve, []Stage{Ready}, Reserved, "pitman match --confirm", "an order that it fits; a standing safety pass, if electric"},
	{unitMachine, doUnreserve, []Stage{Reserved}, Ready, "pitman order release ORDER", ""},
	{unitMachine, doPack, []Stage{Reserved}, Packed,
		"pitman order pack ORDER", "a standing safety pass, if electric; a second look at an old machine; its kit"},
	{unitMachine, doUnpack, []Stage{Packed}, Reserved, "pitman order unpack ORDER TAG", ""},
	{unitMachine, doShip, []Stage{Packed}, Shipped, "pitman order ship ORDER", ""},
	{unitMachine, doReportBack, []Stage{Shipped}, Stays, "pitman report-back TAG --note NOTE", ""},

	{unitMachine, doTake, []Stage{Parts}, Stays, "pitman spare take TAG PART", "the part is still on it"},
	{unitMachine, doFit, []Stage{Bench}, Stays, "pitman spare fit TAG PART", "a part from the shelf, or --bought"},
	{unitMachine, doNeed, []Stage{Queued, Bench, Check, Held}, Stays, "pitman spare need TAG PART", ""},

	{unitBase, doBaseReady, []Stage{Logged}, Ready, "pitman base ready TAG", "every needed part on the list present"},
	{unitBase, doBaseLack, []Stage{Ready}, Logged, "pitman base amend TAG --parts LIST", "a needed part turns out to be missing"},
	{unitBase, doHold, []Stage{Logged, Ready}, Held, "pitman hold TAG --why WHY", "a reason"},
	{unitBase, doRelease, []Stage{Held}, Back, "pitman release TAG", ""},
	{unitBase, doStrip, []Stage{Logged, Ready, Held}, Parts, "pitman triage TAG --to parts --why WHY", "a reason"},
	{unitBase, doSell, []Stage{Logged, Ready, Held}, Sold, "pitman triage TAG --to sale --why WHY", "a reason"},
	{unitBase, doScrap, []Stage{Logged, Ready, Held, Parts}, Scrapped, "pitman triage TAG --to scrap --why WHY", "a reason"},
	{unitBase, doRefurbish, []Stage{Parts, Sold, Scrapped}, Logged, "pitman triage TAG --to refurbish --why WHY", "a reason"},
	{unitBase, doReserve, []Stage{Ready}, Reserved, "pitman match --confirm", "an order"},
	{unitBase, doUnreserve, []Stage{Reserved}, Ready, "pitman order release ORDER", ""},
	{unitBase, doPack, []Stage{Reserved}, Packed, "pitman order pack ORDER", ""},
	{unitBase, doUnpack, []Stage{Packed}, Reserved, "pitman order unpack ORDER TAG", ""},
	{unitBase, doShip, []Stage{Packed}, Shipped, "pitman order ship ORDER", ""},
}

// moveOf finds the line of the table for an action at a stage.
func moveOf(unit, action string, at Stage) (Move, bool) {
	i := slices.IndexFunc(Moves, func(m Move) bool { return m.Unit == unit && m.Action == action && slices.Contains(m.From, at) })
	if i < 0 {
		return Move{}, false
	}
	return Moves[i], true
}

// step says where an action leads from here, or refuses it with the command that comes next on the way there.
func step(unit string, tag Tag, action string, at, heldFrom Stage) (Stage, error) {
	m, ok := moveOf(unit, action, at)
	if !ok {
		return at, refuseMove(unit, tag, action, at, heldFrom)
	}
	switch m.To {
	case Stays:
		return at, nil
	case Back:
		return heldFrom, nil
	}
	return m.To, nil
}

// refuseMove says at which stages the action is allowed, and what to do to get there.
func refuseMove(unit string, tag Tag, action string, at, heldFrom Stage) error {
	var allowed []string
	for _, m := range Moves {
		if m.Unit == unit && m.Action == action {
			if m.To == at {
				return Errorf(Conflict, "%s is at stage %s already: pitman stages lists what can be done next", tag, at)
			}
			for _, s := range m.From {
				allowed = append(allowed, string(s))
			}
		}
	}
	next := "pitman stages lists what can be done"
	if path := pathTo(unit, action, at, heldFrom); len(path) > 0 {
		next = "next is " + commandFor(path[0], tag)
	}
	return Errorf(Conflict, "%s is at stage %s, and %s is for a %s at stage %s: %s", tag, at, action, unit, orList(allowed), next)
}

func commandFor(m Move, tag Tag) string { return strings.Replace(m.Command, "TAG", string(tag), 1) }

// detours lead to a stage, but nobody takes them in order to get there: things that go wrong, and giving a unit up or stopping it.
var detours = []string{doTestFail, doSafeFail, doSafeClear, doBenchMend, doBaseLack, doStrip, doSell, doScrap, doHold}

// leads says whether a move may stand on the way to an action. A unit is stripped only for whoever wants a part of it.
func (m Move) leads(action string) bool {
	return m.To != Stays && (!slices.Contains(detours, m.Action) || action == doTake && m.Action == doStrip)
}

// pathTo finds the shortest way from a stage to one where the action is allowed.
func pathTo(unit, action string, at, heldFrom Stage) []Move {
	type way struct {
		stage Stage
		moves []Move
	}
	seen := map[Stage]bool{at: true}
	for queue := []way{{stage: at}}; len(queue) > 0; queue = queue[1:] {
		here := queue[0]
		if _, ok := moveOf(unit, action, here.stage); ok {
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
