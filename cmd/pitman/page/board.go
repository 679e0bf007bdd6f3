package page

import (
	"net/http"

	"pitman/registry/reports"
)

// maxOnBoard is what can be read from three metres on a usual screen.
const maxOnBoard = 14

type boardPage struct {
	Role   string
	Roles  []string
	At     string
	Groups []boardGroup
}

type boardGroup struct {
	Role  string
	Lines []boardLine
	More  int
}

type boardLine struct {
	reports.Task
	Stage, Band string
}

// board is the worklist for a screen on the wall. It names nobody beyond initials, since it takes the
// worklist's lines as they stand.
func (s *Server) board(v *visit) error {
	p := boardPage{Role: v.PathValue("role"), Roles: reports.Roles,
		At: s.Now().In(s.Config.Location()).Format("15:04")}
	roles, most := reports.Roles, maxOnBoard/len(reports.Roles)
	if p.Role != "" {
		role, err := reports.ParseRole(p.Role)
		if err != nil {
			return err
		}
		roles, most = []string{role}, maxOnBoard
	}
	for _, role := range roles {
		list, err := s.Worklist(v.ctx(), role)
		if err != nil {
			return err
		}
		g := boardGroup{Role: role, More: max(0, len(list.Tasks)-most)}
		for _, t := range list.Tasks[:len(list.Tasks)-g.More] {
			line := boardLine{Task: t}
			if t.Tag != "" {
				if m, err := s.Machine(v.ctx(), t.Tag); err == nil {
					line.Stage, line.Band = string(m.Stage), s.word(m.Stage)
				}
			}
			g.Lines = append(g.Lines, line)
		}
		p.Groups = append(p.Groups, g)
	}
	s.show(v.w, v.Request, http.StatusOK, "board.html", "Board", p)
	return nil
}
