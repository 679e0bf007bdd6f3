package desk

import (
	"fmt"
	"slices"
	"strings"

	"github.com/gdamore/tcell/v2"

	"pitman/registry"
	"pitman/registry/shelf"
	"pitman/registry/stock"
)

// newPlaces offers what is done to a whole shelf.
func newPlaces() screen {
	p := &chooser{title: "Places"}
	p.add('m', "move things: scan them one after another", func(d *Desk) { shelfFor(d, false) })
	p.add('c', "count a place: scan what is there", func(d *Desk) { shelfFor(d, true) })
	return p
}

// chooser is a page with nothing but a menu.
type chooser struct {
	title string
	menu
}

func (c *chooser) view(_ *Desk, width int) page {
	p := page{title: c.title, keys: "Press a letter   Esc back", cursor: -1}
	c.show(&p, width)
	return p
}

// shelfFor asks for the place and then for the tags.
func shelfFor(d *Desk, counting bool) {
	title := "Move things to which place?"
	if counting {
		title = "Count which place?"
	}
	d.begin(&form{title: title,
		asked: []question{{name: "place", label: "Place", word: "place", offerKeys: d.places(),
			hint: "Type it, or choose with Up and Down."}},
		do: func(d *Desk, a answers) (string, error) {
			place, err := d.PlaceNamed(d.ctx, a["place"])
			if err != nil {
				return "", err
			}
			s := &placePage{place: place, counting: counting}
			if half := d.shelves[s.title()]; half != nil {
				s = half
				s.result = nil // counted a while ago
			}
			d.push(s)
			return "", nil
		}})
}

// placePage gathers scanned tags, for a move or a count.
type placePage struct {
	place    string
	counting bool
	tags     []registry.Tag
	field    editor // for a tag that no scanner reads
	result   *shelf.PlaceCount
	read     reading // of the result
}

func (s *placePage) title() string {
	if s.counting {
		return "Count " + s.place
	}
	return "Move to " + s.place
}

func (s *placePage) typing() *editor {
	if s.result != nil {
		return nil
	}
	return &s.field
}

func (s *placePage) view(_ *Desk, width int) page {
	p := page{title: s.title(), cursor: -1}
	if s.result != nil {
		s.found(&p, width)
		return p
	}
	p.keys = "Scan each one   Enter on the empty line when all are scanned   Esc back"
	if !s.counting {
		p.words(width, plain, registry.CautionLifting.Text())
	}
	var tags []string
	for _, t := range s.tags {
		tags = append(tags, string(t))
	}
	p.words(width, plain, fmt.Sprintf("%d scanned: %s", len(tags), strings.Join(tags, " ")))
	p.add(nil)
	p.input(pad("Tag", labelWidth), &s.field, width)
	return p
}

func (s *placePage) found(p *page, width int) {
	p.keys, p.scroll = "c correct the records   Up, Down look further   Backspace scan more   Esc back",
		&s.read
	for _, group := range []struct {
		title string
		units []stock.Unit
		h     how
	}{
		{"There, as the records say", s.result.Found, plain},
		{"Missing: the records say it is here", s.result.Missing, strong},
		{"Here, but the records say elsewhere", s.result.ByMistake, strong},
		{"Here, but gone by the records: someone has to look", s.result.Gone, marked},
	} {
		if len(group.units) == 0 {
			continue
		}
		p.add(line{{fmt.Sprintf("%s: %d", group.title, len(group.units)), group.h}})
		if group.h == plain {
			continue
		}
		for _, u := range group.units {
			p.add(text(clip(fmt.Sprintf("   %s %s  %s", pad(string(u.Tag), 7), u.Name, u.Place), width)))
		}
	}
	if len(s.result.Missing)+len(s.result.ByMistake) == 0 {
		p.keys = "Up, Down look further   Esc done"
		return
	}
	p.add(nil, line{{" c", strong},
		{"   make the records say what was found: what is missing has no place then", plain}})
}

func (s *placePage) key(d *Desk, k *tcell.EventKey) {
	if s.result != nil {
		switch {
		case k.Key() == tcell.KeyBackspace || k.Key() == tcell.KeyBackspace2:
			s.result = nil
		case letter(k) == 'c':
			s.correct(d)
		default:
			s.read.key(d, k)
			unknown(d, k)
		}
		return
	}
	if s.field.key(k) || k.Key() != tcell.KeyEnter {
		return
	}
	if typed := strings.TrimSpace(s.field.text()); typed != "" {
		s.field = editor{} // also a wrong one: the next scan goes into an empty line
		if tag, err := registry.ParseTag(typed); !d.refuse(err) {
			s.scan(d, tag)
		}
		return
	}
	s.finish(d)
}

// scan adds a tag; one that is scanned twice counts once.
func (s *placePage) scan(d *Desk, tag registry.Tag) bool {
	_, err := d.unit(tag)
	switch {
	case d.refuse(err):
	case slices.Contains(s.tags, tag):
		d.say("%s was scanned already.", tag)
	default:
		if d.refuse(d.Scanned(d.ctx, d.by, tag)) {
			return true
		}
		s.tags, s.result = append(s.tags, tag), nil
		d.say("%s: %d scanned.", tag, len(s.tags))
	}
	return true
}

func (s *placePage) finish(d *Desk) {
	if s.counting {
		c, err := d.Count(d.ctx, s.place, s.tags)
		if !d.refuse(err) {
			s.result, s.read = &c, reading{}
		}
		return
	}
	moved, err := d.Move(d.ctx, d.by, s.tags, s.place)
	if d.refuse(err) {
		return
	}
	s.done(d)
	d.say("%d moved to %s.", len(moved), s.place)
}

func (s *placePage) correct(d *Desk) {
	c, err := d.CorrectCount(d.ctx, d.by, s.place, s.tags)
	if d.refuse(err) {
		return
	}
	s.done(d)
	d.say("Corrected: %d stand at %s now, %d have no place.", len(c.Found)+len(c.ByMistake), s.place,
		len(c.Missing))
}

func (s *placePage) done(d *Desk) {
	s.tags = nil
	delete(d.shelves, s.title())
	d.drop(s)
	d.refresh()
}

// leave keeps what was scanned.
func (s *placePage) leave(d *Desk) {
	if len(s.tags) > 0 {
		d.shelves[s.title()] = s
	}
}
