package desk

import (
	"fmt"
	"strings"

	"pitman/registry"
	"pitman/registry/fields"
	"pitman/registry/measure"
	"pitman/registry/offers"
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
	if crate := d.CrateToOpen(d.ctx, b.Tag, b.Since); crate != "" {
		p.words(width, strong, crate)
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
		if f, ok := fields.Named(stock.BaseFields, name); ok && strings.Join(f.Get(b), "") != "" {
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

// baseKeys are the keys of the steps of a base.
func baseKeys() map[string]doing[stock.Base] {
	return map[string]doing[stock.Base]{
		"ready": {'r', func(d *Desk, b *stock.Base) {
			done, err := d.ReadyBase(d.ctx, d.by, b.Tag)
			if !d.refuse(err) {
				d.again(stands(done))
			}
		}},
		"refurbish": {'b', triageBase("refurbish", "bring it back")},
		"release": {'g', func(d *Desk, b *stock.Base) {
			done, err := d.ReleaseBase(d.ctx, d.by, b.Tag, "")
			if !d.refuse(err) {
				d.again(stands(done))
			}
		}},
		"hold": {'h', func(d *Desk, b *stock.Base) {
			d.begin(&form{title: fmt.Sprintf("%s: hold it", b.Tag), asked: []question{why(d, "hold")},
				do: func(d *Desk, a answers) (string, error) {
					done, err := d.HoldBase(d.ctx, d.by, b.Tag, a["why"])
					return stands(done), err
				}})
		}},
		"parts":    {'p', triageBase("parts", "strip it for parts")},
		"sale":     {'s', triageBase("sale", "sell it")},
		"scrap":    {'x', triageBase("scrap", "scrap it")},
		"measures": {'o', func(d *Desk, b *stock.Base) { d.push(baseSheet(b.Tag)) }},
		"place": {'m', func(d *Desk, b *stock.Base) {
			move(d, b.Tag, b.Place, nil, measure.LiftCaution(b.Weight, true))
		}},
		"undo": {'u', func(d *Desk, b *stock.Base) { undoOn(d, b.Tag, nil) }},
	}
}

func triageBase(way, title string) func(*Desk, *stock.Base) {
	return func(d *Desk, b *stock.Base) {
		d.begin(&form{final: goodbye(way, b.Tag), grave: way != "refurbish",
			title: fmt.Sprintf("%s: %s", b.Tag, title),
			notes: []string{measure.LiftCaution(b.Weight, true)},
			asked: append([]question{why(d, way)}, d.brought(way)...),
			do: func(d *Desk, a answers) (string, error) {
				ctx, err := d.BringingTyped(d.ctx, b.Tag, way, a["brought"])
				if err != nil {
					return "", err
				}
				done, err := d.TriageBase(ctx, d.by, b.Tag, way, a["why"])
				return stands(done), err
			}})
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
	moves, err := d.AllowedBaseMoves(d.ctx, b)
	d.refuse(err)
	items := append(keysFor(offers.BaseSteps(), moves, baseKeys(), b), d.labelItem(b.Tag)...)
	return append(items, item{'i', "what happened to it", func(d *Desk) { d.push(&history{tag: b.Tag}) }})
}

// addBase takes a base in with what can be seen at the door; measures follow on its page.
func addBase(d *Desk) { addBaseOf(d, "") }

// addBaseOf is addBase for one that came with a head.
func addBaseOf(d *Desk, head registry.Tag) {
	given := func(name, label, hint string) question {
		f, _ := fields.Named(stock.BaseFields, name)
		return question{name: name, label: label, hint: hint, maybe: true,
			check: func(_ answers, typed string) error {
				var b stock.Base
				return f.Set(&b, []string{typed})
			}}
	}
	place, donor := given("place", "Place", "It stays for the whole load."),
		given("donor", "Given by", "It stays for the whole load.")
	place.given, donor.given, place.offerKeys = d.load.place, d.load.donor, d.places()
	place.word, donor.word = "place", "donor"
	with := given("arrived-with", "Came with head",
		"Scan or type the tag of the head it came with. Enter alone if it came alone.")
	with.given = string(head)
	title := "Log a treadle base"
	if head != "" {
		title = fmt.Sprintf("Log the treadle base of %s", head)
	}
	d.begin(&form{title: title, notes: []string{measure.LiftCaution(0, true)},
		asked: []question{
			given("pattern", "Pattern",
				"What bases of its shape are called here. Enter alone leaves it empty."),
			{name: "parts", label: "Are all its parts there?",
				picks: []pick{{'y', "all", "yes"}, {'n', "none",
					"no, or nobody looked: say which on its page"}}},
			given("condition", "Condition", "How does it look? Complete, cracked leg, rusty."),
			with, donor, place},
		final: "logs it", tag: "arrived-with", takes: true,
		do: func(d *Desk, a answers) (string, error) {
			var b stock.Base
			if d.van != nil {
				b.Note = d.load.note // what the papers of the load say
			}
			for _, f := range stock.BaseFields {
				if typed := a[f.Name]; typed != "" {
					if err := f.Set(&b, []string{typed}); err != nil {
						return "", err
					}
				}
			}
			b.Tag = d.blank
			if err := d.AddBase(d.ctx, d.by, &b); err != nil {
				d.letGo(err)
				return "", err
			}
			hangs := d.hung()
			d.load.donor, d.load.place = b.Donor, b.Place
			d.took(b.Tag)
			next := addBase
			if head != "" {
				next = func(d *Desk) {
					if _, is := d.top().(*logged); is { // of the head
						d.back()
					}
					d.push(newLog(d))
				}
			}
			d.push(&logged{tag: b.Tag, hangs: hangs, about: b.Name(), next: next})
			return "", nil
		}})
}
