package desk

import (
	"fmt"

	"github.com/gdamore/tcell/v2"

	"pitman/registry"
	"pitman/registry/stock"
)

// history shows what happened to a machine, newest first.
type history struct {
	tag   registry.Tag
	m     *stock.Machine // nil for a base
	lines []string
	reading
}

func (h *history) wake(d *Desk) {
	var events []registry.Event
	err := d.Store.View(d.ctx, func(r stock.Reader) (err error) {
		events, err = r.History(string(h.tag))
		return err
	})
	d.refuse(err)
	h.lines = nil
	for i := len(events) - 1; i >= 0; i-- {
		e := events[i]
		l := fmt.Sprintf("%s  %s  %s", e.At.In(d.Config.Location()).Format("2006-01-02 15:04"),
			pad(string(e.By), 4), e.Action)
		if e.Why != "" {
			l += ": " + e.Why
		}
		h.lines = append(h.lines, l)
	}
}

func (h *history) view(d *Desk, width int) page {
	p := page{title: fmt.Sprintf("%s   what happened, newest first", h.tag),
		keys: "Up, Down look further   Esc back", cursor: -1, scroll: &h.reading}
	if h.m != nil {
		warnings(d, &p, h.m)
	}
	for _, l := range h.lines {
		p.add(text(clip(l, width)))
	}
	return p
}

// reading moves through a page that is longer than the screen.
type reading struct{ at int }

func (*reading) typing() *editor { return nil }

func (r *reading) key(_ *Desk, k *tcell.EventKey) {
	switch k.Key() {
	case tcell.KeyDown:
		r.at++
	case tcell.KeyUp:
		r.at--
	case tcell.KeyPgDn:
		r.at += 10
	case tcell.KeyPgUp:
		r.at -= 10
	}
	r.at = max(0, r.at)
}
