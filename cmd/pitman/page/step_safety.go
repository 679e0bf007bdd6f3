package page

import (
	"cmp"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/electrical"
	"pitman/registry/pin"
	"pitman/registry/stock"
)

// The look at the visual points is the first page of a safety test; "" is the last, where all of it is shown
// and recorded.
const lookFirst electrical.Entry = "look"

// safetyTest asks a competent person for a safety test, one page after another as the session says: what was
// answered travels in the pages, and nothing is recorded before the last.
func safetyTest(s *Server, v *visit, m *stock.Machine) (*form, error) {
	if _, err := s.MayTestSafety(v.ctx(), v.by, m.Tag); err != nil {
		return nil, err
	}
	last, err := s.LastForm(v.ctx(), m.Tag)
	if err != nil {
		return nil, err
	}
	t := &safetyPage{Server: s, m: m,
		session: electrical.Session{Rules: s.Config.Safety, Plate: m.Plate, Last: last}}
	if _, work, err := s.MayLookAlone(v.ctx(), v.by, m.Tag); err == nil {
		t.means = bench.LookMeans(s.LocalDay(m.PausedAt), work)
	}
	f := &form{Title: fmt.Sprintf("%s: electrical safety test", m.Tag), Measured: true}
	next, err := lookFirst, error(nil)
	if v.Method == http.MethodPost {
		if err := v.parse(); err != nil {
			return nil, err
		}
		next, err = t.take(answers(v.PostForm))
	}
	if err != nil {
		if registry.CodeOf(err) == "" {
			return nil, err
		}
		s.refuseForm(v.ctx(), f, err)
	}
	if err := t.show(v, f, next); err != nil {
		return nil, err
	}
	return f, nil
}

// safetyPage is a safety test as far as it was taken down on pages.
type safetyPage struct {
	*Server
	m       *stock.Machine
	session electrical.Session
	sent    answers
	means   string // what a look alone is good for here; "" where it is not enough
	alone   bool   // only the visual points are looked at
}

// lookAlone is the field of that choice.
const lookAlone = "look-alone"

// take reads what was sent, and says what is asked next.
func (t *safetyPage) take(a answers) (next electrical.Entry, err error) {
	t.sent = a
	back := electrical.Entry(a.get("back"))
	if shown := a.get("shown"); back != "" && a.get(shown) == "" {
		delete(a, shown) // who goes back has not answered what was asked last
	}
	if t.alone = a.get(lookAlone) == electrical.Yes; back == lookFirst {
		return lookFirst, nil
	}
	t.session.Form.Visual = "pass"
	for _, p := range electrical.VisualPoints() {
		if refused := t.session.Look(p.Key, a.get("look-"+p.Key), a.get("fault-"+p.Key)); refused != nil &&
			err == nil {
			err = refused
		}
	}
	if err != nil || t.alone {
		return map[bool]electrical.Entry{true: lookFirst}[err != nil], err
	}
	next, err = t.session.Resume(t.Now().In(t.Config.Location()), func(e electrical.Entry) (string, bool) {
		_, answered := a[string(e)]
		return a.get(string(e)), answered && e != back
	})
	if shown := a.get("shown"); err != nil && shown != string(next) && a.get(shown) == electrical.No {
		delete(a, shown) // a no that leads back is asked again
	}
	if next == electrical.AskClass { // it stands on the page of the look
		if next = lookFirst; err == nil {
			err = t.session.Answer(electrical.AskClass, "", t.Now())
		}
	}
	return next, err
}

// show makes the page of what is asked next.
func (t *safetyPage) show(v *visit, f *form, next electrical.Entry) error {
	refused := f.Refused
	f.Cautions = []string{registry.CautionMains.Text()}
	said, err := t.Suspect(v.ctx(), t.m.Tag)
	if err != nil {
		return err
	}
	f.Cautions = append(f.Cautions, said...)
	f.Asking, f.Button = true, "On with the test"
	switch next {
	case lookFirst:
		f.Notes = []string{registry.SafetyCaution,
			"Look at each, with the plug out of its socket. Nothing is " +
				"recorded before the last page."}
		for _, p := range electrical.VisualPoints() {
			f.Fields = append(f.Fields,
				field{Name: "look-" + p.Key, FaultName: "fault-" + p.Key, Label: p.Ask,
					Kind: "point"})
		}
		if t.means != "" {
			f.Notes = append(f.Notes, t.means)
			f.Fields = append(f.Fields, field{Name: lookAlone, Label: bench.AskLookAlone, Kind: "pick",
				Maybe: true, Picks: []pick{{"", "the whole test"}, {electrical.Yes, "a look alone"}}})
		}
		class := t.question(electrical.AskClass)
		class.Maybe = class.Maybe || t.means != "" // a look alone needs none
		f.Fields = append(f.Fields, class)
		f.fill(t.sent)
		for i := range f.Fields {
			if one := &f.Fields[i]; f.About != "" && strings.TrimPrefix(one.Name, "look-") == f.About {
				one.Fault = refused
			}
		}
	case "":
		f.Asking = t.sent.get("record") == "" || refused != ""
		f.Button = "Record this test"
		f.Hidden = append(f.Hidden, carried{"record", "yes"})
		f.Notes = []string{registry.SafetyCaution}
		f.do = t.record
	default:
		f.Said = t.said(next)
		f.Fields = []field{t.question(next)}
		if _, before := t.sent[string(next)]; before {
			f.fill(t.sent)
		}
		if refused != "" {
			f.Fields[0].Fault = refused
		}
		f.Hidden = append(f.Hidden, carried{"shown", string(next)})
	}
	t.carry(f, next)
	return nil
}

