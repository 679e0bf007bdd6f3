package desk

import (
	"fmt"
	"maps"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/electrical"
	"pitman/registry/stock"
)

// startSafety takes down a competent person's electrical test. Nothing in it has a shortcut: every figure is
// typed every time.
func startSafety(d *Desk, m *stock.Machine) {
	d.ask("Electrical test of "+string(m.Tag), func(d *Desk) {
		m, err := d.MayTestSafety(d.ctx, d.by, m.Tag)
		if d.refuse(err) {
			d.openUnder(m, err)
			return
		}
		f := safetyForm(d, m)
		if f.since = d.lastOf(m.Tag); d.halves[f.title] != nil && d.halves[f.title].since != f.since {
			delete(d.halves, f.title) // figures from before say nothing of the machine as it is now
		}
		d.begin(f)
	})
}

// lastOf numbers the last thing that was done to a head or base.
func (d *Desk) lastOf(tag registry.Tag) int64 {
	var events []registry.Event
	d.refuse(d.Store.View(d.ctx, func(r stock.Reader) (err error) {
		events, err = r.History(string(tag))
		return err
	}))
	if len(events) == 0 {
		return 0
	}
	return events[len(events)-1].ID
}

var yesNo = []pick{{'y', "yes", "yes"}, {'n', "no", "no"}}

func safetyForm(d *Desk, m *stock.Machine) *form {
	f := &form{m: m, title: fmt.Sprintf("%s: electrical safety test", m.Tag),
		notes: []string{registry.SafetyCaution}, final: "records this test"}
	if said, err := d.Suspect(d.ctx, m.Tag); !d.refuse(err) {
		f.notes = append(f.notes, said...)
	}
	for i, p := range electrical.VisualPoints() {
		look, fault := "look "+p.Key, "fault "+p.Key
		q := question{name: look, label: p.Ask, picks: yesNo}
		if i == 0 {
			q.caution = func(answers) string { return registry.CautionMains.Text() }
		}
		f.asked = append(f.asked, q,
			question{name: fault, label: "What is wrong", hint: "The fault, in a few words.",
				skip: func(a answers) bool { return a[look] != "no" }})
	}
	last, err := d.LastForm(d.ctx, m.Tag)
	d.refuse(err)
	before := electrical.Session{Plate: m.Plate, Last: last}
	for _, e := range electrical.Entries() {
		q := entryQuestion(d, m, e)
		q.name = string(e)
		if q.again = before.Offer(e); q.again != "" {
			q.hint = fmt.Sprintf("Enter alone: %s, as last time. ", q.again) + q.hint
		}
		q.skip = func(a answers) bool { return !session(d, m, a).Asks(e) }
		q.check = func(a answers, typed string) error { return d.sensible(e, a, typed) }
		q.said = func(a answers) string { return session(d, m, a).Verdict(e) }
		if e == electrical.AskPlug {
			q.maybeIf = func(a answers) bool { return !session(d, m, a).NeedsPlug() }
		}
		f.asked = append(f.asked, q)
	}
	f.do = func(d *Desk, a answers) (string, error) {
		if d.lastOf(m.Tag) != f.since {
			return "", registry.Errorf(registry.Conflict,
				"others did something to %s since this test began, which the figures may know nothing of: "+
					"scan its tag, press e, and measure again", m.Tag)
		}
		done, tested, err := d.Safety(d.ctx, d.by, m.Tag, recorded(a))
		if err != nil {
			return "", err
		}
		d.push(&safetyResult{m: done, test: tested})
		return "", nil
	}
	return f
}

// entryQuestion is how the desk asks an entry of the test.
func entryQuestion(d *Desk, m *stock.Machine, e electrical.Entry) question {
	figure := func(label, hint string) question { return question{label: label, hint: hint} }
	more := question{picks: yesNo,
		label: "It has failed, and will be held. Take down the other dead readings, too, to save a second " +
			"round?"}
	electronics := func(a answers) string {
		if a[string(electrical.AskElectronics)] == "yes" {
			return registry.ElectronicsWarning
		}
		return ""
	}
	switch e {
	case electrical.AskClass:
		return question{label: "Which class is it?",
			picks: []pick{{'1', "I", "class I: an earth wire to the bare metal"},
				{'2', "II", "class II: double insulated, two squares on the plate"},
				{'3', "III", "class III: at most 50 V a.c., from an adapter"},
				{'0', "none", "none: bare metal on a two-core cord"},
				{'u', "unknown", "nobody can tell"}}}
	case electrical.AskElectronics:
		return question{label: "Has it circuit boards?", picks: yesNo}
	case electrical.AskInstrument:
		q := question{label: "Instrument", eager: true, hint: "One of the house's list."}
		for _, in := range d.Config.Safety.Instruments {
			q.offerKeys = append(q.offerKeys, in.ID)
		}
		return q
	case electrical.AskEarth:
		return figure("Earth", "Ohms, measured at the plug's own pin.")
	case electrical.AskCordLength:
		return figure("Cord length", "Metres.")
	case electrical.AskLongCord:
		return question{label: "A cord above 5 m is unusual. Measured again, and right?", picks: yesNo}
	case electrical.AskCordArea:
		return figure("Conductor area", "Square millimetres, as printed on the cord, or AWG 18.")
	case electrical.AskMore, electrical.AskMoreYet:
		return more
	case electrical.AskPlug:
		return plugQuestion(m)
	case electrical.AskPolarity:
		return question{label: "Polarity",
			picks: []pick{{'y', "pass", "right way round"}, {'n', "fail", "wrong way round"},
				{'a', "n/a", "does not apply: the plug fits either way round"}}}
	case electrical.AskFuse:
		return figure("Fuse in plug", "Amperes, or n/a for a plug without one.")
	case electrical.AskVolts250:
		return question{label: "Insulation at which voltage?", caution: electronics,
			picks: []pick{{'5', "500", "500 V d.c."}, {'2', "250", "250 V d.c., as electronics ask for"}}}
	case electrical.AskSwitchOn:
		return question{picks: yesNo, caution: electronics,
			label: "Insulation is measured with the switch on and the pedal pressed. Was it?"}
	case electrical.AskInsulation:
		return figure("Insulation", "Megohms, measured.")
	case electrical.AskLeakage:
		q := figure("Leakage", "Milliamperes, measured.")
		q.caution = func(answers) string { return electrical.CautionLive }
		return q
	case electrical.AskAdapter:
		return question{picks: []pick{{'y', "pass", "right"}, {'n', "fail", "not right"}},
			label: "Adapter: case and cord whole, two squares on its plate, right output?"}
	case electrical.AskVolts:
		return figure("Plate: volts", "As it reads, such as 220-240, or unknown.")
	case electrical.AskHertz:
		return figure("Plate: hertz", "As it reads, such as 50/60, or unknown.")
	case electrical.AskWatts:
		return figure("Plate: watts", "As it reads, or unknown.")
	}
	return question{label: "Which motor?", picks: []pick{{'b', "brush", "with brushes"},
		{'i', "induction", "induction"}, {'u', "unknown", "nobody can tell"}}}
}

