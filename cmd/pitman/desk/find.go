package desk

import (
	"fmt"
	"strings"

	"github.com/gdamore/tcell/v2"

	"pitman/registry"
)

// find looks machines up by their tag or by any words that stand on them.
type find struct {
	field  editor
	asked  string // what was looked for
	found  menu
	picked bool // the found ones have the keys
	more   bool
}

const mostFound = 9 // one figure each

func (f *find) typing() *editor {
	if f.picked {
		return nil
	}
	return &f.field
}

func (f *find) view(d *Desk, width int) page {
	p := page{title: "Find a machine", keys: "Enter look   Esc back", cursor: -1}
	p.add(text("Type a tag, or part of a maker, serial number, donor or place. Or scan."), nil)
	p.add(line{{"   Look for   ", plain}, {f.field.text(), strong}})
	if !f.picked {
		p.focus, p.cursor = len(p.body)-1, 14+columns(f.field.before)
	}
	p.add(nil)
	f.found.show(&p)
	if f.more {
		p.add(text("     and more: type a longer piece"))
	}
	if f.picked {
		p.keys = "Press its figure   Backspace look for something else   Esc back"
	}
	return p
}

func (f *find) key(d *Desk, k *tcell.EventKey) {
	if f.picked {
		if f.found.press(d, k) {
			return
		}
		if k.Key() == tcell.KeyBackspace || k.Key() == tcell.KeyBackspace2 {
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
		d.open(tag)
		return
	}
	var machines []registry.Machine
	err := d.Store.View(d.ctx, func(r registry.Reader) error {
		return r.Machines(registry.MachineFilter{Text: typed, Limit: mostFound + 1}, func(m *registry.Machine) error {
			machines = append(machines, *m)
			return nil
		})
	})
	if d.refuse(err) {
		return
	}
	f.asked, f.found, f.more = typed, menu{}, len(machines) > mostFound
	for i, m := range machines[:min(len(machines), mostFound)] {
		f.found.add(rune('1'+i), fmt.Sprintf("%s  %s  %s  %s  %s", pad(string(m.Tag), 7), pad(clip(name(&m), 24), 24),
			pad(clip(m.Serial, 10), 10), pad(string(m.Stage), 8), clip(m.Place, 14)), func(d *Desk) { d.open(m.Tag) })
	}
	f.picked = len(machines) > 0
	switch {
	case len(machines) == 1:
		d.open(machines[0].Tag)
	case len(machines) > 1:
	case looksLikeTag.MatchString(typed) && strings.HasPrefix(strings.ToUpper(typed), d.Config.House.Letters) && tagErr != nil:
		d.refuse(tagErr)
	default:
		d.warn("Nothing here has %q. Try fewer letters.", typed)
	}
}

func name(m *registry.Machine) string { return strings.TrimSpace(m.Maker + " " + m.Model) }
