package offers

import (
	"slices"

	"pitman/registry"
	"pitman/registry/stock"
)

// Step is what a person does with a head or base, as every screen offers it: a screen adds only how it is
// begun, by a key or by a button, and what is its own, such as pictures.
type Step struct {
	Name    string   // one word, such as fits an address
	Label   string   // in the words of the workshop
	Actions []string // of the table of moves, one of which must be allowed; none: it is always open
	Out     bool     // it leads away from the work, so that it stands below the rest
	Meant   []string // what else a refusal means by it
}

// HeadSteps are those of a machine: the way forward first, the ways out last, then what is always open.
func HeadSteps() []Step {
	return []Step{
		{Name: "refurbish", Label: "refurbish it: bench comes next", Actions: []string{registry.DoRefurbish}},
		{Name: "test", Label: "test how it sews", Actions: []string{registry.DoTestPass},
			Meant: []string{registry.DoTestFail, registry.DoTestResult}},
		{Name: "safety", Label: "electrical safety test",
			Actions: []string{registry.DoSafePass, registry.DoSafeClear},
			Meant:   []string{registry.DoSafeFail, registry.DoSafetyResult}},
		{Name: "bench", Label: "bench: start work on it",
			Actions: []string{registry.DoBenchStart, registry.DoBenchMend}},
		{Name: "work", Label: "work done: note it", Actions: []string{registry.DoBenchNote}},
		{Name: "finish", Label: "done here: its tests come next", Actions: []string{registry.DoBenchDone}},
		{Name: "take", Label: "take a part off it", Actions: []string{registry.DoTake}},
		{Name: "fit", Label: "fit a part", Actions: []string{registry.DoFit},
			Meant: []string{registry.DoBought}},
		{Name: "need", Label: "it needs a part", Actions: []string{registry.DoNeed}},
		{Name: "release", Label: "let it go on", Actions: []string{registry.DoRelease}},
		{Name: "arrived", Label: "what the training centre says", Actions: []string{registry.DoReportBack}},
		{Name: "convert", Label: "convert it to another drive", Actions: []string{registry.DoConvert},
			Out: true},
		{Name: "parts", Label: "strip it for parts", Actions: []string{registry.DoStrip}, Out: true},
		{Name: "sale", Label: "sell it", Actions: []string{registry.DoSell}, Out: true},
		{Name: "scrap", Label: "scrap it", Actions: []string{registry.DoScrap}, Out: true},
		{Name: "hold", Label: "hold it: it waits for something", Actions: []string{registry.DoHold}, Out: true},
		moved,
		{Name: "correct", Label: "correct what is written", Meant: []string{registry.DoAmend}},
		undone,
	}
}

// BaseSteps are those of a treadle base.
func BaseSteps() []Step {
	return []Step{
		{Name: "ready", Label: "ready: every part is there", Actions: []string{registry.DoBaseReady}},
		{Name: "refurbish", Label: "bring it back", Actions: []string{registry.DoRefurbish}},
		{Name: "release", Label: "let it go on", Actions: []string{registry.DoRelease}},
		{Name: "hold", Label: "hold it: it waits for something", Actions: []string{registry.DoHold}, Out: true},
		{Name: "parts", Label: "strip it for parts", Actions: []string{registry.DoStrip}, Out: true},
		{Name: "sale", Label: "sell it", Actions: []string{registry.DoSell}, Out: true},
		{Name: "scrap", Label: "scrap it", Actions: []string{registry.DoScrap}, Out: true},
		{Name: "measures", Label: "measures and parts",
			Meant: []string{registry.DoAmendBase, registry.DoBaseLack}},
		moved,
		undone,
	}
}

var (
	moved  = Step{Name: "place", Label: "move it: where it stands", Meant: []string{registry.DoMove}}
	undone = Step{Name: "undo", Label: "undo the last step", Meant: []string{registry.DoUndo}}
)

// Suits says whether one of the steps of these names is for a machine as it stands, now or once what it
// waits for is there. It asks the machine alone, so that many can be looked through.
func Suits(m *stock.Machine, names ...string) bool {
	return slices.ContainsFunc(HeadSteps(), func(s Step) bool {
		return slices.Contains(names, s.Name) &&
			slices.ContainsFunc(s.Actions, func(action string) bool { return m.Suits(action) == nil })
	})
}

// StepOf finds the step that an action is done by, as a refusal names it.
func StepOf(steps []Step, action string) (Step, bool) {
	i := slices.IndexFunc(steps, func(s Step) bool {
		return slices.Contains(s.Actions, action) || slices.Contains(s.Meant, action)
	})
	if i < 0 {
		return Step{}, false
	}
	return steps[i], true
}

// OpenStep is a step that a head or base stands before: it can be done now, or once what Waits names is
// there.
type OpenStep struct {
	Step
	Waits *registry.Error // nil where it can be done now
}

// Open leaves of the steps those that the moves of a head or base allow, or that only wait for something.
func Open(steps []Step, moves []Offer) []OpenStep {
	var open []OpenStep
	for _, s := range steps {
		if len(s.Actions) == 0 {
			open = append(open, OpenStep{Step: s})
			continue
		}
		i := slices.IndexFunc(moves, func(o Offer) bool {
			return slices.Contains(s.Actions, o.Action) && (o.Allowed || o.Waits)
		})
		if i >= 0 {
			open = append(open, OpenStep{s, moves[i].Refusal})
		}
	}
	return open
}
