package desk

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/gdamore/tcell/v2"

	"pitman/registry"
	"pitman/registry/lookup"
	"pitman/registry/stock"
)

// job is what a machine is looked for. Its key is the one on the machine's page.
type job struct {
	title  string
	key    rune
	stages []registry.Stage // where the machines stand that it is for
	drive  registry.Drive   // "" for any
}

var (
	jobDecide = job{title: "Decide about which machine?", stages: []registry.Stage{registry.Logged}}
	jobBench  = job{title: "Work on which machine?",
		stages: []registry.Stage{registry.Bench, registry.Queued}}
	jobTest   = job{title: "Test which machine?", key: 't', stages: []registry.Stage{registry.Check}}
	jobSafety = job{title: "Electrical safety test of which machine?", key: 'e', drive: registry.Electric,
		stages: []registry.Stage{registry.Held, registry.Check, registry.Bench, registry.Queued,
			registry.Logged}}
	jobLabel = job{title: "Print the label of which machine?", key: 'a'}
)

// find looks machines up by their tag or by any words that stand on them. For a job it offers those that wait
// for it, and goes straight on to it.
type find struct {
	job    *job
	field  editor
	asked  string // what was looked for
	found  menu
	picked bool // the found ones have the keys
	more   bool
	warned map[string][]string // what to beware of with machines of the list
}

const maxFound = 9 // one figure each

func (f *find) typing() *editor {
	if f.picked {
		return nil
	}
	return &f.field
}

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
			filter := stock.MachineFilter{Stage: stage, Drive: f.job.drive, Limit: maxFound +
				1 - len(machines)}
			if filter.Limit <= 0 {
				return nil
			}
			if err := r.Machines(filter, func(m *stock.Machine) error {
				machines = append(machines, *m)
				return nil
			}); err != nil {
				return err
			}
		}
		return nil
	})
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
	p := page{title: title, keys: "Enter look   Esc back", cursor: -1}
	p.add(text("Type a tag, or part of a maker, serial number, donor or place. Or scan."), nil)
	p.input("Look for   ", &f.field, width)
	if f.picked {
		p.cursor = -1
	}
	p.add(nil)
	if f.asked == "" && len(f.found.items) > 0 {
		p.add(text("These wait for it:"))
	}
	f.found.column(&p, width)
	if f.more {
		p.add(text("     and more: press f, and type a longer piece"))
	}
	for _, warning := range slices.Sorted(maps.Keys(f.warned)) {
		with := strings.Join(f.warned[warning], ", ")
		if n := len(f.found.items); n > 1 && len(f.warned[warning]) == n {
			with = "all of these"
		}
		p.words(width, marked, warning+": "+with)
	}
	if f.picked {
		p.keys = "Press its figure, or scan   f look for another   Esc back"
	}
	return p
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
		if len(f.found.items) > 0 {
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
	f.asked, f.picked = typed, len(machines) > 0
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
		return lookup.Machines(r, stock.MachineFilter{Text: words, Limit: maxFound + 1},
			func(m *stock.Machine) error {
				machines = append(machines, *m)
				return nil
			})
	})
	return machines, !d.refuse(err)
}

// list shows machines, a figure each.
func (f *find) list(d *Desk, machines []stock.Machine) {
	f.found, f.more, f.warned = menu{}, len(machines) > maxFound, map[string][]string{}
	for i, m := range machines[:min(len(machines), maxFound)] {
		for _, warning := range d.Warnings(&m) {
			f.warned[warning] = append(f.warned[warning], string(m.Tag))
		}
		f.found.add(rune('1'+i),
			fmt.Sprintf("%s  %s  %s  %s  %s", pad(string(m.Tag), 7), pad(clip(name(&m), 22), 22),
				pad(clip(m.Serial, 10), 10), pad(string(m.Stage), 8), clip(m.Place, 16)),
			func(d *Desk) { f.pick(d, m.Tag) })
	}
}

func name(m *stock.Machine) string { return strings.TrimSpace(m.Maker + " " + m.Model) }
