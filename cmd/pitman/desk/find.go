package desk

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/gdamore/tcell/v2"

	"pitman/registry"
	"pitman/registry/lookup"
	"pitman/registry/offers"
	"pitman/registry/stock"
)

// job is what a machine is looked for. Its key is the one on the machine's page.
type job struct {
	title  string
	key    rune
	stages []registry.Stage // where the machines stand that wait for it, those first that wait most
	steps  []string         // one of which is for them, as their pages offer it
}

var (
	jobDecide = job{title: "Decide about which machine?", stages: []registry.Stage{registry.Logged},
		steps: []string{"refurbish", "parts", "sale", "scrap"}}
	jobBench = job{title: "Work on which machine?", steps: []string{"bench", "work", "finish"},
		stages: []registry.Stage{registry.Bench, registry.Queued, registry.Held}}
	jobTest = job{title: "Test which machine?", key: 't', steps: []string{"test"},
		stages: []registry.Stage{registry.Check}}
	jobSafety = job{title: "Electrical safety test of which machine?", key: 'e', steps: []string{"safety"},
		stages: []registry.Stage{registry.Held, registry.Check, registry.Bench, registry.Queued,
			registry.Logged, registry.Reserved, registry.Ready}}
	jobLabel = job{title: "Print the label of which machine?", key: 'a'}
)

// find looks machines up by their tag or by any words that stand on them. For a job it offers those that wait
// for it, and goes straight on to it.
type find struct {
	job    *job
	field  editor
	asked  string // what was looked for
	found  pager
	picked bool // the found ones have the keys
	of     []stock.Machine
}

func (f *find) typing() *editor {
	if f.picked {
		return nil
	}
	return &f.field
}

// errEnough ends a look through machines once there are more than are shown.
var errEnough = errors.New("enough machines")

// wake lists the machines that wait for the job, or looks again for what was asked.
func (f *find) wake(d *Desk) {
	if f.asked != "" {
		if machines, ok := f.matching(d, f.asked); ok {
			f.list(d, machines)
			f.picked = f.picked && len(machines) > 0
		}
		return
	}
	if f.job == nil {
		return
	}
	var machines []stock.Machine
	err := d.Store.View(d.ctx, func(r stock.Reader) error {
		for _, stage := range f.job.stages {
			if err := r.Machines(stock.MachineFilter{Stage: stage}, func(m *stock.Machine) error {
				if offers.Suits(m, f.job.steps...) {
					machines = append(machines, *m)
				}
				if len(machines) > maxPaged {
					return errEnough
				}
				return nil
			}); err != nil {
				return err
			}
		}
		return nil
	})
	if errors.Is(err, errEnough) {
		err = nil
	}
	if !d.refuse(err) {
		f.list(d, machines)
		f.picked = len(machines) > 0
	}
}

// pick goes to a machine, and on to the job if the machine is ready for it.
func (f *find) pick(d *Desk, tag registry.Tag) {
	d.open(tag)
	page, ok := d.top().(unitPage)
	if f.job == nil || f.job.key == 0 || !ok || page.of() != tag {
		return
	}
	for _, it := range page.offered() {
		if it.key == f.job.key {
			it.do(d)
			return
		}
	}
	d.warn("%s is not ready for that. Below is what can be done with it now.", tag)
}

// scan goes on with the job, as choosing does.
func (f *find) scan(d *Desk, tag registry.Tag) bool {
	f.pick(d, tag)
	return true
}

func (f *find) view(d *Desk, width int) page {
	title := "Find a machine"
	if f.job != nil {
		title = f.job.title
	}
	p := page{title: title, keys: f.keys(), cursor: -1}
	warned := f.lay(d, width)
	p.add(f.above(width)...)
	if !f.picked {
		p.input("Look for   ", &f.field, width)
	}
	p.add(nil)
	f.found.column(&p, width)
	if where := f.found.where(); where != "" {
		p.add(text(where))
	}
	for _, warning := range warned {
		p.words(width, marked, warning)
	}
	return p
}

// above is what stands above the list, or above the field.
func (f *find) above(width int) []line {
	switch {
	case f.picked && f.asked != "":
		return []line{{{"   Look for   ", plain}, {clip(f.asked, width-15), strong}}}
	case f.picked:
		return []line{text("It can be done with these:")}
	}
	lines := []line{}
	for _, l := range wrap("Type a tag, or any words: maker, serial number, year, donor, place. Or scan.",
		width) {
		lines = append(lines, text(l))
	}
	return append(lines, nil)
}

