package page

import (
	"errors"
	"fmt"
	"net/http"
	"slices"

	"pitman/registry"
	"pitman/registry/makers"
	"pitman/registry/sent"
	"pitman/registry/stock"
)

// asked at the door stand open on the form; the rest is behind one line.
var atTheDoor = []string{"maker", "serial", "drive", "model", "donor", "condition", "place"}

func (s *Server) logForm(v *visit) (*form, error) {
	m := &stock.Machine{}
	fields, err := s.fieldsOf(v, m)
	if err != nil {
		return nil, err
	}
	var first, rest []field
	for _, f := range fields {
		if slices.Contains(atTheDoor, f.Name) {
			first = append(first, f)
		} else {
			rest = append(rest, f)
		}
	}
	picture := photoFields()
	picture[0].Label, picture[0].Maybe = "A picture of it, or of its plate", true
	hangs := field{Name: "tag", Kind: "text", Label: "Tag that was printed ahead and hangs on it",
		Maybe: true,
		Hint:  "Scan it, or type it. Else leave it empty: the next tag is given.",
		Value: v.URL.Query().Get("tag")}
	f := &form{Title: "Log a machine that came in", Button: "Log it",
		Fields: append(first, picture...), Pictures: true, More: rest, Back: "/",
		Notes: []string{"Without a tag of its own, one comes when it is logged: write that on a label and " +
			"tie it " +
			"on at once."}}
	if hangs.Value != "" {
		f.Fields = append([]field{hangs}, f.Fields...)
	} else {
		f.More = append([]field{hangs}, f.More...)
	}
	f.do = func(v *visit, a answers) (done, error) {
		m := &stock.Machine{}
		if err := s.settleWords(v, f, a, nil); err != nil {
			return done{}, err
		}
		if err := setAll(stock.MachineFields, m, a); err != nil {
			return done{}, err
		}
		if typed := a.get("tag"); typed != "" {
			var err error
			if m.Tag, err = registry.ParseTag(typed); err != nil {
				return done{}, registry.OnField("tag", err)
			}
		}
		hangs := m.Tag != ""
		err := s.Log(v.ctx(), v.by, m, a.get("again") == "yes")
		var before *sent.Before
		if errors.As(err, &before) && len(before.Subjects) == 1 {
			return s.loggedBefore(v, a, m, registry.Tag(before.Subjects[0]), err)
		}
		if err != nil {
			if registry.CodeOf(err) == registry.Conflict && !onField(err, "tag") {
				f.Fields = append(f.Fields,
					field{Name: "again", Kind: "check",
						Label: "This is another machine with the same serial number", Maybe: true})
			}
			return done{}, err
		}
		if _, err := s.addPhoto(v.sending(a.get("key")+"-photo", "", 0), m.Tag, a.get("shows")); err != nil {
			if registry.CodeOf(err) == "" {
				return done{}, err
			}
			return done{said: fmt.Sprintf("Logged as %s, but without its picture: %v. %s", m.Tag, err,
				tieOn(m.Tag, hangs)), to: "/m/" + string(m.Tag)}, nil
		}
		return done{said: "Logged as " + string(m.Tag) + ". " + tieOn(m.Tag, hangs),
			to: "/m/" + string(m.Tag)}, nil
	}
	return f, nil
}

// onField says whether a refusal speaks of a field.
func onField(err error, name string) bool {
	var refused *registry.Error
	return errors.As(err, &refused) && refused.Field == name
}

// tieOn says what comes next, once something has its tag.
func tieOn(tag registry.Tag, hangs bool) string {
	if hangs {
		return "Its tag hangs on it already."
	}
	return "Tie a label with " + string(tag) + " on it now."
}

// loggedBefore takes a log that was sent twice for done: its picture is added if the first sending broke off
// before that, and a form that says something else by now is told so.
func (s *Server) loggedBefore(v *visit, a answers, typed *stock.Machine, tag registry.Tag,
	before error) (done, error) {
	m, err := s.Machine(v.ctx(), tag)
	if err != nil {
		return done{}, before
	}
	home := "/m/" + string(tag)
	if typed.Key(); typed.SerialKey != m.SerialKey || typed.MakerKey != m.MakerKey {
		said := fmt.Sprintf("This form was sent before, and is logged as %s: %s, serial %s. What was typed "+
			"since "+
			"is not kept: correct it here, or log another machine.", tag, nameOf(m), m.Serial)
		return done{said: said, to: home}, nil
	}
	added, err := s.addPhoto(v.sending(a.get("key")+"-photo", "", 0), tag, a.get("shows"))
	switch {
	case !added || isSentBefore(err):
		return done{}, before
	case registry.CodeOf(err) != "":
		return done{said: fmt.Sprintf("%s Its picture is not: %v.", sentTwice, err), to: home}, nil
	case err != nil:
		return done{}, err
	}
	return done{said: sentTwice + " Its picture is added now.", to: home}, nil
}

func (s *Server) log(v *visit) error {
	f, err := s.logForm(v)
	if err != nil {
		return err
	}
	if v.Method != http.MethodPost {
		s.open(v, f, 0)
		return nil
	}
	return s.send(v, f, "", "/")
}

// settleWords asks of each word that is probably another, before anything is written: the form comes back
// with the words that may be meant. What stood there before is not asked.
func (s *Server) settleWords(v *visit, f *form, a answers, before func(field string) string) error {
	words, open := s.Words(), error(nil)
	for _, name := range makers.Asked {
		typed := a.get(name)
		if typed == "" || before != nil && typed == before(name) {
			continue
		}
		meant, question, err := s.meant(v, words, name, typed, a)
		if err != nil && registry.CodeOf(err) == "" {
			return err
		}
		if question == nil {
			continue
		}
		is := func(one field) bool { return one.Name == name }
		if at := slices.IndexFunc(f.More, is); at >= 0 {
			f.More = slices.Insert(f.More, at+1, *question)
		} else {
			f.Fields = slices.Insert(f.Fields, slices.IndexFunc(f.Fields, is)+1, *question)
		}
		if err == nil {
			a[name] = []string{meant}
		} else if open == nil {
			open = err
		}
	}
	return open
}

// meant is the word that is meant by a typed one. Where it is probably another, there is a question, and a
// refusal as long as that is not answered.
func (s *Server) meant(v *visit, words *makers.Words, name, typed string, a answers) (meant string,
	question *field, err error) {
	hint, ask, err := words.Hint(v.ctx(), name, a.get("maker"), typed)
	if err != nil || !ask {
		return typed, nil, err
	}
	choices, asked := append(hint.Choices(), typed), "meant"
	if name != "maker" {
		asked += "-" + name
	}
	question = &field{Name: asked, Kind: "pick", Label: "Which " + name + " is it?"}
	for _, name := range choices {
		question.Picks = append(question.Picks, pick{name, name})
	}
	question.Picks[len(choices)-1].Label = "just as typed: " + typed
	if meant = a.get(asked); slices.Contains(choices, meant) {
		return meant, question, nil
	}
	return typed, question, registry.Errorf(registry.Invalid, "%s", hint.Says()).On(asked)
}
