// Package mains says which parts of a head carry the mains, and what is known of each. A gate asks here
// whether anything on a machine takes the mains, or may; what the machine is called, hand or electric,
// answers that only where nobody ever told otherwise. It is pure.
package mains

import (
	"regexp"
	"slices"
	"strings"

	"pitman/registry"
)

// State is what is known of a part.
type State string

const (
	Fitted  State = "fitted"
	Off     State = "off"     // it was taken off
	Failed  State = "failed"  // it is on the machine, and did not pass
	Unknown State = "unknown" // nobody has looked yet
	Never   State = "never"   // it never had one
)

// States lists every state.
var States = []State{Fitted, Off, Failed, Unknown, Never}

// Kinds are the parts that carry the mains, or what an adapter makes of it.
var Kinds = []string{"motor", "cord", "plug", "foot-control", "lamp", "switch", "capacitor", "adapter"}

// Part is one part with its state.
type Part struct {
	Part  string `json:"part"`
	State State  `json:"state"`
}

// Parts are the parts of one head that anybody said something of.
type Parts []Part

// MarshalJSON writes [] when nobody said anything.
func (p Parts) MarshalJSON() ([]byte, error) { return registry.List[Part](p).MarshalJSON() }

// Of is the state of one part. Of what nobody spoke of, an electric head may have any, and another has none.
func (p Parts) Of(part string, electric bool) State {
	i := slices.IndexFunc(p, func(one Part) bool { return one.Part == part })
	switch {
	case i >= 0:
		return p[i].State
	case electric:
		return Unknown
	}
	return Never
}

// All lists every part in its order, with its state.
func (p Parts) All(electric bool) Parts {
	all := make(Parts, len(Kinds))
	for i, kind := range Kinds {
		all[i] = Part{kind, p.Of(kind, electric)}
	}
	return all
}

// On lists the parts that are on the head, or may be.
func (p Parts) On(electric bool) Parts {
	return slices.DeleteFunc(p.All(electric),
		func(one Part) bool { return one.State == Off || one.State == Never })
}

// Set gives a part a state and returns the parts, in their order.
func (p Parts) Set(part string, s State) Parts {
	set := Parts{}
	for _, kind := range Kinds {
		i := slices.IndexFunc(p, func(one Part) bool { return one.Part == kind })
		switch {
		case kind == part:
			set = append(set, Part{kind, s})
		case i >= 0:
			set = append(set, p[i])
		}
	}
	return set
}

// Look makes fitted what nobody had looked at: a competent person did, and passed it.
func (p Parts) Look(electric bool) Parts {
	for _, one := range p.All(electric) {
		if one.State == Unknown || one.State == Failed {
			p = p.Set(one.Part, Fitted)
		}
	}
	return p
}

// String names the parts with their states.
func (p Parts) String() string {
	said := make([]string, len(p))
	for i, one := range p {
		said[i] = one.Part + " " + string(one.State)
	}
	return strings.Join(said, ", ")
}

// Check refuses parts and states that are none, and a part that stands twice: a file from elsewhere may say
// anything.
func (p Parts) Check() error {
	for i, one := range p {
		if _, err := ParsePart(one.Part); err != nil {
			return err
		}
		if _, err := registry.OneOf("state", string(one.State), States); err != nil {
			return err
		}
		if slices.ContainsFunc(p[:i], func(o Part) bool { return o.Part == one.Part }) {
			return registry.Errorf(registry.Invalid,
				"part %q stands twice among the mains parts: give it once", one.Part)
		}
	}
	return nil
}

// ParsePart reads the name of a part that carries the mains.
func ParsePart(s string) (string, error) { return registry.OneOf("part", s, Kinds) }

// ParseState reads what a person says of a part. Failed comes from a test alone.
func ParseState(s string) (State, error) {
	return registry.OneOf("state", s, []State{Fitted, Off, Unknown, Never})
}

// spoken finds the words that people use for the parts, and for what else the mains runs through: those of
// the first line anywhere in a word, of the next ones at its beginning, and of the last ones as a whole word.
var spoken = regexp.MustCompile(`(?i)motor|plug|switch|adapt[eo]r|capacitor|mains` +
	`|(?:^|\P{L})(?:cord|lamp|control|wire|wiring|re-?wir|flex|lead|cable|fuse|bulb|pedal|carbon|` +
	`(?:re|de)?solder|socket|outlet|inlet|earth|ground|neutral|polarity|phase|electr|insulat|resist` +
	`|rheostat|potentiomet|connector|contact|terminal|condenser|thermostat|relay|transformer|dimmer|rectifier` +
	`|diode|triac|thyristor|varistor|suppress|circuit|overload|cut-?out|speed|power|current|volt|watt|ohm|` +
	`amper|milliamp|batter|charger|supply|braid|strain|fray|sleev|shrink|crimp|ferrule|grommet|gland|junction|` +
	`armature|commutator|stator|rotor|coil|rewound|spark|smok|burn|shock|(?:two|three|[23])[ -]?pin)` +
	`|(?:^|\P{L})(?:brush(?:es)?|lines?|live|lights?|leds?|amps?|tap(?:e|es|ed|ing)|rcd)(?:\P{L}|$)` +
	`|\d ?(?:v|a|w|ma|kv|hz)(?:\P{L}|$)|[Ωω]`)

// tools are cleaned with, and are no wire or brush of the machine.
var tools = regexp.MustCompile(`(?i)(^|\P{L})wire[ -](?:wool|brush)(\P{L}|$)`)

// Named says whether a note, or the words of a job, speak of what carries the mains, by any of the usual
// words. A word too many only asks for a test.
func Named(note string) bool { return spoken.MatchString(tools.ReplaceAllString(note, "$1$2")) }

// InSpare names the parts that a part of the shelf brings along, by the word of the house's list for it. A
// cord comes with its plug.
func InSpare(part string) []string {
	switch {
	case part == "cord":
		return []string{"cord", "plug"}
	case IsPlug(part):
		return []string{"plug"}
	case slices.Contains(Kinds, part):
		return []string{part}
	}
	return nil
}

// IsPlug says whether a word of the house's list of parts means a mains plug: plug-g, plug.
func IsPlug(part string) bool { return part == "plug" || strings.HasPrefix(part, "plug-") }
