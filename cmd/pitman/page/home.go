package page

import (
	"net/http"
	"strings"

	"pitman/registry"
	"pitman/registry/lookup"
	"pitman/registry/reports"
	"pitman/registry/stock"
)

const (
	maxFound = 30
	maxTasks = 40
)

type homePage struct {
	Text, Refused string
	Meant         registry.Tag // where what was typed is nearly a tag
	Asked         bool
	Found         []foundUnit
	More          bool
	Role          string
	Roles         []string
	Tasks         []reports.Task
	MoreTasks     int
	Plates        string // the action whose line leads to the plates
}

type foundUnit struct {
	Tag                        registry.Tag
	Name, Serial, Place, Stage string
	Warnings                   []string
}

func (s *Server) home(v *visit) error { return s.showHome(v, http.StatusOK, homePage{}) }

func (s *Server) showHome(v *visit, status int, p homePage) error {
	role := v.PathValue("role")
	if role != "" {
		var err error
		if role, err = reports.ParseRole(role); err != nil {
			return err
		}
	}
	list, err := s.Worklist(v.ctx(), role)
	if err != nil {
		return err
	}
	p.Plates = registry.DoReadPlates
	p.Role, p.Roles, p.Tasks = role, append([]string{""}, reports.Roles...), list.Tasks
	if len(p.Tasks) > maxTasks {
		p.Tasks, p.MoreTasks = p.Tasks[:maxTasks], len(p.Tasks)-maxTasks
	}
	s.show(v.w, v.Request, status, "home.html", "Start", p)
	return nil
}

// find goes to a tag, or lists what bears the words. It is a POST, so that nothing that was looked for stands
// in an address.
func (s *Server) find(v *visit) error {
	if err := v.ParseForm(); err != nil {
		return registry.Errorf(registry.Invalid, "what you typed did not arrive whole: send it again")
	}
	p := homePage{Text: strings.TrimSpace(v.PostForm.Get("text")), Asked: true}
	if p.Text == "" {
		p.Asked, p.Refused = false, "Type something to look for first."
		return s.showHome(v, http.StatusBadRequest, p)
	}
	tag, slip := registry.ParseTag(p.Text)
	if slip == nil {
		http.Redirect(v.w, v.Request, "/m/"+string(tag), http.StatusSeeOther)
		return nil
	}
	p.Meant = lookup.Meant(v.ctx(), s.Store, slip)
	err := s.Store.View(v.ctx(), func(r stock.Reader) error {
		return lookup.Machines(r, stock.MachineFilter{Text: p.Text, Limit: maxFound + 1},
			func(m *stock.Machine) error {
				p.Found = append(p.Found,
					foundUnit{m.Tag, nameOf(m), m.Serial, m.Place, string(m.Stage), s.Warnings(m)})
				return nil
			})
	})
	if err != nil {
		return err
	}
	if len(p.Found) > maxFound {
		p.Found, p.More = p.Found[:maxFound], true
	}
	return s.showHome(v, http.StatusOK, p)
}

func nameOf(m *stock.Machine) string { return strings.TrimSpace(m.Maker + " " + m.Model) }
