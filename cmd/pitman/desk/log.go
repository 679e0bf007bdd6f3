package desk

import (
	"fmt"
	"slices"
	"strings"

	"github.com/gdamore/tcell/v2"

	"pitman/registry"
	"pitman/registry/fields"
	"pitman/registry/stock"
)

// load is what a whole van-load has in common: asked once, and kept until it is changed.
type load struct {
	donor, place string
	note         string         // what the papers of a van-load say
	last         *stock.Machine // for "same as last"
}

// logForm takes a machine in, or corrects one that is in. It asks for three things and lets the rest be added
// by a letter.
type logForm struct {
	m     stock.Machine
	fixes registry.Tag  // the machine being corrected, or "" for a new one
	was   stock.Machine // as it stood when its correction began

	at        string // the field being asked, or "" when all is in view
	field     editor
	offerKeys offerKeys
	dirty     bool // something was typed that is not in the draft yet
	kept      bool // there is a draft of it

	year  string // when it was made, and why
	twin  registry.Tag
	again bool // it is another machine than its twin

	hinted string // the word of which it was asked last whether another is meant
}

func (d *Desk) startLog() {
	if dr, ok := d.drafts.read(d.by); ok {
		d.push(&resume{dr})
		return
	}
	d.push(newLog(d))
}

func newLog(d *Desk) *logForm {
	f := &logForm{m: stock.Machine{Donor: d.load.donor, Place: d.load.place, Note: d.load.note}}
	f.ask(d, "maker")
	return f
}

// resumeLog goes on where a draft stops.
func resumeLog(d *Desk, dr draft) *logForm {
	f := &logForm{m: dr.machine(), kept: true}
	f.dated(d)
	f.onward(d)
	// A field that this pitman does not know was typed in a newer one.
	if _, known := stock.FieldNamed(dr.At); known && dr.Typing != "" {
		f.ask(d, dr.At)
		f.field = edit(dr.Typing)
		f.offerKeys.narrow(dr.Typing)
	}
	return f
}

func newAmend(m *stock.Machine) *logForm {
	return &logForm{m: *m, fixes: m.Tag, was: *m}
}

func (f *logForm) typing() *editor {
	if f.at == "" || choices[f.at] != nil {
		return nil
	}
	return &f.field
}

func (f *logForm) offering() *offerKeys { return &f.offerKeys }

// ask puts the question for one field.
func (f *logForm) ask(d *Desk, name string) {
	f.at, f.field, f.offerKeys = name, editor{}, offerKeys{}
	if f.value(name) != "" && choices[name] == nil {
		f.field = edit(f.value(name))
	}
	var err error
	switch name {
	case "maker":
		f.offerKeys.eager = true
		f.offerKeys.all, err = d.KnownMakers(d.ctx)
	case "model":
		f.offerKeys.eager = true
		f.offerKeys.all, err = d.KnownModels(d.ctx, &f.m)
	case "clue":
		f.offerKeys.eager = true
		f.offerKeys.all, err = d.KnownMarks(&f.m)
	case "donor", "place", "condition":
		f.offerKeys.all, err = d.Used(d.ctx, stock.Column(name), "")
	}
	d.refuse(err)
	f.offerKeys.narrow(f.field.text())
	if f.field.text() != "" {
		f.offerKeys.at = 0
	}
}

// onward asks for the next thing that is missing, or shows all.
func (f *logForm) onward(d *Desk) {
	for _, name := range []string{"maker", "serial", "drive"} {
		if f.value(name) == "" {
			f.ask(d, name)
			return
		}
	}
	f.at = ""
}

func (f *logForm) value(name string) string { return written(&f.m, name) }

// written is what stands in a field of a machine.
func written(m *stock.Machine, name string) string {
	field, _ := stock.FieldNamed(name)
	if name == "clue" { // a mark's name may have commas in it
		return strings.Join(field.Get(m), "; ")
	}
	return strings.Join(field.Get(m), ", ")
}

