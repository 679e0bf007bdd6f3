package page

import (
	"fmt"
	"net/http"
	"slices"

	"pitman/registry"
	"pitman/registry/offers"
	"pitman/registry/stock"
)

// step is a move of the registry's table as a page offers it.
type step struct {
	name    string   // in the address
	label   string   // on its button
	actions []string // as the table of moves names them; one of them must be allowed
	ask     func(s *Server, v *visit, m *stock.Machine) (*form, error)
}

// steps are offered in this order: the way forward first, the ways out last.
func steps() []step {
	return []step{
		{"refurbish", "Refurbish it: bench comes next", []string{"triage to refurbish"}, triage("refurbish")},
		{"test", "Test how it sews", []string{"a passed function test"}, functionTest},
		{"safety", "Electrical safety test",
			[]string{"a passed safety test", "a passed safety test after a failed one"}, safetyTest},
		{"bench", "Start work on it", []string{"bench start", "bench start after a failed safety test"},
			benchStart},
		{"work", "Note work done", []string{"bench note"}, benchNote},
		{"finish", "Done at the bench: its tests come next", []string{"bench finish"}, benchFinish},
		{"fit", "Fit a part", []string{"spare fit"}, fitPart},
		{"take", "Take a part off it", []string{"spare take"}, takePart},
		{"need", "It needs a part", []string{"spare need"}, needPart},
		{"release", "Let it go on", []string{"release"}, release},
		{"arrived", "What the training centre says", []string{"report back"}, reportBack},
		{"convert", "Convert it to another drive", []string{"convert"}, convert},
		{"parts", "Strip it for parts", []string{"triage to parts"}, triage("parts")},
		{"sale", "Sell it", []string{"triage to sale"}, triage("sale")},
		{"scrap", "Scrap it", []string{"triage to scrap"}, triage("scrap")},
		{"hold", "Hold it: it waits for something", []string{"hold"}, hold},

		// What is always allowed needs no line in the table.
		{"place", "Move it: where it stands", nil, moveHead},
		{"correct", "Correct what is written", nil, amendHead},
		{"photo", "Add a picture", nil,
			func(s *Server, _ *visit, m *stock.Machine) (*form, error) { return s.photoForm(m.Tag), nil }},
		{"photo-remove", "Remove a picture", nil,
			func(s *Server, v *visit, m *stock.Machine) (*form, error) {
				return s.removePhotoForm(v, m.Tag)
			}},
		{"undo", "Undo the last step", nil, undoHead},
	}
}

// act is a button on a machine's page; one that waits for something says for what.
type act struct{ Label, To, Waits string }

// nextStep is what a refusal says can be done instead.
type nextStep = act

// choices are the buttons of a head or base: the way forward, what waits for something, the ways out, and
// what is always allowed.
type choices struct{ Acts, Waiting, Out, Always []act }

// waysOut lead away from the work, and stand below it.
var waysOut = []string{"convert", "parts", "sale", "scrap", "hold"}

func (o *choices) add(tag registry.Tag, name, label string, actions []string, moves []offers.Offer) {
	button := act{Label: label, To: fmt.Sprintf("/m/%s/%s", tag, name)}
	if len(actions) == 0 {
		o.Always = append(o.Always, button)
		return
	}
	for _, m := range moves {
		if !slices.Contains(actions, m.Action) || !m.Allowed && !m.Waits {
			continue
		}
		switch {
		case m.Waits:
			button.Waits = sentence(m.Refusal)
			o.Waiting = append(o.Waiting, button)
		case slices.Contains(waysOut, name):
			o.Out = append(o.Out, button)
		default:
			o.Acts = append(o.Acts, button)
		}
		return
	}
}

func (s *Server) headOffers(v *visit, m *stock.Machine) (o choices, err error) {
	moves, err := s.AllowedMoves(v.ctx(), v.by, m)
	for _, one := range steps() {
		o.add(m.Tag, one.name, one.label, one.actions, moves)
	}
	return o, err
}

func (s *Server) baseOffers(b *stock.Base) (o choices, err error) {
	moves, err := s.AllowedBaseMoves(b)
	for _, one := range baseSteps() {
		o.add(b.Tag, one.name, one.label, kept(one.action), moves)
	}
	return o, err
}

// otherSteps are what a refusal can name beside the moves of the table, by the step that begins them.
var otherSteps = map[string]string{registry.DoAmend: "correct", registry.DoMove: "place",
	registry.DoUndo: "undo", registry.DoSafetyResult: "safety",
	registry.DoTestResult: "test", registry.DoBought: "fit", "a failed function test": "test",
	"a failed safety test": "safety"}

// nextSteps are what a refusal says can be done instead, as far as it is done on a page.
func nextSteps(refused *registry.Error) []nextStep {
	var next []nextStep
	add := func(tag registry.Tag, name, label string) {
		button := nextStep{Label: label, To: fmt.Sprintf("/m/%s/%s", tag, name)}
		if !slices.Contains(next, button) {
			next = append(next, button)
		}
	}
	for _, n := range refused.Next {
		if n.Tag == "" {
			continue
		}
		for _, one := range steps() {
			if slices.Contains(one.actions, n.Action) || one.name == otherSteps[n.Action] {
				add(n.Tag, one.name, fmt.Sprintf("%s: %s", n.Tag, one.label))
			}
		}
		if n.Action == "make ready" || n.Action == registry.DoAmendBase {
			add(n.Tag, map[string]string{"make ready": "ready"}[n.Action]+
				map[string]string{registry.DoAmendBase: "measures"}[n.Action],
				fmt.Sprintf("%s: %s", n.Tag, n.Action))
		}
	}
	return next
}

// stepOf serves the form of a step, and what is sent with it.
func (s *Server) stepOf(v *visit) error {
	tag, err := v.tag()
	if err != nil {
		return err
	}
	var m *stock.Machine
	var b *stock.Base
	var last int64
	err = s.Store.View(v.ctx(), func(r stock.Reader) (err error) {
		if m, b, err = stock.HeadOrBase(r, tag); err != nil {
			return err
		}
		events, err := r.History(string(tag))
		if len(events) > 0 {
			last = events[len(events)-1].ID
		}
		return err
	})
	if err != nil {
		return err
	}
	var f *form
	name := v.PathValue("step")
	home := "/m/" + string(tag)
	if m != nil {
		i := slices.IndexFunc(steps(), func(one step) bool { return one.name == name })
		if i < 0 {
			return noStep(tag)
		}
		if f, err = steps()[i].ask(s, v, m); err != nil {
			return err
		}
		f.Warnings = s.Warnings(m)
	} else {
		i := slices.IndexFunc(baseSteps(), func(one baseStep) bool { return one.name == name })
		if i < 0 {
			return noStep(tag)
		}
		if f, err = baseSteps()[i].ask(s, v, b); err != nil {
			return err
		}
	}
	f.Back = home
	if v.Method == http.MethodGet {
		s.open(v, f, last)
		return nil
	}
	return s.send(v, f, string(tag), home)
}

func noStep(tag registry.Tag) error {
	return registry.Errorf(registry.NotFound,
		"there is nothing of that name to do with %s: go back to its page", tag)
}

// now says where a machine stands after a step.
func now(m *stock.Machine, err error) (done, error) {
	if err != nil {
		return done{}, err
	}
	return done{said: m.WhereNow()}, nil
}
