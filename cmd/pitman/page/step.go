package page

import (
	"context"
	"fmt"
	"maps"
	"net/http"
	"slices"
	"strings"

	"pitman/registry"
	"pitman/registry/offers"
	"pitman/registry/stock"
)

// asking makes the form of a step.
type asking[T any] func(s *Server, v *visit, of *T) (*form, error)

// headForms are the forms of the steps of a machine, and of what only pages do.
func headForms() map[string]asking[stock.Machine] {
	return map[string]asking[stock.Machine]{
		"refurbish": triage("refurbish"),
		"test":      functionTest,
		"safety":    safetyTest,
		"bench":     benchStart,
		"work":      benchNote,
		"finish":    benchFinish,
		"take":      takePart,
		"fit":       fitPart,
		"need":      needPart,
		"release":   release,
		"arrived":   reportBack,
		"convert":   convert,
		"parts":     triage("parts"),
		"sale":      triage("sale"),
		"scrap":     triage("scrap"),
		"hold":      hold,
		"place":     moveHead,
		"plate":     readPlate,
		"correct":   amendHead,
		"undo":      undoHead,
		"photo": func(s *Server, _ *visit, m *stock.Machine) (*form, error) {
			return s.photoForm(m.Tag), nil
		},
		"photo-remove": func(s *Server, v *visit, m *stock.Machine) (*form, error) {
			return s.removePhotoForm(v, m.Tag)
		},
	}
}

// Steps names what there is a form for, of a machine and of a base: the last part of its address.
func Steps() (heads, bases []string) {
	return slices.Sorted(maps.Keys(headForms())), slices.Sorted(maps.Keys(baseForms()))
}

// pageSteps are those of pages alone.
var pageSteps = []offers.Step{{Name: "photo", Label: "add a picture"},
	{Name: "photo-remove", Label: "remove a picture"}}

// plateStep is offered where there is a picture of a plate.
var plateStep = offers.Step{Name: "plate", Label: "read its serial off the plate"}

// act is a button on a machine's page; one that waits for something says for what.
type act struct{ Label, To, Waits string }

// nextStep is what a refusal says can be done instead.
type nextStep = act

// choices are the buttons of a head or base: the way forward, what waits for something, the ways out, and
// what is always allowed.
type choices struct{ Acts, Waiting, Out, Always []act }

func button(tag registry.Tag, s offers.Step) act {
	return act{Label: strings.ToUpper(s.Label[:1]) + s.Label[1:], To: fmt.Sprintf("/m/%s/%s", tag, s.Name)}
}

// choicesOf parts the open steps of a head or base by where their buttons stand.
func choicesOf(tag registry.Tag, steps []offers.Step, moves []offers.Offer) (o choices) {
	for _, s := range offers.Open(append(steps, pageSteps...), moves) {
		one := button(tag, s.Step)
		switch {
		case len(s.Actions) == 0:
			o.Always = append(o.Always, one)
		case s.Waits != nil:
			one.Waits = sentence(s.Waits)
			o.Waiting = append(o.Waiting, one)
		case s.Out:
			o.Out = append(o.Out, one)
		default:
			o.Acts = append(o.Acts, one)
		}
	}
	return o
}

func (s *Server) headOffers(v *visit, m *stock.Machine) (choices, error) {
	moves, err := s.AllowedMoves(v.ctx(), v.by, m)
	return choicesOf(m.Tag, offers.HeadSteps(), moves), err
}

func (s *Server) baseOffers(v *visit, b *stock.Base) (choices, error) {
	moves, err := s.AllowedBaseMoves(v.ctx(), b)
	return choicesOf(b.Tag, offers.BaseSteps(), moves), err
}

// nextSteps are what a refusal says can be done instead, as far as it is done on a page.
func (s *Server) nextSteps(ctx context.Context, refused *registry.Error) []nextStep {
	var next []nextStep
	for _, n := range refused.Next {
		if n.Tag == "" {
			continue
		}
		steps := offers.HeadSteps()
		if _, err := s.Base(ctx, n.Tag); err == nil {
			steps = offers.BaseSteps()
		}
		step, ok := offers.StepOf(steps, n.Action)
		if !ok {
			continue
		}
		one := button(n.Tag, step)
		one.Label = fmt.Sprintf("%s: %s", n.Tag, step.Label)
		if !slices.Contains(next, one) {
			next = append(next, one)
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
		if f, err = formOf(s, v, headForms()[name], m, tag); err != nil {
			return err
		}
		f.Warnings = s.Warnings(m)
	} else {
		if f, err = formOf(s, v, baseForms()[name], b, tag); err != nil {
			return err
		}
	}
	f.Back = home
	if v.Method != http.MethodPost {
		s.open(v, f, last)
		return nil
	}
	return s.send(v, f, string(tag), home)
}

func formOf[T any](s *Server, v *visit, ask asking[T], of *T, tag registry.Tag) (*form, error) {
	if ask == nil {
		return nil, registry.Errorf(registry.NotFound,
			"there is nothing of that name to do with %s: go back to its page", tag)
	}
	return ask(s, v, of)
}

// now says where a machine stands after a step.
func now(m *stock.Machine, err error) (done, error) {
	if err != nil {
		return done{}, err
	}
	return done{said: m.WhereNow()}, nil
}