// parts takes apart what written puts into one line.
func parts(name, typed string) []string {
	if name == "clue" {
		return strings.Split(typed, ";")
	}
	return fields.SplitMany(typed)
}

func (f *logForm) set(name, typed string) error {
	field, _ := stock.FieldNamed(name)
	values := []string{typed}
	if field.Many {
		values = parts(name, typed)
	}
	next := f.m
	if err := field.Set(&next, values); err != nil {
		return err
	}
	f.m = next
	return nil
}

// take accepts what was typed for the field being asked.
func (f *logForm) take(d *Desk, typed string) bool {
	name := f.at
	if typed == "" && slices.Contains([]string{"maker", "serial", "drive"}, name) {
		d.say("%s", hints[name])
		return false
	}
	if (f.fixes == "" || typed != written(&f.was, name)) &&
		f.offerKeys.hint(d, name, f.m.Maker, typed, &f.hinted) {
		return false
	}
	before := f.m
	if d.refuse(f.set(name, typed)) {
		return false
	}
	if slices.Contains([]string{"serial", "patent", "patent-date", "seen", "clue"}, name) {
		if _, err := d.Date(&f.m); d.refuse(err) {
			f.m = before
			return false
		}
	}
	f.dated(d)
	f.onward(d)
	f.save(d)
	return true
}

// dated looks the year up, and whether the house has this machine already.
func (f *logForm) dated(d *Desk) {
	asked := f.twin
	f.year, f.twin = "", ""
	if f.m.Maker == "" || f.m.Serial == "" {
		return
	}
	answer, err := d.Date(&f.m)
	if err != nil {
		return // said when the serial was typed
	}
	f.year = reason(answer)
	if f.fixes != "" {
		return
	}
	twins, err := d.Twins(d.ctx, &f.m)
	if !d.refuse(err) && len(twins) > 0 {
		f.twin = twins[0].Tag
	}
	if f.twin != asked { // that it is another machine was said of the other one
		f.again = false
	}
}

// same is what the last machine had in the field being asked.
func (f *logForm) same(d *Desk) string {
	if d.load.last == nil || f.at == "serial" {
		return ""
	}
	return written(d.load.last, f.at)
}

func (f *logForm) key(d *Desk, k *tcell.EventKey) {
	if f.at == "" {
		f.choose(d, k)
		return
	}
	if k.Key() == tcell.KeyRune && k.Rune() == '=' && f.field.text() == "" && f.same(d) != "" {
		f.take(d, f.same(d))
		return
	}
	if list := choices[f.at]; list != nil {
		if k.Key() != tcell.KeyRune {
			return
		}
		for _, c := range list {
			if c.key == string(letter(k)) {
				f.take(d, c.value)
				return
			}
		}
		unknown(d, k)
		return
	}
	if f.offerKeys.key(k) {
		return
	}
	if f.field.key(k) {
		f.dirty = true
		f.offerKeys.narrow(f.field.text())
		return
	}
	switch k.Key() {
	case tcell.KeyEnter, tcell.KeyTab:
		f.take(d, f.offerKeys.take(f.field.text()))
	}
}

// choose takes the letters that work when all is in view.
func (f *logForm) choose(d *Desk, k *tcell.EventKey) {
	switch {
	case k.Key() == tcell.KeyEnter && f.fixes != "":
		f.amend(d)
		return
	case k.Key() == tcell.KeyEnter:
		f.log(d)
		return
	case k.Key() != tcell.KeyRune:
		return
	}
	r := letter(k)
	switch twin := f.twin != "" && !f.again; {
	case r == 'x' && f.fixes == "":
		if !d.refuse(d.drafts.remove(d.by)) {
			f.m, f.at, f.dirty = stock.Machine{}, "", false
			d.back()
			d.say("Thrown away. Nothing was logged.")
		}
		return
	case r == 'u' && twin:
		f.again = true
		return
	case r == 'v' && twin:
		d.open(f.twin)
		return
	}
	for _, row := range rows {
		if row.key == r {
			f.ask(d, row.name)
			return
		}
	}
	unknown(d, k)
}

