package page

import (
	"fmt"
	"net/http"
	"slices"
	"strings"

	"pitman/registry"
	"pitman/registry/shelf"
	"pitman/registry/stock"
)

// shelfPage moves what is scanned to a place, or counts a place. What was scanned stands on the page, a tag a
// line, so a typing scanner fills it without more, a camera adds to it, and a server that starts anew has
// forgotten nothing.
type shelfPage struct {
	Key, Place     string
	Places         []string
	Tags           string
	Said, Refused  string
	Count          *shelf.PlaceCount
	Groups         []shelfGroup
	Caution        string
	CanCorrect     bool
	Scanned, Wrong int
	Meant          *field // which place is meant, where that is not sure
}

type shelfGroup struct {
	Title string
	Units []stock.Unit
}

func (s *Server) shelf(v *visit) error {
	p := shelfPage{Key: newKey()}
	if v.Method != http.MethodPost {
		p.Said = s.said.take(v.phone.ID)
		return s.showShelf(v, http.StatusOK, p)
	}
	if err := v.parse(); err != nil {
		return err
	}
	a := answers(v.PostForm)
	p.Key, p.Place, p.Tags = a.get("key"), a.get("place"), strings.TrimSpace(v.PostForm.Get("tags"))
	read, err := s.scannedPicture(v)
	if err != nil {
		if registry.CodeOf(err) == "" {
			return err
		}
		p.Refused = sentence(err)
		return s.showShelf(v, http.StatusBadRequest, p)
	}
	if read.said != "" {
		p.Said = read.said
		if read.tag != "" {
			p.Tags = strings.TrimSpace(p.Tags + "\n" + string(read.tag))
		}
		if read.place != "" {
			p.Place = read.place
		}
		return s.showShelf(v, http.StatusOK, p)
	}
	tags, err := tagsOf(p.Tags)
	if err == nil {
		err = s.Scanned(v.ctx(), v.by, tags...)
	}
	if err == nil && p.Place != "" {
		p.Place, err = s.PlaceNamed(v.ctx(), p.Place)
	}
	if err == nil && p.Place != "" {
		p.Place, p.Meant, err = s.meant(v, s.Words(), "place", p.Place, a)
	}
	if err == nil {
		p.Meant = nil
		err = s.shelfDo(v, a.get("do"), &p, tags)
	}
	if err != nil {
		if registry.CodeOf(err) == "" {
			return err
		}
		p.Refused = sentence(err)
		return s.showShelf(v, http.StatusConflict, p)
	}
	if p.Count == nil || p.Count.Corrected {
		s.said.put(v.phone.ID, p.Said)
		v.goOn("/place")
		return nil
	}
	return s.showShelf(v, http.StatusOK, p)
}

// tagsOf reads what was scanned, one a line or parted by blanks; a label may hold an address.
func tagsOf(text string) ([]registry.Tag, error) {
	var tags []registry.Tag
	for _, word := range strings.Fields(text) {
		tag, err := registry.ParseTag(word)
		if err != nil {
			return nil, err
		}
		if !slices.Contains(tags, tag) {
			tags = append(tags, tag)
		}
	}
	return tags, nil
}

func (s *Server) shelfDo(v *visit, do string, p *shelfPage, tags []registry.Tag) error {
	p.Scanned = len(tags)
	sending := v.sending(p.Key, "", 0)
	switch do {
	case "move":
		moved, err := s.Move(sending.ctx(), v.by, tags, p.Place)
		if err = once(err, p); err == nil && p.Said == "" {
			p.Said = fmt.Sprintf("%d moved to %s.", len(moved), p.Place)
		}
		return err
	case "correct":
		c, err := s.CorrectCount(sending.ctx(), v.by, p.Place, tags)
		if err = once(err, p); err == nil && p.Said == "" {
			p.Count = &c
			p.Said = fmt.Sprintf("Corrected: %d stand at %s now, %d have no place.", len(c.Found)+
				len(c.ByMistake), p.Place, len(c.Missing))
		}
		return err
	}
	c, err := s.Count(v.ctx(), p.Place, tags)
	if err != nil {
		return err
	}
	p.Count, p.CanCorrect = &c, len(c.Missing)+len(c.ByMistake) > 0
	for _, g := range []shelfGroup{
		{"There, as the records say", c.Found}, {"Missing: the records say it is here", c.Missing},
		{"Here, but the records say elsewhere", c.ByMistake},
		{"Here, but gone by the records: someone has to look", c.Gone}} {
		if len(g.Units) > 0 {
			p.Groups = append(p.Groups, g)
		}
	}
	return nil
}

func (s *Server) showShelf(v *visit, status int, p shelfPage) error {
	var err error
	if p.Places, err = s.Used(v.ctx(), stock.ColumnPlace, ""); err != nil {
		return err
	}
	p.Caution = registry.CautionLifting.Text()
	s.show(v.w, v.Request, status, "place.html", "Places", p)
	return nil
}
