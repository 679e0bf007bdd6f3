package desk

import (
	"fmt"
	"strings"

	"github.com/gdamore/tcell/v2"

	"pitman/registry"
	"pitman/registry/orders"
	"pitman/registry/packing"
)

// orderList lists the open orders, the next to leave first.
type orderList struct {
	pager
}

func (o *orderList) wake(d *Desk) {
	o.all = nil
	views, err := d.ViewOrders(d.ctx, orders.OrderOpen)
	if d.refuse(err) {
		return
	}
	for _, v := range views {
		asked, filled, packed := 0, len(v.Sets), 0
		for _, l := range v.Lines {
			asked += l.Asked
		}
		for _, s := range v.Sets {
			if !s.PackedAt.IsZero() {
				packed++
			}
		}
		o.line(fmt.Sprintf("%s  %s  %s  %d of %d filled, %d packed", pad(v.Number, 6),
			pad(clip(v.Partner, 22), 22), v.Due,
			filled, asked, packed),
			func(d *Desk) { d.push(&packingPage{number: v.Number, partner: v.Partner}) })
	}
	o.fit(d)
}

const orderKeys = "Press its figure, or Down and Enter   Esc back"

func (o *orderList) fit(d *Desk) {
	room, plainly := d.room(orderKeys)
	if !plainly {
		room-- // for the line that says how many there are
	}
	o.lay(room)
}

func (o *orderList) key(d *Desk, k *tcell.EventKey) {
	if !o.press(d, k) {
		unknown(d, k)
	}
}

func (o *orderList) view(d *Desk, width int) page {
	p := page{title: "Pack which order?", keys: orderKeys, cursor: -1}
	o.fit(d)
	if len(o.all) == 0 {
		p.add(text("No order is open. The coordinator opens one at the command line."))
	}
	o.column(&p, width)
	if where := o.where(); where != "" {
		p.add(text(where))
	}
	return p
}

// packing takes the pieces of one order into their crates, by scanning each as it goes in.
type packingPage struct {
	number, partner string
	left            packing.Progress
	field           editor // for a tag that no scanner reads
}

func (s *packingPage) typing() *editor { return &s.field }

func (s *packingPage) wake(d *Desk) {
	left, err := d.PackingOf(d.ctx, s.number)
	if !d.refuse(err) {
		s.left = left
	}
}

func (s *packingPage) view(_ *Desk, width int) page {
	p := page{title: fmt.Sprintf("Pack %s for %s", s.number, s.partner),
		keys: "Scan each piece as it goes in   Esc back", cursor: -1}
	p.words(width, plain, registry.CautionLifting.Text())
	p.add(nil)
	switch {
	case s.left.Done:
		p.add(bold("Everything on it is packed."))
		if but := s.left.But(); but != "" {
			p.words(width, plain, "But "+but+".")
		}
		p.add(nil,
			line{{" Enter ", strong}, {"it leaves the house: ship it", plain}})
		p.keys = "Enter ship it   Esc back"
	case len(s.left.Missing) == 0:
		p.words(width, plain,
			"Nothing is on it yet. The coordinator fills it from stock at the command line.")
	default:
		p.add(text(fmt.Sprintf("Still to pack: %d", len(s.left.Missing))))
		for _, u := range s.left.Missing[:min(len(s.left.Missing), 6)] {
			p.add(text(clip(fmt.Sprintf("   %s %s  %s", pad(string(u.Tag), 7), pad(clip(u.Name, 30), 30),
				u.Place), width)))
		}
		if more := len(s.left.Missing) - 6; more > 0 {
			p.add(text(fmt.Sprintf("   and %d more", more)))
		}
	}
	p.add(nil)
	p.input(pad("Tag", labelWidth), &s.field, width)
	return p
}

func (s *packingPage) key(d *Desk, k *tcell.EventKey) {
	if s.field.key(k) || k.Key() != tcell.KeyEnter {
		return
	}
	typed := strings.TrimSpace(s.field.text())
	if typed == "" {
		if s.left.Done {
			s.ship(d)
		}
		return
	}
	s.field = editor{} // also a wrong one: the next scan goes into an empty line
	if tag, err := registry.ParseTag(typed); !d.refuse(err) {
		s.scan(d, tag)
	}
}

// scan packs a piece. What its kit lacks is put with it first, and where the house looks twice at an old
// machine before it leaves, the second look is asked.
func (s *packingPage) scan(d *Desk, tag registry.Tag) bool {
	m, err := d.Machine(d.ctx, tag)
	if err != nil || m.Stage != registry.Reserved {
		s.pack(d, tag) // a base, or something that the rules refuse in their own words
		return true
	}
	kit, err := d.KitFor(d.ctx, s.number, tag)
	if d.refuse(err) {
		return true
	}
	f := &form{m: m, first: true, title: fmt.Sprintf("%s: into its crate", tag)}
	if len(kit.Lacks) > 0 {
		f.final = "these are with it now, and it is in its crate"
		f.notes = append(f.notes, "Put with it: "+kit.Missing())
	}
	if d.SecondLook(m, registry.Shipped) {
		f.notes = append(f.notes, m.LooksTwice())
		f.asked = append(f.asked, secondLook())
	}
	if len(f.notes) == 0 {
		s.pack(d, tag)
		return true
	}
	f.do = func(d *Desk, a answers) (string, error) {
		var seen registry.Initials
		if a["seen"] != "" {
			if seen, err = registry.ParseInitials(a["seen"]); err != nil {
				return "", err
			}
		}
		if len(kit.Lacks) > 0 {
			_, err = d.PackWithKit(d.ctx, d.by, s.number, tag, seen)
		} else {
			_, err = d.pack(s.number, tag, seen)
		}
		return fmt.Sprintf("%s is in its crate.", tag), err
	}
	d.begin(f)
	return true
}

func (s *packingPage) pack(d *Desk, tag registry.Tag) {
	left, err := d.pack(s.number, tag, "")
	if d.refuse(err) {
		return
	}
	s.left = left
	if len(left.Packed) == 0 {
		d.say("%s was packed already.", tag)
	} else {
		d.say("%s is in its crate.", tag)
	}
	d.refresh()
}

// pack takes one piece into its crate.
func (d *Desk) pack(number string, tag registry.Tag, seen registry.Initials) (packing.Progress, error) {
	return d.Pack(d.ctx, d.by, number, []registry.Tag{tag}, seen)
}

func (s *packingPage) ship(d *Desk) {
	d.begin(&form{title: "Ship " + s.number, final: "ships it: it leaves the house", grave: true,
		notes: []string{fmt.Sprintf("Everything on %s leaves for %s.", s.number, s.partner)},
		do: func(d *Desk, _ answers) (string, error) {
			_, sets, err := d.ShipOrder(d.ctx, d.by, s.number, packing.Delivery{})
			if err != nil {
				return "", err
			}
			d.drop(s)
			return packing.Gone(s.number, sets), nil
		}})
}
