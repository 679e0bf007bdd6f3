package desk

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/gdamore/tcell/v2"

	"pitman/registry"
	"pitman/registry/stock"
)

// question is one thing a form asks: by a single key where there are few answers, else by typing.
type question struct {
	name, label, hint string
	picks             []pick
	offerKeys         []string             // known words; what stands before " · " in one is taken
	eager             bool                 // Enter takes the first offer that fits
	word              string               // the field whose known words it is held against
	maybe             bool                 // Enter alone leaves it empty
	maybeIf           func(a answers) bool // the same, by what was answered before
	given             string               // stands in the field to begin with
	again             string               // what stood here the last time, which Enter alone takes over
	skip              func(a answers) bool
	check             func(a answers, typed string) error
	caution           func(a answers) string // to be read before this is answered
	said              func(a answers) string // what follows from the answer, for beside it
}

// pick is one answer with its key.
type pick struct {
	key          rune
	value, label string
}

// answers are what a form has been told, by the question's name.
type answers map[string]string

// form asks one question after another and then does one thing.
type form struct {
	title string
	m     *stock.Machine // what it is about, if one machine
	notes []string       // cautions and facts above the questions
	asked []question
	final string // what Enter does at the end; "" does it at once
	tag   string // the question that a scanned tag answers
	// it comes before the next scan: whoever scans one piece after another would miss that a page opened
	first bool
	takes bool // it takes something in, which a blank tag may hang on
	// the last thing done to the machine when it was begun, where answers are measured and grow stale
	since     int64
	do        func(d *Desk, a answers) (did string, err error)
	answers   answers
	at        int
	field     editor
	offerKeys offerKeys
	complete  bool

	hinted  string // the word of which it was asked last whether another is meant
	grave   bool   // what it does hurts if it was not meant: Enter must stand by itself
	hurried bool   // its answer was typed in one breath with the key that opened it:
	asTyped string // what Enter then does, if nobody offered that answer; "" asks nothing more
	typed   bool   // letters were typed where only Enter is asked
}

// begin shows a form; one that was left half-way comes back as it was.
func (d *Desk) begin(f *form) {
	if half := d.halves[f.title]; half != nil {
		f.answers, f.at = half.answers, half.at
		d.push(f)
		f.ask()
		f.field = half.field
		if len(f.answers) > 0 || f.field.text() != "" {
			d.say("You had begun this. Esc goes back a step.")
		}
		return
	}
	f.answers, f.at = answers{}, -1
	d.push(f)
	f.onward(d)
}

func (f *form) typing() *editor {
	if f.complete || f.at < 0 || f.at >= len(f.asked) || f.asked[f.at].picks != nil {
		return nil
	}
	return &f.field
}

func (f *form) offering() *offerKeys { return &f.offerKeys }

// onward goes to the next question that applies, or to the end.
func (f *form) onward(d *Desk) {
	for f.at++; f.at < len(f.asked); f.at++ {
		if q := f.asked[f.at]; q.skip == nil || !q.skip(f.answers) {
			f.ask()
			return
		}
		f.answers = maps.Clone(f.answers)
		delete(f.answers, f.asked[f.at].name)
	}
	f.complete = true
	if f.final == "" && f.asTyped != "" && f.hurried && !f.known() {
		f.final = f.asTyped
	}
	if f.final == "" {
		f.finish(d)
	}
}

// known says whether every answer that was typed is one of those offered. A word that was typed to be looked
// up is none.
func (f *form) known() bool {
	for _, q := range f.asked {
		a := f.answers[q.name]
		if q.picks == nil && a != "" && !slices.ContainsFunc(q.offerKeys, func(o string) bool {
			word, _, _ := strings.Cut(o, " · ")
			return word == a
		}) {
			return false
		}
	}
	return true
}

func (f *form) ask() {
	f.complete = f.at >= len(f.asked)
	if f.complete {
		return
	}
	q := f.asked[f.at]
	start := q.given
	if a, ok := f.answers[q.name]; ok {
		start = a
	}
	f.field, f.offerKeys = edit(start), offerKeys{all: q.offerKeys, eager: q.eager}
	f.offerKeys.narrow(start)
	f.offerKeys.at = 0
}

func (f *form) finish(d *Desk) {
	did, err := f.do(d, f.answers)
	if d.toSign(err, f.finish) {
		return
	}
	if d.refuse(err) {
		if f.final == "" || f.grave { // ask the last question again
			f.esc(d)
		}
		return
	}
	delete(d.halves, f.title)
	f.answers = nil
	d.drop(f)
	if d.noPIN != "" {
		did = strings.TrimSpace(did + fmt.Sprintf(" %s signed without a PIN, since nobody here has one yet: "+
			"choose yours with i on the first page.", d.noPIN))
		d.noPIN = ""
	}
	if did != "" {
		d.say("%s", did)
	}
	d.refresh()
}

