// Package mains says which parts of a head carry the mains, and what is known of each. A gate asks here
// whether anything on a machine takes the mains, or may; what the machine is called, hand or electric,
// answers that only where nobody ever told otherwise. It is pure.
package mains

import (
	"slices"
	"strings"
	"unicode"

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

// wiring are the words, or their beginnings, that people use for what the mains runs through, beside the parts.
var wiring = []string{"wire", "wiring", "rewir", "flex", "lead", "cable", "fuse", "bulb", "pedal", "carbon",
	"solder", "socket", "earth", "ground", "electr", "insulat", "resist", "connector", "terminal", "condenser"}

// Named says whether a note speaks of what carries the mains, by any of the usual words. A word too many only
// asks for a test.
func Named(note string) bool {
	note = strings.ToLower(note)
	if slices.ContainsFunc(Kinds, func(part string) bool {
		return strings.Contains(strings.ReplaceAll(note, " ", "-"), part)
	}) {
		return true
	}
	return slices.ContainsFunc(strings.FieldsFunc(note, func(r rune) bool { return !unicode.IsLetter(r) }),
		func(word string) bool {
			return slices.ContainsFunc(wiring, func(w string) bool { return strings.HasPrefix(word, w) })
		})
}

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
