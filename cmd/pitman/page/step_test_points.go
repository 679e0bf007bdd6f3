package page

import (
	"fmt"
	"strconv"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/examples"
	"pitman/registry/measure"
	"pitman/registry/stock"
)

// functionTest asks every point; nothing is answered beforehand.
func functionTest(s *Server, v *visit, m *stock.Machine) (*form, error) {
	if _, err := s.MayTest(v.ctx(), v.by, m.Tag); err != nil {
		return nil, err
	}
	points, err := s.PointsFor(m)
	if err != nil {
		return nil, err
	}
	f := &form{Title: fmt.Sprintf("%s: how it sews", m.Tag), Button: "Record the test",
		Cautions: []string{registry.CautionMoving.Text()},
		Notes: []string{registry.Counted(len(points), "point") +
			". All yes makes it ready; a fault sends it back to the bench."}}
	for i, p := range points {
		one := field{Name: "point-" + strconv.Itoa(i), FaultName: "fault-" + strconv.Itoa(i),
			Label: fmt.Sprintf("%d of %d: %s", i+1, len(points), p.Ask), Kind: "point",
			MayLack: bool(p.MayLack), Examples: s.beside(examples.Point, p.Point)}
		f.Fields = append(f.Fields, one)
		if p.Measured == bench.MeasuredStitch {
			f.Fields = append(f.Fields,
				field{Name: "dial", Label: "Dial says", Kind: "text", Maybe: true,
					Hint: "Millimetres such as 2.5, or 10 per inch, or none for a lever without marks."},
				field{Name: "ruler", Label: "Seam length", Kind: "text", Maybe: true,
					Hint: "Sew beside a ruler: the length you counted, in mm unless you type in or cm."},
				field{Name: "stitches", Label: "Stitches in it", Kind: "figure", Maybe: true,
					Hint: "How many you counted."},
				field{Name: "seams", Label: "Other settings, or in reverse", Kind: "text", Maybe: true,
					Hint: "Dial = length / stitches, such as 4 = 50 mm / 12; r 2.5 = 50 mm / 20 for one in " +
						"reverse; several with ; between."})
		}
	}
	f.do = func(v *visit, a answers) (done, error) {
		sent, err := answered(points, a)
		if err != nil {
			return done{}, err
		}
		m, result, err := s.Test(v.ctx(), v.by, m.Tag, sent)
		if err != nil {
			return done{}, err
		}
		said := "Back to the bench with its faults. "
		if result.Pass {
			said = "Passed. "
		}
		at, _ := now(m, nil)
		return done{said: said + at.said}, nil
	}
	return f, nil
}

// answered is the test as the registry takes it. What is missing of it the registry says.
func answered(points []bench.TestPoint, a answers) (bench.TestForm, error) {
	sent := bench.TestForm{Fail: map[string]string{}, Lacks: map[string]string{}}
	for i, p := range points {
		switch a.get("point-" + strconv.Itoa(i)) {
		case "yes":
			sent.Pass = append(sent.Pass, p.Point)
		case "no":
			sent.Fail[p.Point] = a.get("fault-" + strconv.Itoa(i))
		case measure.NotApplicable:
			sent.Lacks[p.Point] = a.get("fault-" + strconv.Itoa(i))
		}
	}
	var err error
	if sent.Seams, err = measure.ParseSeams(a.get("seams")); err != nil {
		return sent, err
	}
	if a.get("dial") == "" && a.get("ruler") == "" && a.get("stitches") == "" {
		return sent, nil
	}
	dial, err := measure.ParseDial(a.get("dial"))
	if err != nil {
		return sent, err
	}
	ruler, err := measure.ParseLength("ruler", a.get("ruler"))
	if err != nil {
		return sent, err
	}
	stitches, err := measure.ParseCount(a.get("stitches"))
	if err != nil {
		return sent, err
	}
	sent.Stitch = &measure.StitchCheck{Ruler: ruler, Stitches: stitches, Dial: dial}
	return sent, nil
}
