package labels

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"unicode"

	"pitman/labels/letters"
)

// Face is what stands on a label or slip, whatever its size: everything printed and nothing else.
type Face struct {
	Headline string `json:"headline"` // the tag or place, in large type
	Payload  string `json:"payload"`  // of the QR symbol; "" for none
	Band     *Band  `json:"band,omitempty"`
	Lines    []Line `json:"lines"` // the most important first
	OnMetal  bool   `json:"on_metal,omitempty"`

	tagged bool   // the headline is a tag, which stays on one row
	drive  string // the key of the band on a lasting label
	old    []Line // the lines in the order in which earlier programs had them
}

// Line is one statement on a label. It may take several rows of type where there is room.
type Line struct {
	Text    string `json:"text"`
	Strong  bool   `json:"strong,omitempty"`
	Caution bool   `json:"caution,omitempty"` // never left out: a label too small for it is refused

	Needed  bool   `json:"-"` // never left out, though no caution
	Name    string `json:"-"` // of what is stated, such as "year"
	Finding bool   `json:"-"` // one of several points to mend: where some are left out, that is said
}

// drawable refuses what no font of this computer can draw, and names the letters.
func (f *Face) drawable() error {
	faults := []error{drawable(f.Headline, letters.Bold)}
	if f.Band != nil {
		faults = append(faults, drawable(f.Band.Word, letters.Bold))
	}
	for _, l := range f.Lines {
		faults = append(faults, drawable(l.Text, l.face()))
	}
	for _, err := range faults {
		if err != nil {
			return fmt.Errorf("%s: %w", f.Headline, err)
		}
	}
	return nil
}

// Drawable refuses a text with letters that no font of this computer draws. It names them: a label or paper
// that lacks a letter, or has another in its place, misleads.
func Drawable(text string) error { return drawable(letters.Clean(text), letters.Bold) }

func drawable(text string, in *letters.Face) error {
	lacks := in.Missing(text)
	if len(lacks) == 0 {
		return nil
	}
	var each []string
	script := ""
	for _, r := range lacks[:min(len(lacks), 6)] {
		each = append(each, fmt.Sprintf("%q", string(r)))
		script = cmp.Or(script, letters.Script(r))
	}
	what := "with them"
	if script != "" {
		what = "for " + script + " letters"
	}
	return fmt.Errorf("%q has letters that no font of this computer draws, %s: install a font %s, or write "+
		"it in other letters",
		text, strings.Join(each, ", "), what)
}

// Symbol is the QR symbol of the payload, or nil if there is none.
func (f *Face) Symbol(s *Scheme) (Symbol, error) {
	if f.Payload == "" {
		return nil, nil
	}
	return encode(f.Payload, s.QRLevel)
}

// Test is the date and the initials of whoever did a test; the zero value is a test not done.
type Test struct{ On, By string }

func (t Test) done() bool { return t.On != "" }

func (t Test) String() string { return strings.TrimSpace(t.On + " " + t.By) }

// Machine is what stands on a machine's lasting label. Stage is not on it: it changes with every move and has
// a slip.
type Machine struct {
	Tag, Maker, Model, Serial string
	Year                      string // "1926", "1921–1925", "after 1876" or "year unknown"
	Drive                     string // a key of Drives
	Tested                    Test   // function test passed
	Safety                    Test   // electrical safety test passed
	Mains                     bool   // it has a mains lead, so it needs a safety test
	SafetyFailed              bool   // its last safety test, if that was not passed since
}

// Face lays down what is printed, in the words of the scheme: what people look for first comes first.
func (m Machine) Face(s *Scheme) (*Face, error) {
	f, err := newFace(s, m.Tag, s.Drive, m.Drive, "drive", Drives)
	if err != nil {
		return nil, err
	}
	f.OnMetal = true
	if m.Mains && !m.Safety.done() {
		f.doNotPlugIn(m.SafetyFailed)
	}
	f.say("year", true, m.Year)
	f.say("maker", true, strings.TrimSpace(m.Maker+" "+m.Model))
	f.say("serial", false, serialLine(m.Serial))
	if m.Tested.done() {
		f.say("tested", false, "tested "+m.Tested.String())
	}
	// The label repeats what a competent person recorded; it never calls a machine safe by itself.
	if m.Mains && m.Safety.done() {
		f.say("safety", false, "safety tested "+m.Safety.String())
	}
	f.drive = m.Drive
	f.old = m.oldLines()
	f.say("if_found", false, s.IfFound)
	return f, nil
}

func serialLine(serial string) string {
	if serial == "" {
		return "no serial number"
	}
	return "No. " + serial
}

// Slip says where a machine stands in its work today. It lies by the machine and is replaced at its next
// move. After a function test that found something it tells what, and says nothing of who worked on it.
type Slip struct {
	Tag, Maker, Model, Serial string
	Stage                     string // a key of Stages
	Since                     string // date
	Place                     string
	Note                      string // such as why it is held
	Base                      bool   // a treadle base, which has no serial number
	Faults                    []Fault
	Points                    int    // of the test that found them; 0 where it is not known
	Tested                    string // date of that test
	DoNotPlugIn               bool
	SafetyFailed              bool // its last safety test: why it must not be plugged in
}

// Fault is one point of a function test that needs another look.
type Fault struct{ Point, Finding string }

