package labels

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"slices"
	"strings"

	"pitman/labels/colour"
)

// Says is what a label states, by name, such as "year". A registry keeps it with each print: where it differs
// from what the label would say today, the one on the machine is stale. How it looks, and the house's address
// in its symbol, are not part of it: a new scheme by itself makes no label untrue.
type Says map[string]string

// Says is what the face states.
func (f *Face) Says() Says {
	s := Says{}
	if f.drive != "" {
		s["drive"] = f.drive
	}
	for _, l := range f.Lines {
		if l.Name == "if_found" || l.Name == "" {
			continue
		}
		name := l.Name
		if l.Caution && name == "safety" {
			name = "caution"
		}
		if was := s[name]; was != "" {
			s[name] = was + "\n" + l.Text
			continue
		}
		s[name] = l.Text
	}
	return s
}

// Text is the statement as it is kept.
func (s Says) Text() string {
	text, err := json.Marshal(s)
	if err != nil {
		panic(err) // strings only
	}
	return string(text)
}

// Changed names what differs from what was kept, in alphabetical order. What cannot be read differs in
// nothing that can be named.
func (s Says) Changed(kept string) (names []string, ok bool) {
	var was Says
	if json.Unmarshal([]byte(kept), &was) != nil {
		return nil, false
	}
	for name, text := range s {
		if was[name] != text {
			names = append(names, name)
		}
	}
	for name := range was {
		if _, still := s[name]; !still {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	return names, true
}

// PrintedAs says whether a hash that an earlier program kept can be this face's. That hash took in the look
// as well; the house's present scheme and the default of that program are tried, with the present address.
func (f *Face) PrintedAs(fingerprint string, s *Scheme) bool {
	bands := []*Band{nil}
	if f.drive != "" {
		now := s.Drive[f.drive]
		now.Word = strings.TrimSpace(now.Word)
		before := earlierDrives[f.drive]
		own := before
		own.Word = now.Word // a house that chose the words alone
		bands = []*Band{&now, &before, &own}
	}
	for _, b := range bands {
		text, err := json.Marshal(struct {
			Headline string `json:"headline"`
			Payload  string `json:"payload"`
			Band     *Band  `json:"band,omitempty"`
			Lines    []Line `json:"lines"`
			OnMetal  bool   `json:"on_metal,omitempty"`
		}{f.Headline, f.Payload, b, f.old, f.OnMetal})
		if err != nil {
			panic(err) // strings and bools only
		}
		if sum := sha256.Sum256(text); hex.EncodeToString(sum[:8]) == fingerprint {
			return true
		}
	}
	return false
}

// earlierDrives were the default bands when labels kept a hash only.
var earlierDrives = map[string]Band{
	"hand":     {"HAND", colour.RGB(0xd4, 0x68, 0x2a), black, "dots"},
	"treadle":  {"TREADLE", colour.RGB(0xb9, 0xe4, 0xc9), black, "rising"},
	"electric": {"ELECTRIC", colour.RGB(0x5a, 0x18, 0x46), white, "checks"},
}

// oldLines are the lines in the order and weight that earlier programs gave them.
func (m Machine) oldLines() []Line {
	f := &Face{}
	if m.Mains && !m.Safety.done() {
		f.caution("safety", notTested)
	}
	f.say("maker", true, strings.TrimSpace(m.Maker+" "+m.Model))
	f.say("serial", false, serialLine(m.Serial))
	f.say("year", false, m.Year)
	if m.Tested.done() {
		f.say("tested", false, "tested "+m.Tested.String())
	}
	if m.Mains && m.Safety.done() {
		f.say("safety", false, "safety tested "+m.Safety.String())
	}
	return f.Lines
}
