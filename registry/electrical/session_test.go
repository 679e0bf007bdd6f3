package electrical_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"pitman/registry/electrical"
	"pitman/registry/measure"
)

// The order of dead and live is that of the IET Code of Practice for In-Service Inspection and Testing of
// Electrical Equipment: the look, then earth and insulation, and only then what needs power.
func TestWhatIsAskedNext(t *testing.T) {
	asked := func(s electrical.Session) (list []electrical.Entry) {
		for _, e := range electrical.Entries() {
			if s.Asks(e) {
				list = append(list, e)
			}
		}
		return list
	}
	dead := electrical.SafetyForm{Class: "I", Visual: "pass", Earth: "0.1", CordLength: "2", CordArea: "0.75",
		Plug:     "G",
		Polarity: "pass", Fuse: "3", SwitchOn: true, Insulation: "20"}
	assert.Contains(t, asked(electrical.Session{Form: dead}), electrical.AskLeakage)
	for name, fail := range map[string]func(*electrical.Session){
		"earth without the cord": func(s *electrical.Session) {
			s.Form.Earth, s.Form.CordLength,
				s.Form.CordArea = "1.08", "", ""
		},
		"earth":    func(s *electrical.Session) { s.Form.Earth = "0.16" },
		"polarity": func(s *electrical.Session) { s.Form.Polarity = "fail" },
		"plug": func(s *electrical.Session) {
			s.Form.Plug, s.Form.Polarity, s.Form.Fuse = "C", "n/a",
				"n/a"
		},
		"plug as before": func(s *electrical.Session) { s.Form.Plug, s.Plate.Plug = "", "C" },
		"fuse":           func(s *electrical.Session) { s.Form.Fuse = "13" },
		"insulation":     func(s *electrical.Session) { s.Form.Insulation = "0.99" },
		"the look":       func(s *electrical.Session) { s.Form.Visual = "fail" },
		"no class":       func(s *electrical.Session) { s.Form.Class = "none" },
	} {
		s := electrical.Session{Form: dead}
		fail(&s)
		for _, live := range []electrical.Entry{electrical.AskLeakage, electrical.AskVolts} {
			assert.NotContains(t, asked(s), live, name)
		}
	}
	s := electrical.Session{Form: dead}
	s.Form.Earth = "0.16"
	assert.Contains(t, asked(s), electrical.AskMore)
	assert.Contains(t, asked(s), electrical.AskInsulation, "other dead readings may follow")
	assert.NotContains(t, asked(s), electrical.AskMoreYet, "once of one failure")
	s.Enough = true
	assert.NotContains(t, asked(s), electrical.AskInsulation)
	assert.Contains(t, asked(s), electrical.AskEarth, "who goes back is asked again")

	// A leakage that fails does not close the way back to it.
	s = electrical.Session{Form: dead}
	s.Form.Leakage = "5"
	assert.Contains(t, asked(s), electrical.AskLeakage)
	assert.Equal(t, "FAIL: limit at most 0.75 mA", s.Verdict(electrical.AskLeakage))
	assert.Equal(t, "pass: limit at most 0.152 Ω", s.Verdict(electrical.AskEarth))
	s.Form.CordArea = ""
	assert.Empty(t, s.Verdict(electrical.AskEarth), "its limit follows from the cord")
	assert.Equal(t, []electrical.Entry{electrical.AskClass, electrical.AskAdapter, electrical.AskVolts,
		electrical.AskHertz, electrical.AskWatts, electrical.AskMotor},
		asked(electrical.Session{Form: electrical.SafetyForm{Class: "3", Visual: "pass", Adapter: "pass"}}))
}

// A retest offers what the last one said of class, cord, fuse and plate, and nothing that is looked at or
// measured; of a cord that was changed since, the length alone.
func TestWhatARetestOffers(t *testing.T) {
	metre := 1000 * measure.Millimetre
	s := electrical.Session{Last: electrical.SafetyForm{Class: "I", CordLength: "1.8", CordArea: "0.75",
		Fuse: "n/a", Earth: "0.1",
		Insulation: "20", Leakage: "0.1", Polarity: "pass", Visual: "pass", Use: "stationary"},
		Plate: electrical.Nameplate{Volts: measure.Rating{{Low: 220, High: 240}}, Watts: 85, Motor: "brush",
			Plug: "G"}}
	offers := func() map[electrical.Entry]string {
		all := map[electrical.Entry]string{}
		for _, e := range electrical.Entries() {
			if offer := s.Offer(e); offer != "" {
				all[e] = offer
			}
		}
		return all
	}
	assert.Equal(t, map[electrical.Entry]string{electrical.AskClass: "I", electrical.AskCordLength: "1.8",
		electrical.AskCordArea: "0.75",
		electrical.AskFuse:     "n/a",
		electrical.AskVolts:    "220–240", electrical.AskWatts: "85", electrical.AskMotor: "brush"}, offers())
	s.Plate.Cord = 3 * metre
	assert.Equal(t, "3", s.Offer(electrical.AskCordLength))
	assert.Empty(t, s.Offer(electrical.AskCordArea))
	s.Last.Class, s.Plate.Motor, s.Plate.Cord, s.Last.CordLength = "unknown", "unknown", 0, "n/a"
	assert.Empty(t,
		s.Offer(electrical.AskClass)+s.Offer(electrical.AskMotor)+s.Offer(electrical.AskCordLength),
		"what nobody could tell is asked")
}