func (f *logForm) log(d *Desk) {
	f.dated(d) // another desk may have logged the same one meanwhile
	if f.twin != "" && !f.again {
		d.warn("Is it another machine than %s? Press u if it is, v to look at %s, x to throw this one away.",
			f.twin, f.twin)
		return
	}
	m := f.m
	m.Tag = d.blank
	if err := d.Log(d.ctx, d.by, &m, f.again); d.refuse(err) {
		d.letGo(err)
		return
	}
	hangs := d.hung()
	welcome := d.message
	f.dirty, f.m = false, stock.Machine{}
	d.load = load{donor: m.Donor, place: m.Place, note: d.load.note, last: &m}
	d.took(m.Tag)
	removed := d.drafts.remove(d.by)
	d.swap(&logged{tag: m.Tag, hangs: hangs, m: &m,
		about: fmt.Sprintf("%s, %s, %s", name(&m), m.Year(), m.Drive),
		next:  func(d *Desk) { d.push(newLog(d)) }})
	d.message = welcome
	d.refuse(removed)
	d.refresh()
}

func (f *logForm) amend(d *Desk) {
	_, err := d.Amend(d.ctx, d.by, f.fixes, "", func(m *stock.Machine) error {
		for _, r := range rows {
			if f.value(r.name) == written(&f.was, r.name) {
				continue // whoever changed it meanwhile knew better
			}
			field, _ := stock.FieldNamed(r.name)
			if err := field.Set(m, field.Get(&f.m)); err != nil {
				return err
			}
		}
		return nil
	})
	if d.refuse(err) {
		return
	}
	d.back()
	d.say("Corrected. The history keeps what stood there before.")
}

// esc goes back one question, or from one field to the whole; what was typed there counts if it can.
func (f *logForm) esc(d *Desk) bool {
	if f.at == "" || f.at == "maker" && f.value("drive") == "" {
		return false
	}
	if typed := strings.TrimSpace(f.field.text()); f.typing() != nil && typed != "" {
		d.refuse(f.set(f.at, typed))
		f.dated(d)
	}
	switch {
	case f.value("maker") != "" && f.value("serial") != "" && f.value("drive") != "":
		f.at = ""
	case f.at == "drive":
		f.ask(d, "serial")
	default:
		f.ask(d, "maker")
	}
	f.save(d)
	return true
}

// scan takes a base's tag where one is asked; anywhere else a scan opens what it names.
func (f *logForm) scan(d *Desk, tag registry.Tag) bool {
	if f.at != "arrived-with" {
		return false
	}
	f.take(d, string(tag))
	return true
}

func (f *logForm) leave(d *Desk) {
	f.save(d)
	if f.fixes == "" && f.something(d) {
		d.say("Kept for later: press l to go on with it.")
	}
}

// something says whether there is anything to keep beside what the load fills in by itself.
func (f *logForm) something(d *Desk) bool {
	return f.m.Maker != "" || f.m.Serial != "" || f.field.text() != "" || f.m.Drive != "" ||
		f.m.Donor != d.load.donor || f.m.Place != d.load.place || f.m.Note != d.load.note
}

// save writes the draft, or takes it away once nothing is left of it.
func (f *logForm) save(d *Desk) {
	f.dirty = false // whatever comes of it: a desk at rest would else try again and again
	if f.fixes != "" {
		return
	}
	if !f.something(d) {
		if f.kept && !d.refuse(d.drafts.remove(d.by)) {
			f.kept = false
		}
		return
	}
	dr := draft{Fields: map[string][]string{}, At: f.at, Typing: f.field.text()}
	if f.at == "" || dr.Typing == f.value(f.at) {
		dr.Typing = ""
	}
	for _, r := range rows {
		field, _ := stock.FieldNamed(r.name)
		if values := field.Get(&f.m); strings.Join(values, "") != "" {
			dr.Fields[r.name] = values
		}
	}
	if !d.refuse(d.drafts.write(d.by, dr)) {
		f.kept = true
	}
}
