package electrical

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"pitman/registry"
)

// Question is how an entry is asked, whichever front end puts it: one of a few answers, or a figure.
type Question struct {
	Ask, Hint string
	Picks     []Pick // none where a figure or a letter is typed
}

// Pick is one answer of a few, and what it means.
type Pick struct{ Value, Says string }

// Yes and No answer an entry that has no other answers.
const (
	Yes = "yes"
	No  = "no"
)

var yesOrNo = []Pick{{Yes, "yes"}, {No, "no"}}

var more = Question{Picks: yesOrNo,
	Ask: "It has failed, and will be held. Take down the other dead readings, too, to save a second round?"}

var questions = map[Entry]Question{
	AskClass: {Ask: "Which class is it?", Picks: []Pick{
		{"I", "class I: an earth wire to the bare metal"},
		{"II", "class II: double insulated, two squares on the plate"},
		{"III", "class III: at most 50 V a.c., from an adapter"},
		{"none", "none: bare metal on a two-core cord"},
		{"unknown", "nobody can tell"}}},
	AskUse: {Ask: "Is it carried about?", Picks: []Pick{
		{usePortable, "portable: one person carries it"},
		{useStationary, "stationary: 18 kg or more, or mounted"}}},
	AskElectronics: {Ask: "Has it circuit boards?", Picks: yesOrNo},
	AskSurge:       {Ask: "Has it surge protection?", Picks: yesOrNo},
	AskInstrument:  {Ask: "Instrument", Hint: "One of the house's list."},
	AskEarth:       {Ask: "Earth", Hint: "Ohms, measured at the plug's own pin."},
	AskCordLength:  {Ask: "Cord length", Hint: "Metres."},
	AskLongCord: {Ask: "A cord above 5 m is unusual. Measured again, and right?",
		Picks: yesOrNo},
	AskCordArea: {Ask: "Conductor area",
		Hint: "Square millimetres, as printed on the cord, or AWG 18."},
	AskMore:    more,
	AskMoreYet: more,
	AskPlug:    {Ask: "Plug type"},
	AskPolarity: {Ask: "Polarity", Picks: []Pick{{"pass", "right way round"},
		{"fail", "wrong way round"}, {"n/a", "does not apply: the plug fits either way round"}}},
	AskFuse: {Ask: "Fuse in plug", Hint: "Amperes, or n/a for a plug without one."},
	AskVolts250: {Ask: "Insulation at which voltage?", Picks: []Pick{{"500", "500 V d.c."},
		{"250", "250 V d.c., as surge protection and electronics ask for"}}},
	AskSwitchOn: {Picks: yesOrNo,
		Ask: "Insulation is measured with the switch on and the pedal pressed. Was it?"},
	AskInsulation: {Ask: "Insulation", Hint: "Megohms, measured."},
	AskLeakage:    {Ask: "Leakage", Hint: "Milliamperes, measured."},
	AskAdapter: {Ask: "Adapter: case and cord whole, two squares on its plate, right output?",
		Picks: []Pick{{"pass", "right"}, {"fail", "not right"}}},
	AskVolts: {Ask: "Plate: volts", Hint: "As it reads, such as 220-240, or unknown."},
	AskHertz: {Ask: "Plate: hertz", Hint: "As it reads, such as 50/60, or unknown."},
	AskWatts: {Ask: "Plate: watts", Hint: "As it reads, or unknown."},
	AskMotor: {Ask: "Which motor?", Picks: []Pick{{"brush", "with brushes"}, {"induction", "induction"},
		{"unknown", "nobody can tell"}}},
}

// Question is how an entry is asked now.
func (s Session) Question(e Entry) Question {
	q := questions[e]
	switch e {
	case AskPlug:
		q.Hint = "A letter, A to O, by IEC World Plugs; class I passes only with an earthed one, named."
		if s.Plate.Plug != "" {
			q.Hint = "Leave it empty if it is type " + s.Plate.Plug + " still. " + q.Hint
		}
	case AskInstrument:
		for _, in := range s.Rules.Instruments {
			q.Picks = append(q.Picks, Pick{in.ID, in.ID})
		}
	}
	return q
}

// MayStayEmpty says whether an entry may be left without an answer: the plate cannot always be read.
func (s Session) MayStayEmpty(e Entry) bool {
	switch e {
	case AskHertz, AskWatts, AskMotor, AskUse: // whoever says nothing of its use has it judged as portable
		return true
	case AskPlug:
		return !s.NeedsPlug()
	case AskVolts:
		return !s.ExtraLow()
	}
	return false
}

// Caution is to be read before an entry is answered; "" where there is none.
func (s Session) Caution(e Entry) string {
	switch {
	case e == AskLeakage:
		return CautionLive
	case e == AskVolts250, e == AskSwitchOn && (s.Form.Electronics || s.Form.Surge):
		return registry.ElectronicsWarning
	}
	return ""
}

