package page

import (
	"fmt"
	"net/http"
	"slices"
	"strings"
	"sync"

	"pitman/registry"
	"pitman/registry/fields"
	"pitman/registry/measure"
	"pitman/registry/pictures"
	"pitman/registry/stock"
)

// unitPage is what a phone shows of a head or a base.
type unitPage struct {
	Tag            registry.Tag
	Kind, Name     string
	Said           string
	Warnings       []string // what to beware of stands first
	Year           string
	Reasons        []string
	Unread         []string // tables that may know more of the year
	Stage, Since   string
	Band, Place    string
	Held, HandedTo string
	Faults         []string
	Cautions       []string
	Offers         choices
	Facts          []fact
	Pictures       []picture
	Past           []past
	More           bool // there is more past than is shown
}

type picture struct{ File, Says string }

type fact struct{ Name, Value string }

// past is a line of the history.
type past struct {
	At, By, What, Why string
	Undone            bool
}

const shownPast = 12

func (s *Server) unit(v *visit) error {
	tag, err := v.tag()
	if err != nil {
		return err
	}
	if strings.HasPrefix(v.URL.Path, "/M/") { // only symbols have the address in capitals
		if err := s.Scanned(v.ctx(), v.by, tag); err != nil {
			return err
		}
	}
	if blank, err := s.IsBlank(v.ctx(), tag); err != nil {
		return err
	} else if blank {
		http.Redirect(v.w, v.Request, "/log?tag="+string(tag), http.StatusSeeOther)
		return nil
	}
	if v.PathValue("tag") != string(tag) || strings.HasPrefix(v.URL.Path, "/M/") {
		http.Redirect(v.w, v.Request, "/m/"+string(tag), http.StatusSeeOther)
		return nil
	}
	p, err := s.unitPage(v, tag)
	if err != nil {
		return err
	}
	p.Said = s.said.take(v.phone.ID)
	s.show(v.w, v.Request, http.StatusOK, "unit.html", string(tag)+" "+p.Name, p)
	return nil
}

func (s *Server) unitPage(v *visit, tag registry.Tag) (p *unitPage, err error) {
	var m *stock.Machine
	var b *stock.Base
	var events []registry.Event
	err = s.Store.View(v.ctx(), func(r stock.Reader) (err error) {
		if m, b, err = stock.HeadOrBase(r, tag); err != nil {
			return err
		}
		events, err = r.History(string(tag))
		return err
	})
	if err != nil {
		return nil, err
	}
	if m != nil {
		p, err = s.headPage(v, m)
	} else {
		p = s.basePage(v, b)
		p.Offers, err = s.baseOffers(v, b)
	}
	if err != nil {
		return nil, err
	}
	photos, err := s.Workshop.Photos(v.ctx(), tag)
	if err != nil {
		return nil, err
	}
	plate := slices.ContainsFunc(photos, func(one pictures.Photo) bool { return one.Shows == pictures.Plate })
	if plate && m != nil && m.SerialKey != "" {
		p.Offers.Always = append(p.Offers.Always, button(tag, plateStep))
	}
	for _, one := range photos {
		p.Pictures = append(p.Pictures, s.pictureOf(one))
	}
	p.Past, p.More = s.pastOf(events, shownPast)
	return p, nil
}

func (s *Server) headPage(v *visit, m *stock.Machine) (*unitPage, error) {
	p := &unitPage{Tag: m.Tag, Kind: "head", Name: nameOf(m), Warnings: s.Warnings(m), Year: m.Year(),
		Stage: string(m.Stage),
		Since: s.LocalDay(m.StageSince), HandedTo: m.HandedTo, Band: s.word(m.Stage)}
	if answer, err := s.Date(m); err == nil {
		p.Reasons = answer.Lines()
	} else if registry.CodeOf(err) == "" {
		return nil, err
	}
	var err error
	if p.Unread, err = s.UnreadTables(); err != nil {
		return nil, err
	}
	if m.Here() {
		p.Place = m.Place
	}
	p.Held = m.Held()
	p.Warnings = append(p.Warnings, kept(s.CrateToOpen(v.ctx(), m.Tag, m.StageSince))...)
	if _, failed, err := s.FaultSlip(v.ctx(), m.Tag); err == nil {
		for _, f := range failed.Faults() {
			p.Faults = append(p.Faults, f.Point+": "+f.Fault)
		}
	} else if registry.CodeOf(err) != registry.NotFound {
		return nil, err
	}
	if p.Offers, err = s.headOffers(v, m); err != nil {
		return nil, err
	}
	p.Cautions = kept(measure.LiftCaution(m.Weight, false))
	p.Facts = facts(stock.MachineFields, m, "maker", "model", "place")
	if m.MovedIn != "" {
		p.Facts = append(p.Facts, fact{"stage", m.MovedIn})
	}
	read, err := s.ReadAgain(v.ctx(), m)
	if err != nil {
		return nil, err
	}
	if read != nil {
		p.Facts = append(p.Facts, fact{"serial read again",
			fmt.Sprintf("off its plate, %s by %s", s.LocalDay(read.At), read.By)})
	}
	if !m.TestedAt.IsZero() {
		p.Facts = append(p.Facts,
			fact{"function test",
				fmt.Sprintf("passed %s, by %s%s", s.LocalDay(m.TestedAt), m.TestedBy, asTold(m))})
	}
	if !m.SafetyAt.IsZero() {
		letters, err := s.HouseOfPass(v.ctx(), m)
		if err != nil {
			return nil, err
		}
		p.Facts = append(p.Facts, fact{"safety pass", fmt.Sprintf("recorded %s by %s, class %s",
			s.LocalDay(m.SafetyAt), m.SafetyBy.Of(letters), m.Class)})
		if looked, err := s.LookOf(v.ctx(), m); err != nil {
			return nil, err
		} else if looked != "" {
			p.Facts = append(p.Facts, fact{"looked at", looked})
		}
	}
	p.Facts = append(p.Facts, fact{"logged", fmt.Sprintf("%s by %s", s.LocalDay(m.LoggedAt), m.LoggedBy)})
	return p, nil
}