// esc goes back one question; at the first one it leaves the form.
func (f *form) esc(*Desk) bool {
	for at := f.at - 1; at >= 0; at-- {
		if q := f.asked[at]; q.skip == nil || !q.skip(f.answers) {
			f.at = at
			f.ask()
			return true
		}
	}
	return false
}

// scan answers the question that asks for a tag.
func (f *form) scan(d *Desk, tag registry.Tag) bool {
	if f.first {
		d.warn("%s has to wait: finish this first, or leave it with Esc, and then scan %s again.", tag, tag)
		return true
	}
	if f.complete || f.tag == "" || f.asked[f.at].name != f.tag {
		return false
	}
	f.take(d, string(tag))
	return true
}

func (f *form) leave(d *Desk) {
	if len(f.answers) > 0 || f.field.text() != "" {
		d.halves[f.title] = f
	} else {
		delete(d.halves, f.title)
	}
}

func (f *form) view(d *Desk, width int) page {
	p := page{title: f.title, keys: "Enter next   Esc back", cursor: -1}
	if f.m != nil {
		warnings(d, &p, f.m)
	}
	for _, n := range f.notes {
		if n == "" {
			continue
		}
		p.words(width, plain, n)
	}
	if len(f.notes) > 0 {
		p.add(nil)
	}
	for i, q := range f.asked {
		a, done := f.answers[q.name]
		switch {
		case i == f.at && !f.complete:
			f.question(&p, q, width)
		case done && i < f.at:
			if q.said != nil {
				if said := q.said(f.answers); said != "" {
					a += "   " + said
				}
			}
			if q.picks == nil {
				p.add(line{{"   " + pad(q.label, labelWidth-1) + " ", plain},
					{clip(a, width-labelWidth-3), strong}})
			} else {
				p.add(line{{"   " + clip(q.label, width-14) + "  ", plain}, {a, strong}})
			}
		}
	}
	if f.complete {
		p.add(nil, line{{" Enter ", strong}, {f.final, plain}})
		p.focus = len(p.body) - 1
		p.keys = "Enter " + f.final + "   Esc back a step"
	}
	return p
}

func (f *form) question(p *page, q question, width int) {
	if q.caution != nil {
		if c := q.caution(f.answers); c != "" {
			p.words(width, marked, c)
		}
	}
	if q.picks != nil {
		if len(f.answers) > 0 {
			p.add(nil)
		}
		p.words(width, strong, q.label)
		for _, pk := range q.picks {
			p.add(line{{" ", plain}, {string(pk.key), strong}, {"   " + pk.label, plain}})
		}
		if q.hint != "" {
			p.words(width, plain, q.hint)
		}
		p.focus = len(p.body) - 1
		p.keys = "Press a letter   Esc back"
		return
	}
	p.input(pad(q.label, labelWidth-1)+" ", &f.field, width)
	f.offerKeys.show(p, f.field.text(), width-labelWidth-6)
	for _, l := range wrap(q.hint, width-labelWidth-3) {
		if l != "" {
			p.add(text(strings.Repeat(" ", labelWidth+3) + l))
		}
	}
}

func (f *form) key(d *Desk, k *tcell.EventKey) {
	if f.complete {
		switch {
		case k.Key() == tcell.KeyEnter && d.meant(&f.typed, f.grave):
			f.finish(d)
		case k.Key() == tcell.KeyRune:
			f.typed, d.stray = true, true
		}
		return
	}
	q := f.asked[f.at]
	if q.picks != nil {
		if k.Key() == tcell.KeyEnter && q.again != "" {
			f.take(d, q.again)
			return
		}
		if k.Key() != tcell.KeyRune {
			return
		}
		for _, p := range q.picks {
			if p.key == letter(k) {
				f.take(d, p.value)
				return
			}
		}
		unknown(d, k)
		return
	}
	if f.offerKeys.key(k) {
		return
	}
	if f.field.key(k) {
		f.offerKeys.narrow(f.field.text())
		return
	}
	if k.Key() == tcell.KeyEnter || k.Key() == tcell.KeyTab {
		word, _, _ := strings.Cut(f.offerKeys.take(f.field.text()), " · ")
		f.take(d, word)
	}
}

func (f *form) take(d *Desk, typed string) {
	q := f.asked[f.at]
	if typed == "" {
		typed = q.again
	}
	if typed == "" && !q.maybe && (q.maybeIf == nil || !q.maybeIf(f.answers)) {
		d.say("%s", fmt.Sprintf("%s is still empty. %s", q.label, q.hint))
		return
	}
	if q.check != nil && typed != "" {
		if d.refuse(q.check(f.answers, typed)) {
			return
		}
	}
	if q.word != "" && typed != q.given && f.offerKeys.hint(d, q.word, "", typed, &f.hinted) {
		return
	}
	f.answers = maps.Clone(f.answers) // what the page held before stays whole, for memory
	f.answers[q.name] = typed
	f.onward(d)
}
