package desk

import (
	"errors"
	"fmt"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/electrical"
	"pitman/registry/sent"
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
	var form sent.Form
	d.refuse(d.Store.View(d.ctx, func(r stock.Reader) (err error) {
		form, err = sent.AsOf(r, string(tag))
		return err
	}))
	return form.Seen
}

func safetyForm(d *Desk, m *stock.Machine) *form {
	f := &form{m: m, title: fmt.Sprintf("%s: electrical safety test", m.Tag),
		notes: []string{registry.SafetyCaution}, final: "records this test"}
	if said, err := d.Suspect(d.ctx, m.Tag); !d.refuse(err) {
		f.notes = append(f.notes, said...)
	}
	if _, work, err := d.MayLookAlone(d.ctx, d.by, m.Tag); err == nil {
		f.notes = append(f.notes, bench.LookMeans(d.LocalDay(m.PausedAt), work))
		f.asked = append(f.asked, question{name: lookAlone, label: bench.AskLookAlone, picks: []pick{
			{'t', electrical.No, "the whole test"}, {'l', electrical.Yes, "a look alone"}}})
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
		if q.again = before.Offer(e); q.again != "" {
			q.hint = fmt.Sprintf("Enter alone: %s, as last time. ", q.again) + q.hint
		}
		q.skip = func(a answers) bool { return a[lookAlone] == electrical.Yes || !session(d, m, a).Asks(e) }
		q.check = func(a answers, typed string) error { return d.sensible(m, e, a, typed) }
		q.said = func(a answers) string { return session(d, m, a).Verdict(e) }
		f.asked = append(f.asked, q)
	}
	f.do = func(d *Desk, a answers) (string, error) {
		record := d.Safety
		if a[lookAlone] == electrical.Yes {
			record = d.LookAlone
		}
		began := sent.With(d.ctx, sent.Form{Subject: string(m.Tag), Seen: f.since})
		done, tested, err := record(began, d.by, m.Tag, session(d, m, a).Form)
		var stale *sent.Outdated
		if errors.As(err, &stale) {
			err = registry.Errorf(registry.Conflict,
				"others did something to %s since this test began, which the figures may know nothing of: "+
					"scan its tag, press e, and measure again", m.Tag)
		}
		if err != nil {
			return "", err
		}
		d.push(&safetyResult{m: done, test: tested})
		return "", nil
	}
	return f
}

// lookAlone is whether only the visual points are looked at, where that is enough.
const lookAlone = "look alone"

var yesNo = []pick{{'y', "yes", "yes"}, {'n', "no", "no"}}

// entryKeys are the keys of answers; a number is its own.
var entryKeys = map[string]rune{"I": '1', "II": '2', "III": '3', "none": '0', "unknown": 'u', "portable": 'p',
	"stationary": 's', "yes": 'y', "no": 'n', "pass": 'y', "fail": 'n', "n/a": 'a', "500": '5', "250": '2',
	"brush": 'b', "induction": 'i'}

// entryQuestion is how the desk asks an entry of the test.
func entryQuestion(d *Desk, m *stock.Machine, e electrical.Entry) question {
	asked := session(d, m, answers{}).Question(e)
	q := question{name: string(e), label: asked.Ask, hint: asked.Hint,
		caution: func(a answers) string { return session(d, m, a).Caution(e) },
		maybeIf: func(a answers) bool { return session(d, m, a).MayStayEmpty(e) }}
	for _, p := range asked.Picks {
		if e == electrical.AskInstrument { // typed, since there may be many
			q.offerKeys, q.eager = append(q.offerKeys, p.Value), true
			continue
		}
		q.picks = append(q.picks, pick{entryKeys[p.Value], p.Value, p.Says})
	}
	return q
}

// session is the test as far as it was taken down.
func session(d *Desk, m *stock.Machine, a answers) electrical.Session {
	s := electrical.Session{Rules: d.Config.Safety, Plate: m.Plate,
		Form: electrical.SafetyForm{Visual: "pass"}}
	for _, p := range electrical.VisualPoints() {
		if a["look "+p.Key] == electrical.No {
			s.Saw(p.Key, a["fault "+p.Key])
		}
	}
	for _, e := range electrical.Entries() {
		if answer, ok := a[string(e)]; ok {
			s.Put(e, answer)
		}
	}
	return s
}

// sensible refuses at once what cannot be meant. What was answered further on, before Esc led back, will be
// asked again.
func (d *Desk) sensible(m *stock.Machine, e electrical.Entry, a answers, typed string) error {
	s := session(d, m, a)
	s.Forget(e)
	return s.Answer(e, typed, d.Now().In(d.Config.Location()))
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
	switch {
	case !s.test.Revives.IsZero():
		p.add(bold(fmt.Sprintf("Looked at by %s; the pass of %s stands again, as old as it is.", s.test.By,
			d.LocalDay(s.test.Revives))))
	case s.test.Pass:
		p.add(bold(fmt.Sprintf("Every point passed, recorded by %s.", s.test.By)))
	default:
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
