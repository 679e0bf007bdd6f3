package electrical

import (
	"fmt"
	"strconv"
	"strings"

	"pitman/registry"
)

// MainsSupply is what comes out of the wall where an order goes: "230V/50Hz/G". Empty is not known.
type MainsSupply string

// ParseMainsSupply reads volts, hertz and the letter of the plug, in this order; the last two may be left
// out.
func ParseMainsSupply(s string) (MainsSupply, error) {
	text := strings.ToUpper(strings.Join(strings.Fields(s), ""))
	if text == "" {
		return "", nil
	}
	wrong := registry.Errorf(registry.Invalid,
		"supply %q is not a mains supply: type volts, hertz and plug type, such as 230V/50Hz/G", s)
	parts := strings.Split(text, "/")
	if len(parts) > 3 {
		return "", wrong
	}
	volts, err := strconv.Atoi(strings.TrimSuffix(parts[0], "V"))
	if err != nil || volts < 12 || volts > 480 {
		return "", wrong
	}
	out := fmt.Sprintf("%dV", volts)
	if len(parts) > 1 {
		hertz := strings.TrimSuffix(parts[1], "HZ")
		if hertz != "50" && hertz != "60" {
			return "", wrong
		}
		out += "/" + hertz + "Hz"
	}
	if len(parts) > 2 {
		if plug := parts[2]; len(plug) != 1 || plug < "A" || plug > "O" {
			return "", registry.Errorf(registry.Invalid,
				"supply %q ends in no plug type: type one letter from A to O, as in IEC World Plugs", s)
		}
		out += "/" + parts[2]
	}
	return MainsSupply(out), nil
}

func (s MainsSupply) parts() (volts, hertz int, plug string) {
	for _, part := range strings.Split(string(s), "/") {
		switch {
		case strings.HasSuffix(part, "Hz"):
			hertz, _ = strconv.Atoi(strings.TrimSuffix(part, "Hz"))
		case strings.HasSuffix(part, "V"):
			volts, _ = strconv.Atoi(strings.TrimSuffix(part, "V"))
		default:
			plug = part
		}
	}
	return volts, hertz, plug
}

// ParsePlug reads a plug type, by its letter in IEC World Plugs; empty is not known.
func ParsePlug(s string) (string, error) {
	plug := strings.ToUpper(strings.TrimSpace(s))
	if plug != "" && (len(plug) != 1 || plug < "A" || plug > "O") {
		return "", registry.Errorf(registry.Invalid,
			"plug %q is no letter of IEC World Plugs: type one letter from A to O, such as G", s)
	}
	return plug, nil
}

// Plug is the letter of its plug type, or empty.
func (s MainsSupply) Plug() string {
	_, _, plug := s.parts()
	return plug
}

// Figures are its volts and hertz, nought where they are not known.
func (s MainsSupply) Figures() (volts, hertz int) {
	volts, hertz, _ = s.parts()
	return volts, hertz
}

// Refuses says why a machine with this nameplate cannot run on the supply, or nothing. A motor with brushes
// turns at any frequency, so hertz count for the others only. The tolerance is in percent of the supply's
// volts.
func (s MainsSupply) Refuses(plate Nameplate, tolerance float64) string {
	volts, hertz, _ := s.parts()
	if s == "" {
		return ""
	}
	if len(plate.Volts) == 0 {
		return "nameplate volts are not known: read them off the motor"
	}
	if off := plate.Volts.Off(volts); float64(off) > tolerance/100*float64(volts) {
		return fmt.Sprintf("nameplate %s V, supply %d V ± %g %%: %d V off", plate.Volts, volts, tolerance,
			off)
	}
	if hertz == 0 || plate.Motor == "brush" {
		return ""
	}
	if len(plate.Hertz) == 0 {
		return "nameplate hertz are not known, and they count for a motor that is not known to have brushes"
	}
	if plate.Hertz.Off(hertz) > 0 {
		return fmt.Sprintf("nameplate %s Hz, supply %d Hz, and its motor is not known to have brushes",
			plate.Hertz, hertz)
	}
	return ""
}
