package desk

import (
	"fmt"
	"strings"

	"github.com/gdamore/tcell/v2"

	"pitman/registry"
	"pitman/registry/intake"
	"pitman/registry/stock"
)

// vanLoad is what came at once from one donor: what all of it has in common is asked once, then one machine
// is logged after another, each with the base that it came with, and the labels are printed at the end.
type vanLoad struct {
	donor string
	tags  []registry.Tag
}

// startVan asks what the whole load has in common, or goes on with the load that is being logged.
func startVan(d *Desk) {
	if d.van != nil {
		d.push(&vanEnd{})
		return
	}
	today := d.LocalDay(d.Now())
	place := question{name: "place", label: "Place", word: "place", offerKeys: d.places(), maybe: true,
		given: d.load.place, hint: "Where will they stand? Each machine's can be changed."}
	donors, err := d.Used(d.ctx, stock.ColumnDonor, "")
	d.refuse(err)
	d.begin(&form{title: "A van-load: what all of it has in common",
		asked: []question{
			{name: "donor", label: "Given by", word: "donor", offerKeys: donors, hint: "Who gave it?"},
			{name: "day", label: "Came on", given: today, hint: "The day, such as " + today + ".",
				check: func(_ answers, typed string) error {
					_, err := d.Intake.LoadDay(typed)
					return err
				}},
			{name: "receipt", label: "Receipt", maybe: true,
				hint: "The number of the donor's receipt. Enter alone if there is none."},
			place,
		},
		do: func(d *Desk, a answers) (string, error) {
			note := d.Intake.LoadNote(intake.Load{Day: a["day"], Receipt: a["receipt"]})
			d.load = load{donor: a["donor"], place: a["place"], note: note, last: d.load.last}
			d.van = &vanLoad{donor: a["donor"]}
			d.startLog()
			return "", nil
		}})
}

// took notes what was logged while a load is.
func (d *Desk) took(tag registry.Tag) {
	if d.van != nil {
		d.van = &vanLoad{d.van.donor, append(d.van.tags[:len(d.van.tags):len(d.van.tags)], tag)}
	}
}

// vanItems are what the page of a tag offers while a load is being logged.
func (d *Desk) vanItems(m *stock.Machine) (items []item) {
	if m != nil {
		items = append(items,
			item{'c', "came with a base: log that, too", func(d *Desk) { addBaseOf(d, m.Tag) }})
	}
	if d.van != nil {
		items = append(items, item{'v', fmt.Sprintf("van-load of %d: end it, labels", len(d.van.tags)),
			func(d *Desk) { d.back(); d.push(&vanEnd{}) }})
	}
	return items
}

// vanEnd shows what came with a load, and prints its labels.
type vanEnd struct{ menu }

func (*vanEnd) writes(key rune) bool { return key == 'a' || key == 'x' }
func (*vanEnd) hurts(rune) bool      { return false }

func (v *vanEnd) wake(d *Desk) {
	v.items = nil
	v.add('l', "log the next one of it", func(d *Desk) { d.push(newLog(d)) })
	if d.Label != nil && len(d.van.tags) > 0 {
		v.add('a', "labels: print all of them", printLoad)
	}
	v.add('x', "the load is done", func(d *Desk) {
		n := len(d.van.tags)
		d.say("%d of %s %s logged.", n, d.van.donor, registry.Agree(n, "is", "are"))
		said := d.message
		d.van, d.load.note = nil, ""
		d.back()
		d.message = said
	})
}

func printLoad(d *Desk) {
	var where string
	for _, tag := range d.van.tags {
		said, err := d.Label(d.by, tag)
		if d.refuse(err) {
			return
		}
		where = said
	}
	d.say("%s. The last: %s", registry.Counted(len(d.van.tags), "label"), where)
}

func (v *vanEnd) view(d *Desk, width int) page {
	p := page{title: "Van-load of " + d.van.donor, keys: "Press a letter   Esc back", cursor: -1}
	v.show(&p, width)
	p.add(nil)
	var tags []string
	for _, tag := range d.van.tags {
		tags = append(tags, string(tag))
	}
	if len(tags) == 0 {
		tags = []string{"nothing yet"}
	}
	p.words(width, plain, fmt.Sprintf("Logged so far, %d: %s", len(d.van.tags), strings.Join(tags, ", ")))
	return p
}

func (v *vanEnd) key(d *Desk, k *tcell.EventKey) { v.menu.key(d, k) }
