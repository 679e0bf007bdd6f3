package desk

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/gdamore/tcell/v2"

	"pitman/registry"
	"pitman/registry/spares"
	"pitman/registry/stock"
	"pitman/registry/takings"
)

// spares shows what lies on the shelf and what machines wait for.
type sparesPage struct {
	lines []line
	reading
}

func (s *sparesPage) wake(d *Desk) {
	shelf, err := d.SpareShelf(d.ctx)
	if d.refuse(err) {
		return
	}
	needs, err := d.Needs(d.ctx)
	if d.refuse(err) {
		return
	}
	s.lines = []line{bold("Machines wait for")}
	for _, n := range needs {
		there := "none on the shelf"
		if n.OnShelf > 0 {
			there = fmt.Sprintf("%d on the shelf", n.OnShelf)
		}
		s.lines = append(s.lines,
			text(fmt.Sprintf("  %s  %s  since %s, %s", pad(string(n.Tag), 7), pad(n.Part, 18),
				d.date(n.Since), there)))
	}
	if len(needs) == 0 {
		s.lines = append(s.lines, text("  nothing"))
	}
	s.lines = append(s.lines, nil, bold("On the shelf"))
	for _, p := range shelf.SpareShelf {
		from := "bought"
		if p.TakenFrom != "" {
			from = fmt.Sprintf("from %s, %s", p.TakenFrom,
				name(&stock.Machine{Maker: p.Maker, Model: p.Model}))
		}
		if came := p.Came(); came != "" {
			from = came
		}
		s.lines = append(s.lines,
			text(fmt.Sprintf("  %s  %s  %s  %s", pad(p.Code(), 5), pad(p.Part, 18),
				pad(clip(p.Place, 14), 14), from)))
	}
	for _, c := range shelf.Supplies {
		s.lines = append(s.lines, text(fmt.Sprintf("  %s  %s", pad(strconv.Itoa(c.Count), 5), c.Part)))
	}
	if len(shelf.SpareShelf)+len(shelf.Supplies) == 0 {
		s.lines = append(s.lines, text("  nothing"))
	}
}

func (s *sparesPage) view(_ *Desk, width int) page {
	p := page{title: "Spares",
		keys:   "c count needles, belts and the like   v sell parts   Up, Down look further   Esc back",
		cursor: -1, scroll: &s.reading}
	p.add(text("Parts come off a stripped machine and go into one on the bench: scan it."), nil)
	p.add(s.lines...)
	return p
}

func (s *sparesPage) key(d *Desk, k *tcell.EventKey) {
	switch letter(k) {
	case 'c':
		countSupply(d)
		return
	case 'v':
		sellParts(d)
		return
	}
	s.reading.key(d, k)
}

func countSupply(d *Desk) {
	all, err := d.Lists.Spares.Parts()
	d.refuse(err)
	var small []spares.PartKind
	for _, p := range all {
		if p.Counted {
			small = append(small, p)
		}
	}
	d.begin(&form{title: "Count small things",
		asked: []question{part(small), {name: "count", label: "How many", hint: "All that are there now.",
			check: func(_ answers, typed string) error {
				if _, err := strconv.Atoi(typed); err != nil {
					return registry.Errorf(registry.Invalid,
						"count %q is not a number: type how many there are, such as 24", typed)
				}
				return nil
			}}},
		do: func(d *Desk, a answers) (string, error) {
			n, err := strconv.Atoi(a["count"])
			if err != nil {
				return "", err
			}
			_, err = d.CountSupply(d.ctx, d.by, a["part"], n)
			return fmt.Sprintf("%d %s.", n, a["part"]), err
		}})
}

// sellParts asks which parts leave the shelf for good, and what they brought.
func sellParts(d *Desk) {
	d.begin(&form{title: "Sell parts off the shelf",
		asked: []question{
			{name: "codes", label: "Which",
				hint: "The codes written on them, with a space between, such as S12 S15."},
			{name: "brought", label: "They brought", maybe: true,
				hint:  "An amount such as 45.00. Enter alone if nobody knows it yet.",
				check: func(_ answers, typed string) error { return (&takings.Taking{}).SetBrought(typed) }}},
		do: func(d *Desk, a answers) (string, error) {
			var t takings.Taking
			if err := t.SetBrought(a["brought"]); err != nil {
				return "", err
			}
			sold, err := d.SellSpares(d.ctx, d.by, &t, "", strings.FieldsFunc(a["codes"],
				func(r rune) bool { return r == ' ' || r == ',' }))
			if err != nil {
				return "", err
			}
			said := t.What + " left."
			live, err := d.MainsAmong(sold)
			if live {
				said += " It went untested by itself: tell whoever takes it. Wiring is for a competent person."
			}
			return said, err
		}})
}
