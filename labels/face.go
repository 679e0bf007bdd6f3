package labels

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"strings"
	"unicode"
)

// Face is what stands on a label or slip, whatever its size: everything printed and nothing else.
type Face struct {
	Headline string `json:"headline"` // the tag or place, in large type
	Payload  string `json:"payload"`  // of the QR symbol; "" for none
	Band     *Band  `json:"band,omitempty"`
	Lines    []Line `json:"lines"` // the most important first
	OnMetal  bool   `json:"on_metal,omitempty"`

	tagged  bool // the headline is a tag, which stays on one row
	mayDrop bool // lines past the end of the label may be counted instead of printed
}

// Line is one statement on a label. It may take several lines of type where there is room.
type Line struct {
	Text    string `json:"text"`
	Strong  bool   `json:"strong,omitempty"`
	Caution bool   `json:"caution,omitempty"` // never cut: a label too small for it is refused

	spare bool // left out sooner than another line is cut
}

// Fingerprint stands for everything printed. A registry keeps it with each print: when it differs from the present face's,
// the label on the machine is stale.
func (f *Face) Fingerprint() string {
	text, err := json.Marshal(f)
	if err != nil {
		panic(err) // strings and bools only
	}
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:8])
}

// Test is the date and the initials of whoever did a test; the zero value is a test not done.
type Test struct{ On, By string }

func (t Test) done() bool { return t.On != "" }

func (t Test) String() string { return strings.TrimSpace(t.On + " " + t.By) }

// Machine is what stands on a machine's lasting label. Stage is not on it: it changes with every move and has a slip.
type Machine struct {
	Tag, Maker, Model, Serial string
	Year                      string // "1926", "1921–1925", "after 1876" or "year unknown"
	Drive                     string // a key of Drives
	Tested                    Test   // function test passed
	Safety                    Test   // electrical safety test passed
	Mains                     bool   // it has a mains lead, so it needs a safety test
}

// Face lays down what is printed, in the words of the scheme.
func (m Machine) Face(s *Scheme) (*Face, error) {
	f, err := newFace(s, m.Tag, s.Drive, m.Drive, "drive", Drives)
	if err != nil {
		return nil, err
	}
	f.OnMetal = true
	if m.Mains && !m.Safety.done() {
		f.caution(doNotPlugIn)
	}
	f.say(true, strings.TrimSpace(m.Maker+" "+m.Model))
	f.say(false, serialLine(m.Serial))
	f.say(false, m.Year)
	if m.Tested.done() {
		f.say(false, "tested "+m.Tested.String())
	}
	// The label repeats what a competent person recorded; it never calls a machine safe by itself.
	if m.Mains && m.Safety.done() {
		f.say(false, "safety tested "+m.Safety.String())
	}
	return f, nil
}

func serialLine(serial string) string {
	if serial == "" {
		return "no serial number"
	}
	return "No. " + serial
}

// Slip says where a machine stands in its work today. It lies by the machine and is replaced at its next move. After a
// function test that found something it tells what, and says nothing of who worked on it.
type Slip struct {
	Tag, Maker, Model, Serial string
	Stage                     string // a key of Stages
	Since                     string // date
	Place                     string
	Note                      string // such as why it is held
	Base                      bool   // a treadle base, which has no serial number
	Faults                    []Fault
	Tested                    string // date of the test that found them
	DoNotPlugIn               bool
}

// Fault is one point of a function test that needs another look.
type Fault struct{ Point, Finding string }

// Face lays down what is printed.
func (m Slip) Face(s *Scheme) (*Face, error) {
	f, err := newFace(s, m.Tag, s.Stage, m.Stage, "stage", Stages)
	if err != nil {
		return nil, err
	}
	if m.DoNotPlugIn {
		f.caution(doNotPlugIn)
	}
	if len(m.Faults) > 0 {
		f.mayDrop = true
		f.say(true, strings.TrimSpace("nearly there · check "+m.Tested))
		for _, fault := range m.Faults {
			f.say(false, "• "+strings.TrimSuffix(fault.Point+": "+fault.Finding, ": "))
		}
	}
	identity := len(f.Lines)
	f.say(len(m.Faults) == 0, strings.TrimSpace(m.Maker+" "+m.Model))
	if m.Base {
		f.say(false, aBase)
	} else {
		f.say(false, serialLine(m.Serial))
	}
	f.say(false, m.Note)
	if m.Since != "" {
		f.say(false, "since "+m.Since)
	}
	f.say(false, m.Place)
	for i := identity; i < len(f.Lines); i++ {
		f.Lines[i].spare = len(m.Faults) > 0 // the tag says which machine it is
	}
	return f, nil
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
		f.caution(weight + ": two people lift")
	}
	f.say(true, b.Name)
	f.say(b.Name == "", aBase)
	for _, m := range b.Measures {
		f.say(false, m)
	}
	if !b.Heavy {
		f.say(false, weight)
	}
	return f, nil
}

const aBase = "treadle base"

// Shelf is the label of a place.
type Shelf struct {
	Place string
	About string
}

// Face lays down what is printed. Its QR symbol holds the place's name, for moving machines by scan: the name itself, since
// letters that the typeface lacks would lead to another place.
func (p Shelf) Face(*Scheme) (*Face, error) {
	name := readable(p.Place)
	if name == "" {
		return nil, fmt.Errorf("place %q has nothing that can be printed: type its name", p.Place)
	}
	if strings.ContainsFunc(p.Place, unicode.IsControl) {
		return nil, fmt.Errorf("place %q holds a control character: type plain text on one line", p.Place)
	}
	f := &Face{Headline: name, Payload: strings.TrimSpace(p.Place)}
	f.say(false, p.About)
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
			return nil, fmt.Errorf("%s %q has no band in the scheme: type one of %s", kind, key, strings.Join(keys, ", "))
		}
		b.Word = readable(b.Word)
		f.Band = &b
	}
	return f, nil
}

// say adds a line if there is something to say.
func (f *Face) say(strong bool, text string) {
	if text = readable(text); text != "" {
		f.Lines = append(f.Lines, Line{Text: text, Strong: strong})
	}
}

const doNotPlugIn = "do not plug in: not safety tested"

func (f *Face) caution(text string) {
	f.Lines = append(f.Lines, Line{Text: text, Strong: true, Caution: true})
}
