package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"strings"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/electrical"
	"pitman/registry/stock"
)

// safetyAsker takes down a safety test at a terminal, in the order of the test.
type safetyAsker struct {
	*asker
	d       *workplace
	session electrical.Session
	form    *electrical.SafetyForm
}

// safetyWords is how the terminal asks an entry, where it has words of its own.
var safetyWords = map[electrical.Entry]string{
	electrical.AskClass:       "Class? I, II, III, none or unknown:",
	electrical.AskUse:         "Portable, or stationary (18 kg or more, or mounted)? (Enter if portable)",
	electrical.AskSurge:       "Has it surge protection?",
	electrical.AskElectronics: "Has it electronics (circuit boards)?",
	electrical.AskInstrument:  "Instrument?",
	electrical.AskEarth:       "Earth continuity, ohm?",
	electrical.AskCordLength:  "Cord length, m?",
	electrical.AskLongCord:    "Above 5 m, which is unusual. Measured again, and right?",
	electrical.AskCordArea:    "Cord conductor area, mm²? (printed on the cord)",
	electrical.AskPlug:        "Plug type, letter?",
	electrical.AskPolarity:    "Polarity? pass, fail or n/a:",
	electrical.AskFuse:        "Fuse, A? (n/a without one)",
	electrical.AskVolts250:    "Insulation voltage? 500 or 250:",
	electrical.AskSwitchOn:    "Switch on and pedal pressed for the insulation test?",
	electrical.AskInsulation:  "Insulation, MΩ?",
	electrical.AskLeakage:     "Leakage, mA?",
	electrical.AskAdapter: "Adapter: case and cord whole, two squares on its plate, right output? " +
		"pass or fail:",
	electrical.AskVolts: "Plate: volts?",
	electrical.AskHertz: "Plate: hertz?",
	electrical.AskWatts: "Plate: watts?",
	electrical.AskMotor: "Motor? brush, induction or unknown:",
}

// askSafety asks for the whole form, visual points first, or for these alone; whoever may not record it hears
// so before the first question.
func (a *app) askSafety(ctx context.Context, d *workplace, by registry.Initials, tag registry.Tag,
	form *electrical.SafetyForm, alone bool) (lookAlone bool, err error) {
	_, work, refused := d.MayLookAlone(ctx, by, tag)
	if alone && refused != nil {
		return false, refused
	}
	m, err := d.MayTestSafety(ctx, by, tag)
	if err != nil {
		return false, err
	}
	last, err := d.LastForm(ctx, tag)
	if err != nil {
		return false, err
	}
	q := &safetyAsker{a.asker(), d, electrical.Session{Rules: d.Config.Safety, Plate: m.Plate, Last: last,
		Form: *form}, form}
	fmt.Fprintf(q.out, "%s  %s\n! %s\n! %s\n%s\n", m.Tag, machineName(m), registry.SafetyCaution,
		registry.CautionMains.Text(),
		"back goes to the question before. Nothing is recorded before the last.")
	for _, said := range d.suspect(m.Tag) {
		fmt.Fprintf(q.out, "! %s\n", said)
	}
	if refused == nil {
		fmt.Fprintf(q.out, "! %s\n", bench.LookMeans(d.localDate(m.PausedAt), work))
		if !alone {
			if alone, err = q.yes(bench.AskLookAlone); err != nil {
				return false, err
			}
		}
	}
	if err := q.look(); err != nil {
		return false, err
	}
	if !alone {
		err = q.readings(m)
	}
	*form = q.session.Form
	return alone, err
}

// look asks the visual points. Enter is no answer: what nobody looked at has not passed.
func (q *safetyAsker) look() error {
	f, points := &q.session.Form, electrical.VisualPoints()
	for i := 0; i < len(points); {
		p := points[i]
		goBack := false
		err := q.until(p.Ask+" (y, or the fault)", func(answer string) error {
			goBack = answer == pointBefore
			delete(f.VisualFaults, p.Key)
			switch {
			case answer == "", answer == "?":
				return registry.Errorf(registry.Invalid,
					"look at it and type y, or its fault in a few words, such as cut near the plug")
			case saysNo(answer):
				return registry.Errorf(registry.Invalid, "say what is wrong, such as cut near the plug")
			case saysYes(answer), goBack:
				return nil
			}
			f.VisualFaults[p.Key] = answer
			return nil
		})
		switch {
		case err != nil:
			return err
		case goBack:
			i = max(i-1, 0)
		default:
			i++
		}
	}
	switch {
	case len(f.VisualFaults) > 0:
		f.Visual = "fail"
	case f.Visual == "": // a fail that was given beforehand stays one
		f.Visual = "pass"
	}
	return nil
}

