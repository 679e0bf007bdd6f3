package electrical

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"pitman/registry/measure"
)

// The order of dead and live is that of the IET Code of Practice for In-Service Inspection and Testing of
// Electrical Equipment: the look, then earth and insulation, and only then what needs power.
func TestWhatIsAskedNext(t *testing.T) {
	asked := func(s Session) (list []Entry) {
		for _, e := range Entries() {
			if s.Asks(e) {
				list = append(list, e)
			}
		}
		return list
	}
	dead := SafetyForm{Class: "I", Visual: "pass", Earth: "0.1", CordLength: "2", CordArea: "0.75", Plug: "G",
		Polarity: "pass", Fuse: "3", SwitchOn: true, Insulation: "20"}
	assert.Contains(t, asked(Session{Form: dead}), AskLeakage)
	for name, fail := range map[string]func(*Session){
		"earth without the cord": func(s *Session) {
			s.Form.Earth, s.Form.CordLength,
				s.Form.CordArea = "1.08", "", ""
		},
		"earth":    func(s *Session) { s.Form.Earth = "0.16" },
		"polarity": func(s *Session) { s.Form.Polarity = "fail" },
		"plug": func(s *Session) {
			s.Form.Plug, s.Form.Polarity, s.Form.Fuse = "C", "n/a",
				"n/a"
		},
		"plug as before": func(s *Session) { s.Form.Plug, s.Plate.Plug = "", "C" },
		"fuse":           func(s *Session) { s.Form.Fuse = "13" },
		"insulation":     func(s *Session) { s.Form.Insulation = "0.99" },
		"the look":       func(s *Session) { s.Form.Visual = "fail" },
		"no class":       func(s *Session) { s.Form.Class = "none" },
	} {
		s := Session{Form: dead}
		fail(&s)
		for _, live := range []Entry{AskLeakage, AskVolts} {
			assert.NotContains(t, asked(s), live, name)
		}
	}
	s := Session{Form: dead}
	s.Form.Earth = "0.16"
	assert.Contains(t, asked(s), AskMore)
	assert.Contains(t, asked(s), AskInsulation, "other dead readings may follow")
	assert.NotContains(t, asked(s), AskMoreYet, "once of one failure")
	s.Enough = true
	assert.NotContains(t, asked(s), AskInsulation)
	assert.Contains(t, asked(s), AskEarth, "who goes back is asked again")

	// A leakage that fails does not close the way back to it.
	s = Session{Form: dead}
	s.Form.Leakage = "5"
	assert.Contains(t, asked(s), AskLeakage)
	assert.Equal(t, "FAIL: limit at most 0.75 mA", s.Verdict(AskLeakage))
	assert.Equal(t, "pass: limit at most 0.152 Ω", s.Verdict(AskEarth))
	s.Form.CordArea = ""
	assert.Empty(t, s.Verdict(AskEarth), "its limit follows from the cord")
	assert.Equal(t, []Entry{AskClass, AskAdapter, AskVolts, AskHertz, AskWatts, AskMotor},
		asked(Session{Form: SafetyForm{Class: "3", Visual: "pass", Adapter: "pass"}}))
}

// A retest offers what the last one said of class, cord, fuse and plate, and nothing that is looked at or
// measured; of a cord that was changed since, the length alone.
func TestWhatARetestOffers(t *testing.T) {
	metre := 1000 * measure.Millimetre
	s := Session{Last: SafetyForm{Class: "I", CordLength: "1.8", CordArea: "0.75", Fuse: "n/a", Earth: "0.1",
		Insulation: "20", Leakage: "0.1", Polarity: "pass", Visual: "pass", Use: "stationary"},
		Plate: Nameplate{Volts: measure.Rating{{Low: 220, High: 240}}, Watts: 85, Motor: "brush", Plug: "G"}}
	offers := func() map[Entry]string {
		all := map[Entry]string{}
		for _, e := range Entries() {
			if offer := s.Offer(e); offer != "" {
				all[e] = offer
			}
		}
		return all
	}
	assert.Equal(t, map[Entry]string{AskClass: "I", AskCordLength: "1.8", AskCordArea: "0.75", AskFuse: "n/a",
		AskVolts: "220–240", AskWatts: "85", AskMotor: "brush"}, offers())
	s.Plate.Cord = 3 * metre
	assert.Equal(t, "3", s.Offer(AskCordLength))
	assert.Empty(t, s.Offer(AskCordArea))
	s.Last.Class, s.Plate.Motor, s.Plate.Cord, s.Last.CordLength = "unknown", "unknown", 0, "n/a"
	assert.Empty(t, s.Offer(AskClass)+s.Offer(AskMotor)+s.Offer(AskCordLength),
		"what nobody could tell is asked")
}
