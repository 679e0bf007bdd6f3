package electrical

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"pitman/registry"
	"pitman/registry/measure"
)

// Entry is one thing that is taken down in a safety test, after the look at the visual points.
type Entry string

// The entries, in the order of a test: dead first, while the plug is out of its socket, and then live.
const (
	AskClass       Entry = "class"
	AskUse         Entry = "use"
	AskElectronics Entry = "electronics"
	AskSurge       Entry = "surge"
	AskInstrument  Entry = "instrument"
	AskEarth       Entry = "earth"
	AskCordLength  Entry = "cord-length"
	AskLongCord    Entry = "long-cord"
	AskCordArea    Entry = "cord-area"
	// something failed: are the other dead readings taken down, too?
	AskMore       Entry = "more"
	AskPlug       Entry = "plug"
	AskPolarity   Entry = "polarity"
	AskFuse       Entry = "fuse"
	AskMoreYet    Entry = "more-yet"
	AskVolts250   Entry = "insulation-volts"
	AskSwitchOn   Entry = "switch-on"
	AskInsulation Entry = "insulation"
	AskLeakage    Entry = "leakage"
	AskAdapter    Entry = "adapter"
	AskVolts      Entry = "volts"
	AskHertz      Entry = "hertz"
	AskWatts      Entry = "watts"
	AskMotor      Entry = "motor"
)

// entries are in the order of a test, each with where its answer stands: a text, or a yes.
var entries = []struct {
	entry Entry
	text  func(*Session) *string
	yes   func(*Session) *bool
}{
	{AskClass, func(s *Session) *string { return &s.Form.Class }, nil},
	{AskUse, func(s *Session) *string { return &s.Form.Use }, nil},
	{AskElectronics, nil, func(s *Session) *bool { return &s.Form.Electronics }},
	{AskSurge, nil, func(s *Session) *bool { return &s.Form.Surge }},
	{AskInstrument, func(s *Session) *string { return &s.Form.Instrument }, nil},
	{AskEarth, func(s *Session) *string { return &s.Form.Earth }, nil},
	{AskCordLength, func(s *Session) *string { return &s.Form.CordLength }, nil},
	{AskLongCord, nil, func(s *Session) *bool { return &s.Form.LongCord }},
	{AskCordArea, func(s *Session) *string { return &s.Form.CordArea }, nil},
	{AskMore, nil, func(s *Session) *bool { return &s.Enough }},
	{AskPlug, func(s *Session) *string { return &s.Form.Plug }, nil},
	{AskPolarity, func(s *Session) *string { return &s.Form.Polarity }, nil},
	{AskFuse, func(s *Session) *string { return &s.Form.Fuse }, nil},
	{AskMoreYet, nil, func(s *Session) *bool { return &s.EnoughYet }},
	{AskVolts250, func(s *Session) *string { return &s.Form.InsulationVolts }, nil},
	{AskSwitchOn, nil, func(s *Session) *bool { return &s.Form.SwitchOn }},
	{AskInsulation, func(s *Session) *string { return &s.Form.Insulation }, nil},
	{AskLeakage, func(s *Session) *string { return &s.Form.Leakage }, nil},
	{AskAdapter, func(s *Session) *string { return &s.Form.Adapter }, nil},
	{AskVolts, func(s *Session) *string { return &s.Form.Volts }, nil},
	{AskHertz, func(s *Session) *string { return &s.Form.Hertz }, nil},
	{AskWatts, func(s *Session) *string { return &s.Form.Watts }, nil},
	{AskMotor, func(s *Session) *string { return &s.Form.Motor }, nil},
}

// answer is where the answer to an entry stands: a text or a yes, the other is nil.
func (e Entry) answer() (text func(*Session) *string, yes func(*Session) *bool) {
	for _, one := range entries {
		if one.entry == e {
			return one.text, one.yes
		}
	}
	return nil, nil
}

// Entries lists them in the order of a test.
func Entries() []Entry {
	list := make([]Entry, len(entries))
	for i, e := range entries {
		list[i] = e.entry
	}
	return list
}

// Session is a safety test while it is taken down, one answer after another. Whoever asks at the bench asks
// it what comes next, so that nobody is asked to switch on what has failed.
type Session struct {
	Rules SafetyRules
	Plate Nameplate  // what is known of the machine from before
	Last  SafetyForm // what tests before said of cord and fuse
	Form  SafetyForm
	// something failed, and no other reading is wanted: said after the earth, and after the plug
	Enough, EnoughYet bool
}

// Asks says whether an entry is asked, by what was answered before it. What was answered behind it, before
// somebody went back, says nothing.
func (s Session) Asks(entry Entry) bool {
	s = s.before(entry)
	if entry == AskClass {
		return true
	}
	if s.Form.tidy() != nil || s.Form.Visual != "pass" {
		return false
	}
	if s.Form.Class == "III" {
		return entry == AskAdapter ||
			s.Form.Adapter != "fail" &&
				slices.Contains([]Entry{AskVolts, AskHertz, AskWatts, AskMotor}, entry)
	}
	classI := s.Form.Class == "I"
	if !classI && s.Form.Class != "II" || s.Enough || s.EnoughYet || entry == AskAdapter {
		return false
	}
	failed := len(s.Failed()) > 0
	switch entry {
	case AskInstrument:
		return len(s.Rules.Instruments) > 0
	case AskUse: // what is held in the hand is carried about
		return classI && !s.Form.Handheld
	case AskEarth:
		return classI
	case AskCordLength, AskCordArea: // what is above the limit of the longest cord has failed without it
		return classI && !failed
	case AskLongCord:
		return classI && AsksLongCord(s.Form.CordLength)
	case AskMore:
		return failed
	case AskMoreYet: // it is asked once of one failure
		return failed && len(s.before(AskMore).Failed()) == 0
	case AskVolts250:
		return s.Form.Electronics || s.Form.Surge
	case AskLeakage, AskVolts, AskHertz, AskWatts, AskMotor:
		return !failed
	}
	return true
}