// session is the test as far as it was taken down.
func session(d *Desk, m *stock.Machine, a answers) electrical.Session {
	return electrical.Session{Rules: d.Config.Safety, Plate: m.Plate, Form: recorded(a),
		Enough: a[string(electrical.AskMore)] == "no", EnoughYet: a[string(electrical.AskMoreYet)] == "no"}
}

// sensible refuses at once what cannot be meant: nobody measures all of it to hear at the end of a slip. What
// was answered further on, before Esc led back, will be asked again.
func (d *Desk) sensible(e electrical.Entry, a answers, typed string) error {
	if e == electrical.AskSwitchOn && typed == "no" {
		return electrical.SwitchWanted()
	}
	far := maps.Clone(a)
	for i := len(electrical.Entries()) - 1; electrical.Entries()[i] != e; i-- {
		delete(far, string(electrical.Entries()[i]))
	}
	far[string(e)] = typed
	if e == electrical.AskInstrument {
		if err := d.Config.Safety.CheckInstrument(typed, d.Now().In(d.Config.Location())); err != nil {
			return err
		}
	}
	return recorded(far).Check()
}

// plugQuestion asks for the letter, and says whose letter stands where none is typed.
func plugQuestion(m *stock.Machine) question {
	q := question{label: "Plug type", hint: "Enter alone if nobody can tell. "}
	if m.Plate.Plug != "" {
		q.hint = "Enter alone if it is type " + m.Plate.Plug + " still. "
	}
	q.hint += "A letter, A to O, by IEC World Plugs; class I passes only with an earthed one."
	return q
}

func visualFails(a answers) bool {
	for _, p := range electrical.VisualPoints() {
		if a["look "+p.Key] == "no" {
			return true
		}
	}
	return false
}

// recorded is the form as the registry takes it.
func recorded(a answers) electrical.SafetyForm {
	of := func(e electrical.Entry) string { return a[string(e)] }
	form := electrical.SafetyForm{Class: of(electrical.AskClass), Visual: "pass",
		Earth: of(electrical.AskEarth), CordLength: of(electrical.AskCordLength),
		LongCord: of(electrical.AskLongCord) == "yes", CordArea: of(electrical.AskCordArea),
		InsulationVolts: of(electrical.AskVolts250), Adapter: of(electrical.AskAdapter),
		Insulation: of(electrical.AskInsulation), SwitchOn: of(electrical.AskSwitchOn) == "yes",
		Leakage: of(electrical.AskLeakage), Polarity: of(electrical.AskPolarity),
		Plug: of(electrical.AskPlug), Fuse: of(electrical.AskFuse), Volts: of(electrical.AskVolts),
		Hertz: of(electrical.AskHertz), Watts: of(electrical.AskWatts), Motor: of(electrical.AskMotor),
		Electronics: of(electrical.AskElectronics) == "yes", Instrument: of(electrical.AskInstrument)}
	if visualFails(a) {
		form.Visual, form.VisualFaults = "fail", map[string]string{}
		for _, p := range electrical.VisualPoints() {
			if a["look "+p.Key] == "no" {
				form.VisualFaults[p.Key] = a["fault "+p.Key]
			}
		}
	}
	return form
}

// safetyResult shows limits, readings and sources after a test.
type safetyResult struct {
	m    *stock.Machine
	test *bench.SafetyTest
	reading
}

func (s *safetyResult) view(d *Desk, width int) page {
	p := page{title: fmt.Sprintf("%s: recorded", s.m.Tag), keys: "Up, Down look further   Esc done",
		cursor: -1, scroll: &s.reading}
	warnings(d, &p, s.m)
	if s.test.Pass {
		p.add(bold(fmt.Sprintf("Every point passed, recorded by %s.", s.test.By)))
	} else {
		p.words(width, marked, "Held. "+s.test.Hold)
	}
	for _, l := range s.test.Limits {
		verdict := "pass"
		if !l.Pass {
			verdict = "FAIL"
		}
		p.words(width, plain,
			fmt.Sprintf("%s: %s, limit %s %v %s, margin %s: %s", l.What, l.Said(), l.Bound, l.Limit, l.Unit,
				l.MarginSaid(), verdict))
		p.words(width, plain, "  by "+l.Source)
	}
	for _, n := range s.test.Notes {
		p.words(width, strong, n)
	}
	p.words(width, plain, registry.SafetyCaution)
	return p
}
