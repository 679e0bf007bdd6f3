package page

import (
	"fmt"

	"pitman/registry"
	"pitman/registry/bench"
	"pitman/registry/electrical"
	"pitman/registry/pin"
	"pitman/registry/stock"
)

// safetyTest records what a competent person saw wrong. A pass is not offered here: over the network it needs
// that person's PIN.
func safetyTest(s *Server, v *visit, m *stock.Machine) (*form, error) {
	if _, err := s.MayTestSafety(v.ctx(), v.by, m.Tag); err != nil {
		return nil, err
	}
	f := &form{Title: fmt.Sprintf("%s: electrical safety test", m.Tag),
		Button:   "Record the fault: it is held",
		Cautions: []string{registry.SafetyCaution, registry.CautionMains.Text()},
		Notes: []string{"Look at each. A fault that is seen holds the machine, and no part that needs " +
			"the mains follows. A pass is recorded at the computer."}}
	said, err := s.Suspect(v.ctx(), m.Tag)
	if err != nil {
		return nil, err
	}
	f.Cautions = append(f.Cautions, said...)
	for _, p := range electrical.VisualPoints() {
		f.Fields = append(f.Fields,
			field{Name: "look-" + p.Key, FaultName: "fault-" + p.Key, Label: p.Ask, Kind: "point"})
	}
	f.Fields = append(f.Fields, field{Name: "class", Label: "Which class is it?", Kind: "pick", Picks: []pick{
		{"I", "class I: an earth wire to the bare metal"},
		{"II", "class II: double insulated, two squares on the plate"},
		{"III", "class III: at most 50 V a.c., from an adapter"},
		{"none", "none: bare metal on a two-core cord"}, {"unknown", "nobody can tell"}}})
	f.do = func(v *visit, a answers) (done, error) {
		sent := electrical.SafetyForm{Class: a.get("class"), Visual: "fail",
			VisualFaults: map[string]string{}}
		for _, p := range electrical.VisualPoints() {
			if a.get("look-"+p.Key) == "no" {
				sent.VisualFaults[p.Key] = a.get("fault-" + p.Key)
			}
		}
		if len(sent.VisualFaults) == 0 {
			return done{},
				registry.Errorf(registry.Conflict,
					"nothing is wrong by what you saw, so the test goes on with an instrument: record it "+
						"at the computer")
		}
		return now(first(s.Safety(pin.Always(v.ctx()), v.by, m.Tag, sent)))
	}
	return f, nil
}

// first leaves out the record of a test, which the page does not show.
func first(m *stock.Machine, _ *bench.SafetyTest, err error) (*stock.Machine, error) {
	return m, err
}
