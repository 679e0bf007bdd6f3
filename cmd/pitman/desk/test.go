package desk

import (
	"fmt"
	"maps"
	"strings"

	"github.com/gdamore/tcell/v2"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/measure"
	"pitman/registry/stock"
)

// test asks the points of a function test one after another, a key each.
type test struct {
	m      *stock.Machine
	points []bench.TestPoint
	fail   map[string]string
	lacks  map[string]string // points that do not apply, with the reason
	passed map[string]bool
	stitch *measure.StitchCheck
	seams  []measure.StitchCheck // more seams, at other settings or in reverse
	// how far a measured stitch is off its dial, if that is a fault in this house
	offDial string
	at      int

	fault bool // the fault is being typed, or why the point does not apply
	none  bool // it is the reason why
	typed bool // letters were typed where only Enter is asked
	field editor
}

// startTest asks the rules first, then who is there: the person before may have gone, and a test carries
// initials.
func startTest(d *Desk, m *stock.Machine) {
	d.ask("Test "+string(m.Tag), func(d *Desk) {
		m, err := d.MayTest(d.ctx, d.by, m.Tag)
		if d.refuse(err) {
			d.openUnder(m, err)
			return
		}
		if half := d.tests[m.Tag]; half != nil {
			d.say("You had begun this test: it goes on where you were.")
			d.push(half)
			return
		}
		t := &test{}
		if !d.refuse(t.start(d, m)) {
			d.tests[m.Tag] = t
			d.push(t)
		}
	})
}

// start begins at the first point.
func (t *test) start(d *Desk, m *stock.Machine) error {
	points, err := d.PointsFor(m)
	if err == nil {
		*t = test{m: m, points: points, fail: map[string]string{}, lacks: map[string]string{},
			passed: map[string]bool{}}
	}
	return err
}

// wake starts anew when others worked on the machine or tested it meanwhile: what was seen before says
// nothing of it now.
func (t *test) wake(d *Desk) { t.outdated(d) }

func (t *test) outdated(d *Desk) bool {
	m, err := d.Machine(d.ctx, t.m.Tag)
	if err != nil || m.StageSince.Equal(t.m.StageSince) && m.Drive == t.m.Drive {
		return false
	}
	if !d.refuse(t.start(d, m)) {
		d.warn("Others worked on %s or tested it since this test began: it starts again at the first point.",
			m.Tag)
	}
	return true
}

// openUnder shows the machine again, for whoever was not allowed to do something with it.
func (d *Desk) openUnder(m *stock.Machine, err error) {
	if m == nil {
		return
	}
	if top, ok := d.top().(*machine); !ok || top.tag != m.Tag {
		d.push(&machine{tag: m.Tag})
	}
	d.refuse(err)
}

func (t *test) typing() *editor {
	if t.fault {
		return &t.field
	}
	return nil
}

// faultOf is what the test will record as the fault of a point, or nothing.
func (t *test) faultOf(point bench.TestPoint) string {
	fault := t.fail[point.Point]
	if point.Measured == bench.MeasuredStitch && t.offDial != "" {
		fault = strings.TrimPrefix(fault+"; "+t.offDial, "; ")
	}
	return fault
}

func (t *test) done() bool { return t.at >= len(t.points) }

