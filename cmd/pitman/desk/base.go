package desk

import (
	"fmt"
	"slices"
	"strings"

	"pitman/registry"
	"pitman/registry/measure"
	"pitman/registry/stock"
)

// base shows one treadle base with what it may do next.
type base struct {
	tag registry.Tag
	b   *stock.Base
	menu
}

func (s *base) of() registry.Tag { return s.tag }

func (s *base) offered() []item { return s.items }

func (s *base) wake(d *Desk) {
	b, err := d.Base(d.ctx, s.tag)
	if d.refuse(err) {
		return
	}
	s.b, s.items = b, d.baseActions(b)
	d.refresh()
}

func (s *base) view(d *Desk, width int) page {
	p := page{title: string(s.tag), keys: "Press a letter, or scan the next tag   Esc back", cursor: -1}
	if s.b == nil {
		return p
	}
	b := s.b
	p.title = fmt.Sprintf("%s   %s (treadle base)", b.Tag, b.Name())
	stands := fmt.Sprintf("%s since %s", b.Stage, d.date(b.Since))
	if b.Place != "" && b.Here() {
		stands += ", at " + b.Place
	}
	p.words(width, plain, stands)
	if g, err := d.GoingWith(d.ctx, b.Tag); err == nil && g.Order != "" {
		p.words(width, plain, "on "+g.Order+" for "+g.Partner)
	}
	if b.HeldWhy != "" {
		p.words(width, plain, "held: "+b.HeldWhy)
	}
	if c := measure.LiftCaution(b.Weight, true); c != "" {
		p.words(width, strong, c)
	}
	parts := "parts there: " + strings.Join(b.Parts, ", ")
	if len(b.Parts) == 0 {
		parts = "nobody said which parts are there"
	}
	p.words(width, plain, parts)
	var measures []string
	for _, name := range []string{"opening", "pins", "flywheel"} {
		if f, ok := baseField(name); ok && strings.Join(f.Get(b), "") != "" {
			measures = append(measures, name+" "+strings.Join(f.Get(b), " x "))
		} else {
			measures = append(measures, name+" not measured")
		}
	}
	p.words(width, plain, strings.Join(measures, ", "))
	if words := strings.Trim(b.Condition+"; "+b.Note, "; "); words != "" {
		p.words(width, plain, words)
	}
	p.add(nil)
	s.show(&p, width)
	return p
}

// baseSteps are the moves of a base, as steps are those of a head.
func baseSteps(d *Desk, b *stock.Base) []struct {
	item
	action string
} {
	decide := func(way, title string) func(*Desk) {
		return func(d *Desk) {
			d.begin(&form{final: goodbye(way, b.Tag), grave: way != "refurbish",
				title: fmt.Sprintf("%s: %s", b.Tag, title),
				notes: []string{measure.LiftCaution(b.Weight, true)}, asked: []question{why(d, way)},
				do: func(d *Desk, a answers) (string, error) {
					done, err := d.TriageBase(d.ctx, d.by, b.Tag, way, a["why"])
					return stands(done), err
				}})
		}
	}
	return []struct {
		item
		action string
	}{
		{item{'r', "ready: every part is there", func(d *Desk) {
			done, err := d.ReadyBase(d.ctx, d.by, b.Tag)
			if !d.refuse(err) {
				d.again(stands(done))
			}
		}}, "make ready"},
		{item{'b', "bring it back", decide("refurbish", "bring it back")}, "triage to refurbish"},
		{item{'g', "let it go on", func(d *Desk) {
			done, err := d.ReleaseBase(d.ctx, d.by, b.Tag, "")
			if !d.refuse(err) {
				d.again(stands(done))
			}
		}}, "release"},
		{item{'h', "hold it: it waits for something", func(d *Desk) {
			d.begin(&form{title: fmt.Sprintf("%s: hold it", b.Tag), asked: []question{why(d, "hold")},
				do: func(d *Desk, a answers) (string, error) {
					done, err := d.HoldBase(d.ctx, d.by, b.Tag, a["why"])
					return stands(done), err
				}})
		}}, "hold"},
		{item{'p', "strip it for parts", decide("parts", "strip it for parts")}, "triage to parts"},
		{item{'s', "sell it", decide("sale", "sell it")}, "triage to sale"},
		{item{'x', "scrap it", decide("scrap", "scrap it")}, "triage to scrap"},
	}
}

func stands(b *stock.Base) string {
	if b == nil {
		return ""
	}
	return fmt.Sprintf("%s is now %s.", b.Tag, b.Stage)
}

// again looks at the page anew and says what was done.
func (d *Desk) again(said string) {
	if w, ok := d.top().(waker); ok {
		w.wake(d)
	}
	d.say("%s", said)
}

func (d *Desk) baseActions(b *stock.Base) []item {
	var items []item
	offerKeys, err := d.AllowedBaseMoves(b)
	d.refuse(err)
	allowed := offered(offerKeys)
	for _, s := range baseSteps(d, b) {
		if allowed[s.action] {
			items = append(items, s.item)
		}
	}
	return append(append(items, d.labelItem(b.Tag)...),
		item{'o', "measure, or correct", func(d *Desk) { d.push(baseSheet(b.Tag)) }},
		item{'m', "move it: where it stands",
			func(d *Desk) { move(d, b.Tag, b.Place, nil, measure.LiftCaution(b.Weight, true)) }},
		item{'i', "what happened to it", func(d *Desk) { d.push(&history{tag: b.Tag}) }},
		item{'u', "undo the last step", func(d *Desk) { undoOn(d, b.Tag, nil) }})
}

// addBase takes a base in with what can be seen at the door; measures follow on its page.
func addBase(d *Desk) {
	given := func(name, label, hint string) question {
		f, _ := baseField(name)
		return question{name: name, label: label, hint: hint, maybe: true,
			check: func(_ answers, typed string) error {
				var b stock.Base
				return f.Set(&b, []string{typed})
			}}
	}
	place, donor := given("place", "Place", "It stays for the whole load."),
		given("donor", "Given by", "It stays for the whole load.")
	place.given, donor.given, place.offerKeys = d.load.place, d.load.donor, d.places()
	d.begin(&form{title: "Log a treadle base", notes: []string{measure.LiftCaution(0, true)},
		asked: []question{
			given("pattern", "Pattern",
				"What bases of its shape are called here. Enter alone leaves it empty."),
			{name: "parts", label: "Are all its parts there?",
				picks: []pick{{'y', "all", "yes"}, {'n', "none",
					"no, or nobody looked: say which on its page"}}},
			given("condition", "Condition", "How does it look? Complete, cracked leg, rusty."),
			given("arrived-with", "Came with head",
				"Scan or type the tag of the head it came with. Enter alone if it came alone."), donor,
			place},
		final: "logs it", tag: "arrived-with",
		do: func(d *Desk, a answers) (string, error) {
			var b stock.Base
			for _, f := range stock.BaseFields {
				if typed := a[f.Name]; typed != "" {
					if err := f.Set(&b, []string{typed}); err != nil {
						return "", err
					}
				}
			}
			if err := d.AddBase(d.ctx, d.by, &b); err != nil {
				return "", err
			}
			d.load.donor, d.load.place = b.Donor, b.Place
			d.push(&logged{tag: b.Tag, about: b.Name(), next: addBase})
			return "", nil
		}})
}

func baseField(name string) (stock.BaseField, bool) {
	i := slices.IndexFunc(stock.BaseFields, func(f stock.BaseField) bool { return f.Name == name })
	if i < 0 {
		return stock.BaseField{}, false
	}
	return stock.BaseFields[i], true
}
