package desk

import (
	"fmt"
	"slices"
	"strings"

	"github.com/gdamore/tcell/v2"

	"pitman/registry"
	"pitman/registry/stock"
)

// who asks for initials: at the start, when the desk has been left alone, and before a test.
type who struct {
	still  bool   // someone is logged in, and may have gone
	chosen bool   // the person came here by a key, and may go back
	about  string // what it is asked for
	then   func(*Desk)
	people []stock.Person
	field  editor
	fresh  registry.Initials // typed once, and not known here: a slip, perhaps
}

func (w *who) typing() *editor { return &w.field }

// wake finds out who was here; it counts every action of the house, so not at every key.
func (w *who) wake(d *Desk) {
	w.people = nil
	err := d.Store.View(d.ctx, func(r stock.Reader) (err error) {
		w.people, err = r.People()
		return err
	})
	d.refuse(err)
}

func (w *who) view(d *Desk, width int) page {
	p := page{title: "Who are you?", keys: "Enter go on   Ctrl-C leave the desk"}
	switch {
	case w.still:
		p.title = fmt.Sprintf("Still %s?", d.by)
		if w.about != "" {
			p.title = fmt.Sprintf("%s: still %s?", w.about, d.by)
		}
		p.words(width, plain,
			fmt.Sprintf("Press Enter if you are %s. If you are someone else, type your initials and press "+
				"Enter.", d.by))
	default:
		p.words(width, plain,
			"Type your initials, two or three letters, and press Enter. No full names: the history is kept "+
				"for many years.")
	}
	if w.chosen || w.about != "" {
		p.keys = "Enter go on   Esc back"
	}
	p.add(nil)
	p.input("Initials   ", &w.field, width)
	if len(w.people) > 0 {
		p.add(nil, text("Here before: "+strings.Join(w.lately(), ", ")))
	}
	return p
}

func (w *who) key(d *Desk, k *tcell.EventKey) {
	if w.field.key(k) {
		return
	}
	if k.Key() != tcell.KeyEnter {
		return
	}
	typed := strings.TrimSpace(w.field.text())
	yes := strings.EqualFold(typed, "y") || strings.EqualFold(typed, "yes")
	if w.still && (typed == "" || yes && !w.knows(registry.Initials(strings.ToUpper(typed)))) {
		w.proceed(d)
		return
	}
	if typed == "" {
		d.say("Type your initials first, such as QX.")
		return
	}
	by, err := registry.ParseInitials(typed)
	if d.refuse(err) {
		w.field = editor{}
		return
	}
	if !w.knows(by) && w.fresh != by && by != d.by {
		w.fresh = by
		d.say("%s has not been here before. Press Enter once more if that is right, or correct it.", by)
		return
	}
	if by == d.by {
		w.proceed(d)
		return
	}
	then := w.then
	changed := w.still || w.chosen
	d.enter(by)
	if changed {
		d.say("Hello %s. What the last person began is kept for them.", by)
	} else {
		d.say("Hello %s.", by)
	}
	if then != nil {
		then(d)
	}
}

// proceed is for the same person as before.
func (w *who) proceed(d *Desk) {
	d.back()
	if w.then != nil {
		w.then(d)
	}
}

// ask asks whether the same person is still there, and then goes on.
func (d *Desk) ask(about string, then func(*Desk)) {
	d.push(&who{still: true, about: about, then: then})
}

// knows says whether somebody has worked here before.
func (w *who) knows(by registry.Initials) bool {
	return slices.ContainsFunc(w.people, func(p stock.Person) bool { return p.Initials == by })
}

// lately names who was here last, most recent first.
func (w *who) lately() []string {
	people := slices.Clone(w.people)
	slices.SortStableFunc(people, func(a, b stock.Person) int { return b.Last.Compare(a.Last) })
	var names []string
	for _, p := range people[:min(len(people), 12)] {
		names = append(names, string(p.Initials))
	}
	return names
}