func (t *test) view(d *Desk, width int) page {
	p := page{title: fmt.Sprintf("Test %s   %s", t.m.Tag, name(t.m)), cursor: -1}
	warnings(d, &p, t.m)
	p.words(width, plain, registry.CautionMoving.Text())
	p.add(nil)
	for _, point := range t.points[:min(t.at, len(t.points))] {
		if why := t.lacks[point.Point]; why != "" {
			p.add(line{{"   n/a     ", strong}, {clip(point.Point+": "+why, width-11), plain}})
		}
		if fault := t.faultOf(point); fault != "" {
			p.add(line{{"   fault   ", strong}, {clip(point.Point+": "+fault, width-11), plain}})
		}
	}
	if t.done() {
		faults := 0
		for _, point := range t.points {
			if t.faultOf(point) != "" {
				faults++
			}
		}
		p.words(width, plain, fmt.Sprintf("%s answered, %d with a fault.",
			registry.Counted(len(t.points), "point"), faults))
		if t.stitch != nil {
			for _, check := range append([]measure.StitchCheck{*t.stitch}, t.seams...) {
				if got, err := check.Measure(); err == nil {
					p.words(width, plain, got.Said())
				}
			}
		}
		p.add(nil)
		what := "records the pass: it is ready"
		if faults > 0 {
			what = "records the faults: it goes back to the bench"
		}
		p.add(line{{" Enter ", strong}, {what, plain}})
		p.focus, p.keys = len(p.body)-1, "Enter record   Esc back a point"
		return p
	}
	point := t.points[t.at]
	p.add(line{{fmt.Sprintf("%d of %d", t.at+1, len(t.points)), plain}})
	p.words(width, strong, point.Ask)
	p.add(nil)
	if t.fault {
		what, label := "What did you see? The fault, not the person.", "Fault   "
		if t.none {
			what, label = "Why does it not apply? Such as: made without one.", "Reason  "
		}
		p.add(text(what))
		p.input(label, &t.field, width)
		p.keys = "Enter next point   Esc back"
		return p
	}
	if point.Measured != "" {
		p.add(line{{" y", strong}, {"   measure it, beside a ruler", plain}})
	} else {
		p.add(line{{" y", strong}, {"   yes", plain}})
	}
	p.add(line{{" n", strong}, {"   no: say what you saw", plain}})
	if point.MayLack {
		p.add(line{{" x", strong}, {"   does not apply: say why", plain}})
	}
	p.add(line{{" a", strong},
		{"   yes to every point that is left, but measured ones", plain}})
	p.focus, p.keys = len(p.body)-1, "y, n or a   Esc back a point"
	if point.MayLack {
		p.keys = "y, n, x or a   Esc back a point"
	}
	return p
}

func (t *test) key(d *Desk, k *tcell.EventKey) {
	switch {
	case t.done():
		switch {
		case k.Key() == tcell.KeyEnter && d.meant(&t.typed, false):
			t.record(d)
		case k.Key() == tcell.KeyRune:
			t.typed, d.stray = true, true
		}
	case t.fault:
		if t.field.key(k) || k.Key() != tcell.KeyEnter {
			return
		}
		seen := strings.TrimSpace(t.field.text())
		if seen == "" {
			example := "what you saw, such as: loops below."
			if t.none {
				example = "why it does not apply, such as: made without one."
			}
			d.say("Say in a few words %s", example)
			return
		}
		point := t.points[t.at].Point
		t.clone()
		t.forget(point)
		if t.none {
			t.lacks[point] = seen
		} else {
			t.fail[point] = seen
		}
		t.fault, t.none, t.field = false, false, editor{}
		t.at++
	case k.Key() == tcell.KeyRune:
		point := t.points[t.at]
		switch letter(k) {
		case 'y':
			t.pass(d)
		case 'n':
			t.fault, t.field = true, edit(t.fail[point.Point])
		case 'x':
			if !point.MayLack {
				d.say("Every such machine has it: y if it is right, n for its fault.")
				return
			}
			t.fault, t.none, t.field = true, true, edit(t.lacks[point.Point])
		case 'a':
			t.passRest(d)
		default:
			unknown(d, k)
		}
	}
}

// pass answers the point with yes; a measured one is measured, every time.
func (t *test) pass(d *Desk) bool {
	point := t.points[t.at]
	if point.Measured == bench.MeasuredStitch {
		t.measure(d, false)
		return false
	}
	t.yes(point)
	return true
}

// clone has the page hold maps of its own, so that what it held before stays whole, for memory.
func (t *test) clone() {
	t.fail, t.lacks, t.passed = maps.Clone(t.fail), maps.Clone(t.lacks), maps.Clone(t.passed)
}

// forget takes the answer to a point back.
func (t *test) forget(point string) {
	delete(t.fail, point)
	delete(t.lacks, point)
	delete(t.passed, point)
}

func (t *test) yes(point bench.TestPoint) {
	t.clone()
	t.forget(point.Point)
	t.passed[point.Point] = true
	t.at++
}