// Face lays down what is printed: why it waits and what is to be done before what it is, which the tag says.
func (m Slip) Face(s *Scheme) (*Face, error) {
	f, err := newFace(s, m.Tag, s.Stage, m.Stage, "stage", Stages)
	if err != nil {
		return nil, err
	}
	if m.DoNotPlugIn {
		f.doNotPlugIn(m.SafetyFailed)
	}
	f.say("note", true, m.Note)
	if len(m.Faults) > 0 {
		f.say("faults", true, m.toDo())
		for _, fault := range m.Faults {
			f.say("faults", false, "• "+strings.TrimSuffix(fault.Point+": "+fault.Finding, ": "))
			f.Lines[len(f.Lines)-1].Finding = true
		}
	}
	f.say("maker", len(m.Faults) == 0 && m.Note == "", strings.TrimSpace(m.Maker+" "+m.Model))
	if m.Base {
		f.say("kind", false, aBase)
	} else {
		f.say("serial", false, serialLine(m.Serial))
	}
	f.say("place", false, m.Place)
	if m.Since != "" {
		f.say("since", false, "since "+m.Since)
	}
	return f, nil
}

// toDo counts what is left; how near that is to the end, nobody knows.
func (m Slip) toDo() string {
	n := len(m.Faults)
	text := fmt.Sprintf("%d of %d points to do", n, m.Points)
	switch {
	case m.Points < n && n == 1:
		text = "1 point to do"
	case m.Points < n:
		text = fmt.Sprintf("%d points to do", n)
	}
	if m.Tested != "" {
		text += " · check " + m.Tested
	}
	return text
}

// Base is a treadle base's lasting label.
type Base struct {
	Tag      string
	Name     string   // maker and pattern, as far as known
	Measures []string // such as "opening 375 × 180 mm"
	Weight   string   // such as "24.5 kg"; empty when not weighed
	Heavy    bool     // not for one person
}

// Face lays down what is printed. Heavy iron gets a caution where hands meet it.
func (b Base) Face(s *Scheme) (*Face, error) {
	f, err := newFace(s, b.Tag, nil, "", "", nil)
	if err != nil {
		return nil, err
	}
	f.OnMetal = true
	weight := strings.TrimSpace(b.Weight + " cast iron")
	if b.Heavy {
		f.caution("lift", weight+": two people lift")
	}
	f.say("maker", true, b.Name)
	f.say("kind", b.Name == "", aBase)
	for _, m := range b.Measures {
		f.say("measures", false, m)
	}
	if !b.Heavy {
		f.say("weight", false, weight)
	}
	f.old = slices.Clone(f.Lines)
	f.say("if_found", false, s.IfFound)
	return f, nil
}

const aBase = "treadle base"

// Blank is a tag that is printed before it is known what it will hang on.
type Blank struct{ Tag string }

// Face lays down what is printed.
func (b Blank) Face(s *Scheme) (*Face, error) {
	f, err := newFace(s, b.Tag, nil, "", "", nil)
	if err != nil {
		return nil, err
	}
	f.OnMetal = true
	f.say("if_found", false, s.IfFound)
	return f, nil
}

// Shelf is the label of a place.
type Shelf struct {
	Place string
	Code  string // by which a scanner knows it
	About string
}

// Face lays down what is printed. Its QR symbol holds the code and not the name: scanners type the letters of
// a name in ways of their own, and that would be another place.
func (p Shelf) Face(*Scheme) (*Face, error) {
	name := letters.Clean(p.Place)
	if name == "" {
		return nil, fmt.Errorf("place %q has nothing that can be printed: type its name", p.Place)
	}
	if strings.ContainsFunc(p.Place, unicode.IsControl) {
		return nil, fmt.Errorf("place %q holds a control character: type plain text on one line", p.Place)
	}
	payload, err := payloadFor("", p.Code)
	if err != nil {
		return nil, err
	}
	f := &Face{Headline: name, Payload: payload}
	f.say("about", false, p.About)
	f.say("code", false, p.Code)
	return f, nil
}

func newFace(s *Scheme, tag string, bands map[string]Band, key, kind string, keys []string) (*Face, error) {
	payload, err := payloadFor(s.BaseURL, tag)
	if err != nil {
		return nil, err
	}
	f := &Face{Headline: tag, Payload: payload, tagged: true}
	if kind != "" {
		b, ok := bands[key]
		if !ok {
			return nil, fmt.Errorf("%s %q has no band in the scheme: type one of %s", kind, key,
				strings.Join(keys, ", "))
		}
		b.Word = letters.Clean(b.Word)
		f.Band = &b
	}
	return f, nil
}

// say adds a line if there is something to say.
func (f *Face) say(name string, strong bool, text string) {
	if text = letters.Clean(text); text != "" {
		f.Lines = append(f.Lines, Line{Name: name, Text: text, Strong: strong})
	}
}

const (
	notTested  = "do not plug in: not safety tested"
	testFailed = "do not plug in: failed its safety test"
)

func (f *Face) doNotPlugIn(failed bool) {
	text := notTested
	if failed {
		text = testFailed
	}
	f.caution("safety", text)
}

func (f *Face) caution(name, text string) {
	f.Lines = append(f.Lines, Line{Name: name, Text: text, Strong: true, Caution: true})
}