// question is an entry of the test as a field.
func (t *safetyPage) question(e electrical.Entry) field {
	q := t.session.Question(e)
	one := field{Name: string(e), Label: q.Ask, Hint: q.Hint, Maybe: t.session.MayStayEmpty(e),
		Caution: t.session.Caution(e), Kind: "text"}
	for _, p := range q.Picks {
		one.Kind = "pick"
		one.Picks = append(one.Picks, pick{p.Value, p.Says})
	}
	if one.Maybe && one.Kind == "pick" {
		one.Picks = append(one.Picks, pick{"", "not said"})
	}
	if offer := t.session.Offer(e); offer != "" && one.Kind == "text" {
		one.Value, one.Hint = offer,
			strings.TrimSpace("As last time: put it right if it is not so now. "+one.Hint)
	}
	return one
}

// said is what follows from the answer just given.
func (t *safetyPage) said(next electrical.Entry) *electrical.Taken {
	taken := t.session.Taken(next)
	for i := range slices.Backward(taken) {
		if one := taken[i]; one.Verdict != "" && (string(one.Entry) == t.sent.get("shown") ||
			one.Entry == electrical.AskEarth && t.sent.get("shown") == string(electrical.AskCordArea)) {
			return &one
		}
	}
	return nil
}

// carry lists what was taken down, each with a way back to it, and sends it along, so that nothing typed is
// lost: what was answered behind a page that somebody goes back to, too.
func (t *safetyPage) carry(f *form, next electrical.Entry) {
	asked := map[string]bool{}
	for _, one := range f.Fields {
		asked[one.Name], asked[one.FaultName] = true, true
	}
	names := []string{lookAlone}
	for _, p := range electrical.VisualPoints() {
		names = append(names, "look-"+p.Key, "fault-"+p.Key)
	}
	for _, e := range electrical.Entries() {
		names = append(names, string(e))
	}
	for _, name := range names {
		if _, sent := t.sent[name]; sent && !asked[name] {
			f.Hidden = append(f.Hidden, carried{name, t.sent.get(name)})
		}
	}
	if next == lookFirst {
		return
	}
	if t.alone {
		f.Taken = []electrical.Taken{{Entry: lookFirst, Ask: "The look alone", Says: cmp.Or(t.session.Seen(),
			"every point is right")}}
		return
	}
	look := electrical.Taken{Entry: lookFirst, Ask: "The look", Says: "every point is right"}
	if seen := t.session.Seen(); seen != "" {
		look.Says, look.Verdict, look.Failed = seen, "FAIL", true
	}
	f.Taken = append([]electrical.Taken{look}, t.session.Taken(next)...)
	if i := slices.IndexFunc(f.Taken,
		func(one electrical.Taken) bool { return one.Entry == electrical.AskClass }); i >= 0 {
		f.Taken[i].Entry = lookFirst // where it is asked
	}
}

// record keeps the test as it was taken down. Over the network a pass is signed each time.
func (t *safetyPage) record(v *visit, _ answers) (done, error) {
	keep := t.Safety
	if t.alone {
		keep = t.LookAlone
	}
	m, test, err := keep(pin.Always(v.ctx()), v.by, t.m.Tag, t.session.Form)
	if err != nil {
		return done{}, err
	}
	if !test.Revives.IsZero() {
		return done{said: fmt.Sprintf("Looked at by %s: the pass of %s stands again. %s", test.By,
			t.LocalDay(test.Revives), m.WhereNow())}, nil
	}
	if test.Pass {
		return done{said: fmt.Sprintf("Every point passed, recorded by %s. %s", test.By, m.WhereNow())}, nil
	}
	return done{said: fmt.Sprintf("Recorded: held. %s", test.Hold)}, nil
}