// Offer is what the last test says of class, cord, fuse and plate, to be taken over where it is so still;
// nothing of what is looked at or measured. Of a cord that was changed since, only the length is known.
func (s Session) Offer(entry Entry) string {
	last, err := ParseCord("cord length", s.Last.CordLength)
	changed := s.Plate.Cord.Known() && (err != nil || last != s.Plate.Cord)
	switch entry {
	case AskClass:
		if s.Last.Class == "I" || s.Last.Class == "II" || s.Last.Class == "III" {
			return s.Last.Class
		}
	case AskCordLength:
		if changed {
			return strings.TrimSuffix(Metres(s.Plate.Cord), " m")
		}
		return figure(s.Last.CordLength)
	case AskCordArea:
		return when(!changed, figure(s.Last.CordArea))
	case AskFuse:
		return s.Last.Fuse
	case AskVolts:
		return s.Plate.Volts.String()
	case AskHertz:
		return s.Plate.Hertz.String()
	case AskWatts:
		if s.Plate.Watts > 0 {
			return strconv.Itoa(s.Plate.Watts)
		}
	case AskMotor:
		return when(s.Plate.Motor != "unknown", s.Plate.Motor)
	}
	return ""
}

// figure is a reading that is one.
func figure(reading string) string { return when(given(reading), reading) }

// NeedsPlug says whether the letter of the plug has to be named, since nobody did before: class I passes only
// with an earthed one.
func (s Session) NeedsPlug() bool {
	f := s.Form
	return s.Plate.Plug == "" && f.tidy() == nil && f.Class == "I"
}

// ExtraLow says whether it is a test of class III, which rests on the plate.
func (s Session) ExtraLow() bool {
	f := s.Form
	return f.tidy() == nil && f.Class == "III"
}

// Forget takes back what was answered to an entry, and to what is asked after it.
func (s *Session) Forget(entry Entry) {
	plate := s.Plate
	*s = s.before(entry)
	s.Plate = plate
}

// before is the session without what is answered from an entry on.
func (s Session) before(entry Entry) Session {
	from := max(slices.Index(Entries(), entry), 0)
	for _, e := range entries[from:] {
		if e.text != nil {
			*e.text(&s) = ""
		} else {
			*e.yes(&s) = false
		}
		if e.entry == AskPlug { // the plug of before fails nothing until somebody said that it is so still
			s.Plate.Plug = ""
		}
	}
	s.Form.VisualFaults = maps.Clone(s.Form.VisualFaults) // tidying writes into it
	return s
}

// Failed says of each point that failed so far what it is.
func (s Session) Failed() []string {
	_, failed := s.judged()
	return failed
}

func (s Session) judged() (limits []Limit, failed []string) {
	tightened, err := s.Rules.Limits.Tightened()
	r := SafetyResult{Form: s.Form}
	if err != nil || r.Form.tidy() != nil || r.Form.checkFigures() != nil {
		return nil, nil
	}
	if r.Nameplate, err = r.Form.nameplate(s.Plate); err != nil || r.judgeGiven(tightened) != nil {
		return nil, nil
	}
	return r.Limits, r.failures()
}

// Verdict says whether a reading passes, in words for beside it; nothing where there is nothing to judge yet.
func (s Session) Verdict(entry Entry) string {
	limits, _ := s.judged()
	f := s.Form
	switch entry {
	case AskPolarity:
		return when(f.Polarity == "fail", "FAIL")
	case AskPlug:
		return said(f.plugFault(cmp.Or(f.Plug, s.Plate.Plug)))
	case AskFuse:
		return said(f.fuseFault())
	}
	for _, l := range limits {
		if l.What != string(entry) {
			continue
		}
		if !l.Pass {
			return fmt.Sprintf("FAIL: limit %s %v %s", l.Bound, l.Limit, l.Unit)
		}
		if entry == AskEarth && (!given(f.CordLength) || !given(f.CordArea)) {
			return "" // its limit follows from the cord
		}
		return fmt.Sprintf("pass: limit %s %v %s", l.Bound, l.Limit, l.Unit)
	}
	return ""
}

func said(fault string) string { return when(fault != "", "FAIL: "+fault) }

// CautionLive stands where a reading needs the machine switched on.
const CautionLive = "Live from here: every dead reading passed, and the machine is plugged in and switched " +
	"on. " +
	"Keep hands and metal off it while it is measured, and unplug it afterwards."

// SwitchWanted refuses an insulation reading that was taken with the switch off.
func SwitchWanted() error {
	return registry.Errorf(registry.Conflict,
		"insulation needs the switch on and the pedal pressed, or it passes falsely: measure it so and "+
			"say so").On("switch-on")
}

// judgeGiven sets each reading that is given beside its limit.
func (r *SafetyResult) judgeGiven(limits SafetyLimits) error {
	f := r.Form
	for _, one := range []struct {
		given string
		judge func(SafetyLimits) error
	}{{when(f.Class == "I", f.Earth), r.earth}, {f.Insulation, r.insulation}, {f.Leakage, r.leakage}} {
		if one.given == "" || one.given == measure.NotApplicable {
			continue
		}
		if err := one.judge(limits); err != nil {
			return err
		}
	}
	return nil
}
