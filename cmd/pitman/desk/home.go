package desk

import (
	"fmt"
	"strconv"

	"github.com/gdamore/tcell/v2"

	"pitman/registry"
)

// home is where the day begins and where Esc ends.
type home struct{ menu }

func (h *home) typing() *editor { return nil }

func (h *home) wake(d *Desk) {
	h.items = nil
	h.add('l', "log a machine that came in", func(d *Desk) { d.startLog() })
	h.add('f', "find a machine: by tag, maker, serial, place", func(d *Desk) { d.push(&find{}) })
	h.add('w', fmt.Sprintf("who am I? %s (or someone else)", d.by), func(d *Desk) { d.push(&who{chosen: true}) })
	h.add('q', "leave the desk", func(d *Desk) { d.quit = true })
	d.refresh()
}

func (h *home) view(d *Desk, width int) page {
	p := page{title: "What would you like to do?", keys: "Press a letter, or scan a tag", cursor: -1}
	h.show(&p)
	return p
}

func (h *home) key(d *Desk, k *tcell.EventKey) {
	if !h.press(d, k) {
		unknown(d, k)
	}
}

// nextJob says what to do next.
func (d *Desk) nextJob() (string, error) {
	var waiting, newest = 0, registry.Machine{}
	err := d.Store.View(d.ctx, func(r registry.Reader) error {
		return r.Machines(registry.MachineFilter{Stage: registry.Logged}, func(m *registry.Machine) error {
			waiting, newest = waiting+1, *m
			return nil
		})
	})
	if err != nil || waiting == 0 {
		return "", err
	}
	s := fmt.Sprintf("look over %s %s", newest.Tag, name(&newest))
	if newest.Place != "" {
		s += " (" + newest.Place + ")"
	}
	if waiting > 1 {
		s += fmt.Sprintf("; %s more wait", count(waiting-1))
	}
	return s, nil
}

func count(n int) string { return strconv.Itoa(n) }
