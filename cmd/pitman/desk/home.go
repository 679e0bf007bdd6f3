package desk

import (
	"fmt"
	"strconv"
)

// home is where the day begins and where Esc ends.
type home struct{ menu }

func (h *home) wake(d *Desk) {
	h.items = nil
	h.add('l', "log a machine that came in", func(d *Desk) { d.startLog() })
	van := "van-load: many of one donor"
	if d.van != nil {
		van = "van-load: go on with it, or end it"
	}
	h.add('v', van, startVan)
	h.add('m', "import: machines from a list", importList)
	h.add('f', "find one: tag, maker, serial", func(d *Desk) { d.push(&find{}) })
	h.add('d', "decide about one that is new", func(d *Desk) { d.push(&find{job: &jobDecide}) })
	h.add('b', "bench: clean, mend, oil", func(d *Desk) { d.push(&find{job: &jobBench}) })
	h.add('t', "test how one sews", func(d *Desk) { d.push(&find{job: &jobTest}) })
	h.add('e', "electrical safety test", func(d *Desk) { d.push(&find{job: &jobSafety}) })
	h.add('s', "spares: on the shelf, needed", func(d *Desk) { d.push(&sparesPage{}) })
	h.add('c', "treadle base: log one", addBase)
	h.add('p', "places: move, or count a shelf", func(d *Desk) { d.push(newPlaces()) })
	h.add('o', "order: pack it, ship it", func(d *Desk) { d.push(&orderList{}) })
	if d.Label != nil {
		h.add('a', "label: print one", func(d *Desk) { d.push(&find{job: &jobLabel}) })
	}
	h.add('n', "next: all there is to do", func(d *Desk) { d.push(&worklist{}) })
	h.add('u', "undo what I did last", undoMine)
	h.add('w', fmt.Sprintf("who am I? %s or someone else", d.by),
		func(d *Desk) { d.push(&who{chosen: true}) })
	if d.Signs(d.by) {
		h.add('i', "PIN: choose mine, to sign with", choosePIN)
	}
	if d.Pair != nil {
		h.add('h', "phone: pair mine", pairPhone)
	}
	h.add('q', "leave the desk", func(d *Desk) { d.quit = true })
	d.refresh()
	if d.Safekeeping != nil {
		kept := d.Safekeeping(d.ctx)
		d.safekeeping = kept.Backup() + "; " + kept.History()
	}
}

func (h *home) view(d *Desk, width int) page {
	p := page{title: "What would you like to do?",
		keys: "Press a letter, or scan a tag   ? how the desk works", cursor: -1}
	h.show(&p, width)
	return p
}

func count(n int) string { return strconv.Itoa(n) }