// passRest answers all that is left; it stops where something is to be measured, and goes on behind it.
func (t *test) passRest(d *Desk) {
	for !t.done() {
		if t.points[t.at].Measured == bench.MeasuredStitch {
			t.measure(d, true)
			return
		}
		if point := t.points[t.at]; t.fail[point.Point] == "" && t.lacks[point.Point] == "" {
			t.yes(point)
		} else {
			t.at++
		}
	}
}

// measure asks the three figures of a stitch.
func (t *test) measure(d *Desk, rest bool) {
	point := t.points[t.at]
	delete(d.halves, t.measureTitle())
	d.begin(&form{title: t.measureTitle(),
		notes: []string{"Sew beside a ruler and count the stitches. " + registry.CautionMoving.Text()},
		asked: []question{
			{name: "dial", label: "Dial says",
				hint: "Millimetres such as 2.5, or 10 per inch, or none for a lever without marks.",
				check: func(_ answers, typed string) error {
					_, err := measure.ParseDial(typed)
					return err
				}},
			{name: "ruler", label: "Seam length",
				hint: "The length you counted, in mm unless you type in or cm.",
				check: func(_ answers, typed string) error {
					_, err := measure.ParseLength("seam length", typed)
					return err
				}},
			{name: "stitches", label: "Stitches in it", hint: "How many you counted.",
				check: func(_ answers, typed string) error {
					_, err := measure.ParseCount(typed)
					return err
				}},
			{name: "seams", label: "Other settings", maybe: true,
				hint: "Enter if no more. 4 = 50 mm / 12 is dial, length and stitches; r 2.5 = 50 mm / 20 " +
					"is one " +
					"in reverse; several with ; between.",
				check: func(_ answers, typed string) error {
					_, err := measure.ParseSeams(typed)
					return err
				}},
		},
		do: func(d *Desk, a answers) (string, error) {
			dial, err := measure.ParseDial(a["dial"])
			if err != nil {
				return "", err
			}
			ruler, err := measure.ParseLength("seam length", a["ruler"])
			if err != nil {
				return "", err
			}
			stitches, err := measure.ParseCount(a["stitches"])
			if err != nil {
				return "", err
			}
			seams, err := measure.ParseSeams(a["seams"])
			if err != nil {
				return "", err
			}
			check := measure.StitchCheck{Ruler: ruler, Stitches: stitches, Dial: dial}
			_, offDial, err := d.JudgeStitches(bench.TestForm{Stitch: &check, Seams: seams})
			if err != nil {
				return "", err
			}
			t.stitch, t.seams, t.offDial = &check, seams, offDial
			t.yes(point)
			if rest {
				t.passRest(d)
			}
			return "", nil
		}})
}

func (t *test) measureTitle() string { return fmt.Sprintf("Test %s: stitch length", t.m.Tag) }

// esc goes back a point.
func (t *test) esc(*Desk) bool {
	switch {
	case t.fault:
		t.fault, t.none = false, false
	case t.at > 0:
		t.at--
	default:
		return false
	}
	return true
}

func (t *test) record(d *Desk) {
	if t.outdated(d) {
		return
	}
	if (len(t.fail) > 0 || t.offDial != "") && t.m.TakesMains() {
		d.begin(&form{m: t.m, title: fmt.Sprintf("%s failed under power", t.m.Tag),
			final: "records this test",
			asked: []question{{name: "danger", label: bench.AskDanger, picks: yesNo}},
			do: func(d *Desk, a answers) (string, error) {
				t.keep(d, a["danger"] == "yes")
				return "", nil
			}})
		return
	}
	t.keep(d, false)
}

// keep records the test. danger says that the machine was dangerous while it ran.
func (t *test) keep(d *Desk, danger bool) {
	form := bench.TestForm{Fail: t.fail, Lacks: t.lacks, Stitch: t.stitch, Seams: t.seams, Danger: danger}
	for _, p := range t.points {
		if t.passed[p.Point] {
			form.Pass = append(form.Pass, p.Point)
		}
	}
	m, result, err := d.Test(d.ctx, d.by, t.m.Tag, form)
	if d.refuse(err) {
		return
	}
	delete(d.tests, t.m.Tag)
	d.drop(t)
	if result.Pass {
		d.say("Passed. %s Scan the next one.", m.WhereNow())
	} else {
		d.say("Back to the bench with its faults. %s", m.WhereNow())
	}
	d.refresh()
}
