package desk

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"pitman/registry"
	"pitman/registry/stock"
)

// machine shows one machine with what it may do next, one key each.
type machine struct {
	tag    registry.Tag
	m      *stock.Machine
	faults []string
	unread []string // tables that may know more of its year
	menu
}

func (s *machine) of() registry.Tag { return s.tag }

func (s *machine) offered() []item { return s.items }

func (s *machine) wake(d *Desk) {
	m, err := d.Machine(d.ctx, s.tag)
	if d.refuse(err) {
		return
	}
	s.m, s.items, s.faults, s.unread = m, d.actions(m), d.faults(m), d.unreadTables()
	d.refresh()
}

func (s *machine) view(d *Desk, width int) page {
	p := page{title: string(s.tag), keys: "Press a letter, or scan the next tag   Esc back", cursor: -1}
	if s.m == nil {
		return p
	}
	p.title = fmt.Sprintf("%s   %s", s.m.Tag, name(s.m))
	warnings(d, &p, s.m)
	for _, l := range facts(d, s.m) {
		p.words(width, plain, l)
	}
	for _, l := range slices.Concat(s.unread, s.faults) {
		p.words(width, strong, l)
	}
	p.add(nil)
	s.show(&p, width)
	return p
}

// facts says the most important things of a machine in a few lines.
func facts(d *Desk, m *stock.Machine) []string {
	lines := []string{fmt.Sprintf("serial %s · %s · %s · %s", m.Serial, m.Year(), m.Drive, m.Stitch)}
	lines = append(lines, fmt.Sprintf("%s (%s) since %s", m.Stage, m.Stage.Meaning(), d.date(m.StageSince)))
	if m.Place != "" && m.Here() {
		lines[1] += ", at " + m.Place
	}
	if g, err := d.GoingWith(d.ctx, m.Tag); err == nil && g.Order != "" {
		lines = append(lines, "on "+g.Order+" for "+g.Partner)
	}
	for _, why := range []string{m.HeldWhy, m.UnsafeWhy} {
		if why != "" {
			lines = append(lines, "held: "+why)
		}
	}
	if crate := d.CrateToOpen(d.ctx, m.Tag, m.StageSince); crate != "" {
		lines = append(lines, crate)
	}
	if m.MovedIn != "" {
		lines = append(lines, m.MovedIn)
	}
	if m.HandedTo != "" {
		lines = append(lines, "handed to "+m.HandedTo+", and worked on there")
	}
	if words := strings.Trim(m.Condition+"; "+m.Note, "; "); words != "" {
		lines = append(lines, words)
	}
	var from []string
	if m.Donor != "" {
		from = append(from, "given by "+m.Donor)
	}
	from = append(from, fmt.Sprintf("logged %s by %s", d.date(m.LoggedAt), m.LoggedBy))
	return append(lines, strings.Join(from, ", "))
}

// unreadTables names the tables that are not read, for a page with a year.
func (d *Desk) unreadTables() []string {
	said, err := d.UnreadTables()
	d.refuse(err)
	return said
}

func (d *Desk) date(at time.Time) string { return at.In(d.Config.Location()).Format(time.DateOnly) }

// warnings stand first on every page about a machine, and stay there while the rest of it moves up.
func warnings(d *Desk, p *page, m *stock.Machine) {
	for _, w := range d.Warnings(m) {
		if p.pinned == len(p.body) {
			p.pinned++
		}
		p.add(line{{" " + w + " ", marked}})
	}
}