func (f *find) keys() string {
	if f.picked {
		return "Its figure, or scan   f look for another   Esc back"
	}
	return "Enter look   Esc back"
}

// lay puts as many machines in sight as there is room for, and says what to beware of with these.
func (f *find) lay(d *Desk, width int) (warned []string) {
	room, plainly := d.room(f.keys())
	room -= len(f.above(width)) + 2 // and a blank line, and how many there are
	if !f.picked {
		room--
	}
	rows := room
	if plainly {
		rows = figures
	}
	for ; ; rows-- {
		f.found.lay(rows)
		warned = f.warnings(d)
		lines := 0
		for _, w := range warned {
			lines += len(wrap(w, width))
		}
		if plainly || rows <= 3 || len(f.found.items)+lines <= room {
			return warned
		}
	}
}

// warnings says what to beware of with the machines in sight.
func (f *find) warnings(d *Desk) (said []string) {
	warned := map[string][]string{}
	n := len(f.found.items)
	for _, m := range f.of[f.found.from : f.found.from+n] {
		for _, warning := range d.Warnings(&m) {
			warned[warning] = append(warned[warning], string(m.Tag))
		}
	}
	for _, warning := range slices.Sorted(maps.Keys(warned)) {
		with := strings.Join(warned[warning], ", ")
		if n > 1 && len(warned[warning]) == n {
			with = "all of these"
		}
		said = append(said, warning+": "+with)
	}
	return said
}

func (f *find) key(d *Desk, k *tcell.EventKey) {
	if f.picked {
		if f.found.press(d, k) {
			return
		}
		if k.Key() == tcell.KeyBackspace || k.Key() == tcell.KeyBackspace2 || letter(k) == 'f' {
			f.picked, f.found.at = false, 0
			return
		}
		unknown(d, k)
		return
	}
	if f.field.key(k) {
		return
	}
	switch k.Key() {
	case tcell.KeyEnter:
		f.look(d)
	case tcell.KeyDown, tcell.KeyTab:
		if len(f.found.all) > 0 {
			f.picked, f.found.at = true, 1
			return
		}
	}
}

func (f *find) look(d *Desk) {
	typed := strings.TrimSpace(f.field.text())
	if typed == "" {
		d.say("Type something to look for first.")
		return
	}
	tag, tagErr := registry.ParseTag(typed)
	if tagErr == nil && d.here(tag) {
		f.pick(d, tag)
		return
	}
	machines, ok := f.matching(d, typed)
	if !ok {
		return
	}
	f.asked, f.picked, f.found = typed, len(machines) > 0, pager{}
	f.list(d, machines)
	switch {
	case len(machines) == 1:
		f.picked = false
		f.pick(d, machines[0].Tag)
	case len(machines) > 1:
	case looksLikeTag.MatchString(typed) &&
		strings.HasPrefix(strings.ToUpper(typed), d.Config.House.Letters) && tagErr != nil:
		d.refuse(tagErr)
	default:
		d.warn("Nothing here has %q. Try fewer letters.", typed)
	}
}

// matching finds the machines on which the words stand, and one more than are shown.
func (f *find) matching(d *Desk, words string) (machines []stock.Machine, ok bool) {
	err := d.Store.View(d.ctx, func(r stock.Reader) error {
		return lookup.Machines(r, stock.MachineFilter{Text: words, Limit: maxPaged + 1},
			func(m *stock.Machine) error {
				machines = append(machines, *m)
				return nil
			})
	})
	return machines, !d.refuse(err)
}

// list shows machines, as many as there is room for.
func (f *find) list(d *Desk, machines []stock.Machine) {
	f.found.cut, f.found.all = len(machines) > maxPaged, nil
	f.of = machines[:min(len(machines), maxPaged)]
	for _, m := range f.of {
		f.found.line(fmt.Sprintf("%s  %s  %s  %s  %s", pad(string(m.Tag), 7), pad(clip(name(&m), 22), 22),
			pad(clip(m.Serial, 10), 10), pad(string(m.Stage), 8), clip(m.Place, 16)),
			func(d *Desk) { f.pick(d, m.Tag) })
	}
	f.lay(d, d.width)
}

func name(m *stock.Machine) string { return strings.TrimSpace(m.Maker + " " + m.Model) }