// asTold says of a test that an old list told it.
func asTold(m *stock.Machine) string {
	if m.MovedIn == "" {
		return ""
	}
	return ", as told by the old list"
}

func (s *Server) basePage(v *visit, b *stock.Base) *unitPage {
	p := &unitPage{Tag: b.Tag, Kind: "treadle base", Name: b.Name(), Stage: string(b.Stage),
		Since: s.LocalDay(b.Since), HandedTo: b.HandedTo,
		Band: s.word(b.Stage), Held: b.HeldWhy, Cautions: kept(measure.LiftCaution(b.Weight, true)),
		Facts: facts(stock.BaseFields, b, "place")}
	if b.Here() {
		p.Place = b.Place
	}
	p.Facts = append(p.Facts, fact{"logged", fmt.Sprintf("%s by %s", s.LocalDay(b.LoggedAt), b.LoggedBy)})
	p.Warnings = kept(s.CrateToOpen(v.ctx(), b.Tag, b.Since))
	return p
}

// word is what the house's labels say of a stage.
func (s *Server) word(stage registry.Stage) string { return s.Scheme.Stage[string(stage)].Word }

// facts lists what is written about a record, field by field; what nobody gave is left out.
func facts[T any](fields []fields.Of[T], of *T, without ...string) []fact {
	var all []fact
	for _, f := range fields {
		if value := strings.Join(kept(f.Get(of)...), ", "); value != "" && !slices.Contains(without, f.Name) {
			all = append(all, fact{strings.ReplaceAll(f.Name, "-", " "), value})
		}
	}
	return all
}

func kept(words ...string) []string {
	return slices.DeleteFunc(words, func(w string) bool { return w == "" })
}

// pastOf tells what happened, newest first, at most so much of it; 0 tells all.
func (s *Server) pastOf(events []registry.Event, most int) (lines []past, more bool) {
	undone := map[int64]bool{}
	for _, e := range slices.Backward(events) {
		undone[e.Undoes] = true
		if most > 0 && len(lines) == most {
			return lines, true
		}
		by := string(e.By)
		if e.House != "" {
			by += " of " + e.House
		}
		lines = append(lines, past{s.localTime(e.At), by, e.Action, e.Why, undone[e.ID]})
	}
	return lines, false
}

// history shows all that happened.
func (s *Server) history(v *visit) error {
	tag, err := v.tag()
	if err != nil {
		return err
	}
	var events []registry.Event
	var m *stock.Machine
	err = s.Store.View(v.ctx(), func(r stock.Reader) (err error) {
		if events, err = r.History(string(tag)); err == nil {
			m, _, err = stock.HeadOrBase(r, tag)
		}
		return err
	})
	if err != nil {
		return err
	}
	p := &unitPage{Tag: tag}
	if m != nil {
		p.Warnings = s.Warnings(m)
	}
	p.Past, _ = s.pastOf(events, 0)
	s.show(v.w, v.Request, http.StatusOK, "history.html", "What happened to "+string(tag), p)
	return nil
}

// notes are what phones are told on the next page that they see, once.
type notes struct {
	mu   sync.Mutex
	told map[string]string
}

func (n *notes) put(phone, text string) {
	n.mu.Lock()
	defer n.mu.Unlock()
	if n.told == nil || len(n.told) >= maxCounted {
		n.told = map[string]string{}
	}
	n.told[phone] = text
}

func (n *notes) take(phone string) string {
	n.mu.Lock()
	defer n.mu.Unlock()
	text := n.told[phone]
	delete(n.told, phone)
	return text
}
