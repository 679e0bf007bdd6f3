package page

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"errors"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"pitman/registry"
	"pitman/registry/electrical"
	"pitman/registry/lookup"
	"pitman/registry/sent"
)

// form is what a step asks of a person, on one page.
type form struct {
	Title    string
	Back     string // where the person goes who thinks better of it
	Warnings []string
	Cautions []string // what keeps people whole, before the first question
	Notes    []string
	Fields   []field
	Button   string
	More     []field   // what few need, behind one line
	Shown    []picture // to be looked at while answering
	Drawing  bool      // it shows where a base is measured
	Pictures bool      // it may bring pictures
	Asking   bool      // it goes on to another page of its own, and does nothing yet
	Measured bool      // its answers grow stale when something is done to the machine meanwhile
	Stale    bool      // they did
	Hidden   []carried
	Taken    []electrical.Taken // what pages before took down
	Said     *electrical.Taken  // what follows from the answer just given

	Action  string // where it is sent
	Key     string // sent with it, so that sending it twice acts once
	Seen    int64  // the last thing that had happened when the person saw the form
	Refused string
	About   string // the field that it speaks of
	Next    []nextStep
	Changed []past // what happened since

	do func(v *visit, a answers) (done, error)
}

// done says what an action brought about, and where the person goes on.
type done struct {
	said string
	to   string // the machine's page unless said
}

// field is one question of a form.
type field struct {
	Name, Label, Hint string
	Kind              string // text, area, figure, pick, choose, point, pin, check, file, shown
	Value             string
	Maybe             bool     // it may stay empty
	Offers            []string // what the house knows already
	Picks             []pick
	Fault             string // the refusal that speaks of it
	Caution           string
	Examples          []picture // of the house: what right looks like, where to measure
	MayLack           bool      // a point that may be answered n/a
	FaultName, Seen   string    // of a point: the question what was seen, and its answer
}

type pick struct{ Value, Label string }

// carried is an answer that an earlier page of the form took down.
type carried struct{ Name, Value string }

// answers are what a person typed.
type answers url.Values

func (a answers) get(name string) string {
	return strings.TrimSpace(oneLine.Replace(url.Values(a).Get(name)))
}

// oneLine makes of several lines the one that the registry keeps.
var oneLine = strings.NewReplacer("\r\n", " ", "\n", " ", "\r", " ")

// initials reads the initials in a field; empty stays empty.
func (a answers) initials(name string) (registry.Initials, error) {
	if a.get(name) == "" {
		return "", nil
	}
	return registry.ParseInitials(a.get(name))
}

func (a answers) minutes() (int, error) {
	typed := a.get("minutes")
	if typed == "" {
		return 0, nil
	}
	n, err := strconv.Atoi(typed)
	if err != nil {
		return 0, registry.Errorf(registry.Invalid, "minutes %q is no number: type whole minutes, such as 45",
			typed)
	}
	return n, nil
}

// newKey is a key that no other form has.
func newKey() string {
	b := make([]byte, 16)
	rand.Read(b)
	return hex.EncodeToString(b)
}

// open shows a form that nobody has filled in yet.
func (s *Server) open(v *visit, f *form, seen int64) {
	f.Key, f.Seen = newKey(), seen
	s.showForm(v, http.StatusOK, f)
}

func (s *Server) showForm(v *visit, status int, f *form) {
	if f.Action == "" {
		f.Action = v.URL.Path
	}
	s.show(v.w, v.Request, status, "form.html", f.Title, f)
}

// send does what a form was filled in for. A refusal brings the form back with all that was typed, and says
// what is wrong beside the field that it speaks of.
func (s *Server) send(v *visit, f *form, subject string, home string) error {
	if err := v.parse(); err != nil {
		return err
	}
	a := answers(v.PostForm)
	f.Key, f.Seen = a.get("key"), 0
	f.Seen, _ = strconv.ParseInt(a.get("since"), 10, 64)
	if f.Asking {
		s.showForm(v, map[bool]int{false: http.StatusOK, true: http.StatusBadRequest}[f.Refused != ""], f)
		return nil
	}
	result, err := s.signed(v.sending(f.Key, subject, f.Seen), f, a)
	var again *sent.Before
	var stale *sent.Outdated
	switch {
	case err == nil:
	case errors.As(err, &again):
		result = done{said: sentTwice}
		// A form for something new goes on where the first sending led.
		if subject == "" && len(again.Subjects) == 1 {
			result.to = "/m/" + again.Subjects[0]
		}
	case errors.As(err, &stale):
		f.fill(a)
		f.Changed, _ = s.pastOf(stale.Since, 0)
		if f.Stale = f.Measured; !f.Stale {
			f.Seen, f.Key = stale.Since[len(stale.Since)-1].ID, newKey()
		}
		s.showForm(v, http.StatusConflict, f)
		return nil
	default:
		code := registry.CodeOf(err)
		if code == "" {
			return err
		}
		f.fill(a)
		s.refuseForm(v.ctx(), f, err)
		s.showForm(v, map[registry.Code]int{registry.Invalid: http.StatusBadRequest,
			registry.NotFound: http.StatusNotFound,
			registry.Conflict: http.StatusConflict}[code], f)
		return nil
	}
	s.said.put(v.phone.ID, result.said)
	if result.to != "" {
		home = result.to
	}
	v.goOn(home)
	return nil
}

func (f *form) all() []*field {
	var all []*field
	for _, list := range [][]field{f.Fields, f.More} {
		for i := range list {
			all = append(all, &list[i])
		}
	}
	return all
}

// fill puts what was typed back into the form.
func (f *form) fill(a answers) {
	for _, one := range f.all() {
		if one.Kind == "pin" || one.Kind == "file" {
			continue // a secret is typed anew; a browser gives no file back
		}
		one.Value = a.get(one.Name)
		if one.FaultName != "" {
			one.Seen = a.get(one.FaultName)
		}
	}
}

// refuseForm says what is wrong: beside the field, where the refusal names one that is asked here, and at the
// top.
func (s *Server) refuseForm(ctx context.Context, f *form, err error) {
	f.Refused = sentence(err)
	if tag := lookup.Meant(ctx, s.Store, err); tag != "" {
		f.Refused += " If the label reads " + string(tag) + ", type that."
	}
	var refused *registry.Error
	if !errors.As(err, &refused) {
		return
	}
	f.Next, f.About = s.nextSteps(ctx, refused), refused.Field
	for _, one := range f.all() {
		if refused.Field != "" && one.Name == refused.Field {
			one.Fault = f.Refused
		}
	}
}
