package desk

import (
	"fmt"
	"strings"
	"time"

	"github.com/gdamore/tcell/v2"

	"pitman/registry"
)

// machine shows one machine with what it may do next, one key each.
type machine struct {
	tag registry.Tag
	m   *registry.Machine
	menu
}

func (s *machine) typing() *editor { return nil }

func (s *machine) wake(d *Desk) {
	m, err := d.Machine(d.ctx, s.tag)
	if d.refuse(err) {
		return
	}
	s.m, s.items = m, nil
	s.items = append(s.items, d.actions(m)...)
	d.refresh()
}

func (s *machine) view(d *Desk, width int) page {
	p := page{title: string(s.tag), keys: "Press a letter, or scan the next tag   Esc back", cursor: -1}
	if s.m == nil {
		return p
	}
	p.title = fmt.Sprintf("%s   %s", s.m.Tag, name(s.m))
	for _, l := range facts(d, s.m) {
		p.words(width, plain, l)
	}
	p.add(nil)
	s.show(&p)
	return p
}

func (s *machine) key(d *Desk, k *tcell.EventKey) {
	if !s.press(d, k) {
		unknown(d, k)
	}
}

// facts says the most important things of a machine in a few lines.
func facts(d *Desk, m *registry.Machine) []string {
	lines := []string{fmt.Sprintf("serial %s · %s · %s · %s", m.Serial, m.Year(), m.Drive, m.Stitch)}
	lines = append(lines, fmt.Sprintf("%s since %s", m.Stage, d.date(m.StageSince)))
	if m.Place != "" {
		lines[1] += ", at " + m.Place
	}
	for _, word := range []string{m.Condition, m.Note} {
		if word != "" {
			lines = append(lines, word)
		}
	}
	var from []string
	if m.Donor != "" {
		from = append(from, "given by "+m.Donor)
	}
	from = append(from, fmt.Sprintf("logged %s by %s", d.date(m.LoggedAt), m.LoggedBy))
	return append(lines, strings.Join(from, ", "))
}

func (d *Desk) date(at time.Time) string { return at.In(d.Config.Location()).Format(time.DateOnly) }

// actions lists what may be done with a machine now.
func (d *Desk) actions(m *registry.Machine) []item {
	return []item{
		{key: 'c', label: "correct something", do: func(d *Desk) { d.push(newAmend(m)) }},
		{key: 'h', label: "history", do: func(d *Desk) { d.push(&history{tag: m.Tag}) }},
	}
}
