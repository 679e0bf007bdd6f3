package page

import (
	"fmt"
	"net/http"

	"pitman/registry"
	"pitman/registry/photo"
	"pitman/registry/pictures"
	"pitman/registry/stock"
)

// platesPage lists the machines whose serial waits to be read again, without it.
type platesPage struct {
	Said  string
	Waits []plateRow
	More  int
}

type plateRow struct {
	Tag          registry.Tag
	Maker, Since string
}

func (s *Server) plates(v *visit) error {
	waits, err := s.PlatesToRead(v.ctx())
	if err != nil {
		return err
	}
	p := platesPage{Said: s.said.take(v.phone.ID)}
	for _, one := range waits[:min(len(waits), maxTasks)] {
		p.Waits = append(p.Waits, plateRow{one.Tag, one.Maker, s.LocalDay(one.Since)})
	}
	p.More = len(waits) - len(p.Waits)
	s.show(v.w, v.Request, http.StatusOK, "plates.html", "Serials to read again", p)
	return nil
}

// readPlate asks for the serial beside the pictures of the plate; what was typed before is not on the page.
func readPlate(s *Server, v *visit, m *stock.Machine) (*form, error) {
	plates, err := s.PlatePictures(v.ctx(), m)
	if err != nil {
		return nil, err
	}
	f := &form{Title: fmt.Sprintf("%s: read its serial", m.Tag), Button: "I read this",
		Notes: []string{"Type what you see on the plate, not what somebody told you. Tap the picture to " +
			"see it larger."},
		Fields: []field{{Name: "serial", Label: "Serial number", Kind: "text",
			Hint: "All letters and figures, as they are stamped."}},
		do: func(v *visit, a answers) (done, error) {
			m, err := s.ReadPlate(v.ctx(), v.by, m.Tag, a.get("serial"))
			if err != nil {
				return done{}, err
			}
			return done{said: fmt.Sprintf("%s: you read %s, as the registry has it.", m.Tag, m.Serial),
				to: "/plates"}, nil
		}}
	for _, one := range plates {
		f.Shown = append(f.Shown, s.pictureOf(one))
	}
	return f, nil
}

// pictureOf is a stored picture with what it shows.
func (s *Server) pictureOf(p pictures.Photo) picture {
	return picture{"/photos/" + photo.FileName(p.Name),
		fmt.Sprintf("%s, %s by %s", photoSays[p.Shows], s.LocalDay(p.At), p.By)}
}