// Look takes down what was seen at a visual point: sound, or its fault.
func (s *Session) Look(point, answer, fault string) error {
	switch answer {
	case Yes:
		return nil
	case No:
	default:
		return registry.Errorf(registry.Invalid, "%s was not looked at: look at it, and answer yes or no",
			strings.ReplaceAll(point, "-", " ")).On(point)
	}
	if registry.Blank(fault) {
		return registry.Errorf(registry.Invalid, "say what is wrong with the %s, such as cut near the plug",
			strings.ReplaceAll(point, "-", " ")).On(point)
	}
	s.Saw(point, fault)
	return nil
}

// Saw takes down the fault of a visual point as it is.
func (s *Session) Saw(point, fault string) {
	if s.Form.VisualFaults == nil {
		s.Form.VisualFaults = map[string]string{}
	}
	s.Form.VisualFaults[point], s.Form.Visual = fault, "fail"
}

// Seen says which visual points have which fault; "" where none has.
func (s Session) Seen() string { return when(len(s.Form.VisualFaults) > 0, s.Form.visualFaults()) }

// Answer takes down the answer to an entry, on that day, and refuses at once what cannot be meant: nobody
// measures all of it to hear at the end of a slip.
func (s *Session) Answer(e Entry, typed string, on time.Time) error {
	typed = strings.TrimSpace(typed)
	if typed == "" {
		if s.MayStayEmpty(e) {
			s.Put(e, "")
			return nil
		}
		return registry.Errorf(registry.Invalid, "%s is missing: an answer is needed here", e).On(string(e))
	}
	q := s.Question(e)
	if e != AskInstrument && len(q.Picks) > 0 &&
		!slices.ContainsFunc(q.Picks, func(p Pick) bool { return p.Value == typed }) {
		return registry.Errorf(registry.Invalid, "%s %q is no answer: choose one of those shown", e,
			typed).On(string(e))
	}
	switch {
	case e == AskSwitchOn && typed == No:
		return SwitchWanted()
	case e == AskLongCord && typed == No:
		return registry.Errorf(registry.Conflict, "cord length %q is not sure: measure it again",
			s.Form.CordLength).On(string(AskCordLength))
	case e == AskInstrument:
		if err := s.Rules.CheckInstrument(typed, on); err != nil {
			return err
		}
	}
	s.Put(e, typed)
	return s.Form.Check()
}

// Put takes down an answer as it is.
func (s *Session) Put(e Entry, answer string) {
	switch text, yes := e.answer(); {
	case text != nil:
		*text(s) = answer
	case yes == nil:
	case e == AskMore || e == AskMoreYet: // whoever wants no more has enough
		*yes(s) = answer == No
	default:
		*yes(s) = answer == Yes
	}
}

// Given says whether an entry has an answer: a text, or a yes.
func (s Session) Given(e Entry) bool {
	text, yes := e.answer()
	return text != nil && *text(&s) != "" || yes != nil && *yes(&s)
}

// TakeOver takes the answer to an entry from another session.
func (s *Session) TakeOver(e Entry, from Session) {
	if text, yes := e.answer(); text != nil {
		*text(s) = *text(&from)
	} else if yes != nil {
		*yes(s) = *yes(&from)
	}
}

// YesOrNo says whether an entry is answered by one of these two.
func (e Entry) YesOrNo() bool {
	_, yes := e.answer()
	return yes != nil
}

// Resume takes down, in the order of the test, what was answered so far, and says what is asked next: ""
// where nothing is left. An answer that cannot be meant is refused, and what it is about is asked next. What
// was answered to entries that are not asked any more says nothing.
func (s *Session) Resume(on time.Time, answered func(Entry) (string, bool)) (next Entry, err error) {
	for _, e := range Entries() {
		if !s.Asks(e) {
			continue
		}
		typed, ok := answered(e)
		if !ok {
			return e, nil
		}
		if err := s.Answer(e, typed, on); err != nil {
			if field := registry.FieldOf(err); field != "" && field != string(e) &&
				slices.Contains(Entries(), Entry(field)) {
				return Entry(field), err
			}
			return e, err
		}
	}
	return "", nil
}

// Taken is one answer that was taken down, with what it says and what follows from it.
type Taken struct {
	Entry              Entry
	Ask, Says, Verdict string
	Failed             bool
}

// Taken lists what was taken down before an entry is asked, or all of it for "".
func (s Session) Taken(next Entry) (list []Taken) {
	for _, e := range Entries() {
		if e == next {
			break
		}
		if !s.Asks(e) {
			continue
		}
		q, one := s.Question(e), Taken{Entry: e, Verdict: s.Verdict(e)}
		one.Ask, one.Says, one.Failed = q.Ask, s.said(e), strings.HasPrefix(one.Verdict, "FAIL")
		list = append(list, one)
	}
	return list
}

// said is an answer in words.
func (s Session) said(e Entry) string {
	at, yes := e.answer()
	if yes != nil {
		said := *yes(&s)
		if e == AskMore || e == AskMoreYet {
			said = !said
		}
		return when(said, Yes) + when(!said, No)
	}
	text := ""
	if at != nil {
		text = *at(&s)
	}
	if text == "" && e == AskPlug && s.Plate.Plug != "" {
		return fmt.Sprintf("%s, as before", s.Plate.Plug)
	}
	for _, p := range s.Question(e).Picks {
		if p.Value == text {
			return p.Says
		}
	}
	return text + when(text == "", "not said")
}