// readings asks what the test asks, one entry after another; what a flag gave is not asked.
func (q *safetyAsker) readings(m *stock.Machine) error {
	all := electrical.Entries()
	var asked []int // to go back
	for i := 0; i < len(all); {
		e := all[i]
		if q.flagged(e) || !q.session.Asks(e) {
			i++
			continue
		}
		back, err := q.entry(e, m)
		if err != nil {
			return err
		}
		if back {
			if len(asked) > 0 {
				i, asked = asked[len(asked)-1], asked[:len(asked)-1]
			}
			continue
		}
		asked = append(asked, i)
		i++
		q.judged(e)
	}
	return nil
}

// flagged says whether a flag gave the answer to an entry.
func (q *safetyAsker) flagged(e electrical.Entry) bool {
	return electrical.Session{Form: *q.form}.Given(e)
}

// forget takes back what was answered from an entry on, but for what flags gave.
func (q *safetyAsker) forget(e electrical.Entry) {
	q.session.Forget(e)
	given := electrical.Session{Form: *q.form}
	for _, e := range electrical.Entries() {
		if given.Given(e) {
			q.session.TakeOver(e, given)
		}
	}
}

// judged says at once whether a reading passes.
func (q *safetyAsker) judged(e electrical.Entry) {
	said := []electrical.Entry{e}
	if e == electrical.AskCordArea { // the limit of the earth follows from the cord
		said = append(said, electrical.AskEarth)
	}
	for _, e := range said {
		if verdict := q.session.Verdict(e); verdict != "" {
			fmt.Fprintf(q.out, "  %s: %s\n", e, verdict)
		}
	}
}

// entry asks one entry until its answer can be meant; nobody types a whole form twice for one slip.
func (q *safetyAsker) entry(e electrical.Entry, m *stock.Machine) (back bool, err error) {
	yesOrNo, question := e.YesOrNo(), cmp.Or(safetyWords[e], q.session.Question(e).Ask)
	q.forget(e)
	if caution := q.session.Caution(e); caution != "" {
		fmt.Fprintf(q.out, "! %s\n", caution)
	}
	switch {
	case e == electrical.AskPlug && q.session.NeedsPlug():
		question += " Class I passes only with an earthed one."
	case e == electrical.AskPlug && m.Plate.Plug != "":
		question += " (Enter if it is " + m.Plate.Plug + " still)"
	case e == electrical.AskPlug:
		question += " (Enter if nobody can tell)"
	}
	offer := q.session.Offer(e)
	if offer != "" {
		question += fmt.Sprintf(" (Enter if it is %s, as last time)", offer)
	}
	if yesOrNo {
		question += " [y/n]"
	}
	err = q.until(question, func(answer string) error {
		if back = answer == pointBefore; back {
			return nil
		}
		if yesOrNo {
			return q.yesOrNo(e, answer)
		}
		answer = cmp.Or(answer, offer)
		if answer == "" && !q.session.MayStayEmpty(e) {
			return registry.Errorf(registry.Invalid, "an answer is needed here")
		}
		q.session.Put(e, answer)
		err := q.session.Form.Check()
		if err == nil && e == electrical.AskInstrument {
			err = q.d.Config.Safety.CheckInstrument(answer, q.d.Now().In(q.d.Config.Location()))
		}
		if err != nil {
			q.session.Put(e, "")
		}
		var refusal *registry.Error
		if errors.As(err, &refusal) && refusal.Field == string(electrical.AskEarth) &&
			e != electrical.AskEarth {
			err = registry.Errorf(registry.Conflict, "%s; back goes there", refusal.Message)
		}
		return err
	})
	return back, err
}

// yesOrNo takes one of the two; Enter is neither.
func (q *safetyAsker) yesOrNo(e electrical.Entry, answer string) error {
	said := electrical.No
	switch strings.ToLower(answer) {
	case "y", "yes":
		said = electrical.Yes
	case "n", "no":
	default:
		return registry.Errorf(registry.Invalid, "type y or n")
	}
	switch {
	case said == electrical.No && e == electrical.AskLongCord:
		return registry.Errorf(registry.Invalid, "back goes to the length: measure it again")
	case said == electrical.No && e == electrical.AskSwitchOn:
		return electrical.SwitchWanted()
	}
	q.session.Put(e, said)
	return nil
}
