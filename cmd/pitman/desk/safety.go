package desk

import (
	"cmp"
	"fmt"
	"slices"

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
	seenWrong := func(a answers) bool { return visualFails(a) }
	untestable := func(a answers) bool { return visualFails(a) || a["class"] != "I" && a["class"] != "II" }
	notIII := func(a answers) bool { return visualFails(a) || a["class"] != "III" }
	notI := func(a answers) bool { return untestable(a) || a["class"] != "I" }
	figure := func(name, label, hint string, skip func(answers) bool) question {
		return question{name: name, label: label, hint: hint, skip: skip}
	}
	f.asked = append(f.asked,
		question{name: "class", label: "Which class is it?",
			picks: []pick{{'1', "I", "class I: an earth wire to the bare metal"},
				{'2', "II", "class II: double insulated, two squares on the plate"},
				{'3', "III", "class III: at most 50 V a.c., from an adapter"},
				{'0', "none", "none: bare metal on a two-core cord"}, {'u',
					"unknown", "nobody can tell"}}},
		question{name: "electronics", label: "Has it circuit boards?", picks: yesNo, skip: untestable})
	if len(d.Config.Safety.Instruments) > 0 {
		var ids []string
		for _, in := range d.Config.Safety.Instruments {
			ids = append(ids, in.ID)
		}
		f.asked = append(f.asked,
			question{name: "instrument", label: "Instrument", offerKeys: ids, eager: true,
				hint: "One of the house's list.", skip: untestable})
	}
	electronics := func(a answers) string {
		if a["electronics"] == "yes" {
			return registry.ElectronicsWarning
		}
		return ""
	}
	switchOn := question{name: "switch",
		label: "Insulation is measured with the switch on and the pedal pressed. Was it?",
		picks: yesNo, skip: untestable, caution: electronics}
	f.asked = append(f.asked,
		figure("length", "Cord length", "Metres.", notI),
		question{name: "long", label: "A cord above 5 m is unusual. Measured again, and right?", picks: yesNo,
			skip: func(a answers) bool { return notI(a) || !electrical.AsksLongCord(a["length"]) }},
		figure("area", "Conductor area", "Square millimetres, as printed on the cord, or AWG 18.", notI),
		figure("earth", "Earth", "Ohms, measured.", notI),
		question{name: "volts250", label: "Insulation at which voltage?", caution: electronics,
			skip:  func(a answers) bool { return untestable(a) || a["electronics"] != "yes" },
			picks: []pick{{'5', "500", "500 V d.c."}, {'2', "250", "250 V d.c., as electronics ask for"}}},
		switchOn,
		figure("insulation", "Insulation", "Megohms, measured.", untestable),
		figure("leakage", "Leakage", "Milliamperes, measured.", untestable),
		question{name: "plug", label: "Plug type",
			hint:  plugHint(m),
			maybe: true, skip: func(a answers) bool { return untestable(a) || unknownPlug(m, a) }},
		question{name: "letter", label: "Plug type",
			hint: "Its letter by IEC World Plugs, A to O: class I passes only with an earthed one.",
			skip: func(a answers) bool { return untestable(a) || !unknownPlug(m, a) }},
		question{name: "polarity", label: "Polarity", skip: untestable,
			picks: []pick{{'y', "pass", "right way round"}, {'n', "fail", "wrong way round"},
				{'a', "n/a", "does not apply: the plug fits either way round"}}},
		figure("fuse", "Fuse in plug", "Amperes, or n/a for a plug without one.", untestable),
		question{name: "adapter", skip: notIII,
			picks: []pick{{'y', "pass", "right"}, {'n', "fail", "not right"}},
			label: "Adapter: case and cord whole, two squares on its plate, right output?"},
		figure("volts", "Plate: volts", "As it reads, such as 220-240, or unknown.", seenWrong),
		figure("hertz", "Plate: hertz", "As it reads, such as 50/60, or unknown.", seenWrong),
		figure("watts", "Plate: watts", "As it reads, or unknown.", seenWrong),
		question{name: "motor", label: "Which motor?", skip: seenWrong,
			picks: []pick{{'b', "brush", "with brushes"}, {'i', "induction",
				"induction"}, {'u', "unknown", "nobody can tell"}}})
	for i := slices.IndexFunc(f.asked,
		func(q question) bool { return q.name == "class" }); i < len(f.asked); i++ {
		f.asked[i].check = func(a answers, typed string) error { return d.sensible(f.asked[:i+1], a, typed) }
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

// sensible refuses at once what cannot be meant, for the last of the questions: nobody measures all of it to
// hear at the end of a slip. What was answered further on, before Esc led back, will be asked again.
func (d *Desk) sensible(asked []question, a answers, typed string) error {
	far, last := answers{}, asked[len(asked)-1].name
	for _, q := range asked {
		far[q.name] = a[q.name]
	}
	far[last] = typed
	if last == "instrument" {
		if err := d.Config.Safety.CheckInstrument(typed, d.Now().In(d.Config.Location())); err != nil {
			return err
		}
	}
	return recorded(far).Check()
}

// plugHint says whose letter stands where none is typed.
func plugHint(m *stock.Machine) string {
	if m.Plate.Plug != "" {
		return "Its letter by IEC World Plugs, A to O. Enter alone if it is type " + m.Plate.Plug + " still."
	}
	return "Its letter by IEC World Plugs, A to O. Enter alone if nobody knows."
}

// unknownPlug says whether the plug of a class I machine has to be named.
func unknownPlug(m *stock.Machine, a answers) bool { return a["class"] == "I" && m.Plate.Plug == "" }

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
	form := electrical.SafetyForm{Class: a["class"], Visual: "pass", Earth: a["earth"],
		CordLength: a["length"], LongCord: a["long"] == "yes", CordArea: a["area"],
		InsulationVolts: a["volts250"], Adapter: a["adapter"],
		Insulation: a["insulation"], SwitchOn: a["switch"] == "yes", Leakage: a["leakage"],
		Polarity: a["polarity"], Plug: cmp.Or(a["plug"], a["letter"]), Fuse: a["fuse"],
		Volts: a["volts"], Hertz: a["hertz"], Watts: a["watts"], Motor: a["motor"],
		Electronics: a["electronics"] == "yes", Instrument: a["instrument"]}
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
