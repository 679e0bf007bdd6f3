package desk

import (
	"github.com/gdamore/tcell/v2"

	"pitman/registry"
)

// Pair makes a code that pairs one phone with a person; nil where no phone can be paired.
type Pair func(by registry.Initials) (Pairing, error)

// Pairing is what pairs a phone: its symbol is scanned, or its code is typed at its address.
type Pairing struct {
	Symbol   []string // lines of half blocks, dark on light
	At, Code string
	Here     bool // only this computer gets there, and no phone
}

// pairing shows a code to the person whose phone it is for.
type pairing struct {
	by registry.Initials
	Pairing
}

// pairPhone makes the code and shows it.
func pairPhone(d *Desk) {
	made, err := d.Pair(d.by)
	if !d.refuse(err) {
		d.push(&pairing{d.by, made})
	}
}

// view has nothing below the symbol, which a window of 80 by 24 holds just so.
func (s *pairing) view(d *Desk, width int) page {
	p := page{title: "Scan this with the phone of " + string(s.by), keys: "Esc done", cursor: -1, alone: true}
	open := "Or open, on the phone:"
	if s.Here {
		p.title = "Only this computer is answered, and no phone"
		open = "In a browser of this computer, open:"
	}
	wide := 0
	// else it would be no symbol, and the code can be typed
	if !s.Here && len(s.Symbol) > 0 && d.height > 0 && d.blocks {
		wide = columns(s.Symbol[0]) + 3
	}
	var said []line
	for _, words := range []string{"It works once, within ten minutes, and only for " + string(s.by) + ".",
		"",
		open, s.At, "and type", s.Code} {
		how := plain
		if words == s.Code {
			how = strong
		}
		if words == "" {
			said = append(said, line{{"", plain}})
			continue
		}
		for _, l := range wrap(words, max(width-wide, 10)) {
			said = append(said, line{{l, how}})
		}
	}
	if wide == 0 {
		p.add(said...)
		return p
	}
	for i := range max(len(s.Symbol), len(said)) {
		var l line
		if i < len(s.Symbol) {
			l = line{{s.Symbol[i], paper}, {"   ", plain}}
		} else {
			l = line{{pad("", wide), plain}}
		}
		if i < len(said) {
			l = append(l, said[i]...)
		}
		p.add(l)
	}
	return p
}

func (s *pairing) key(*Desk, *tcell.EventKey) {}
func (s *pairing) typing() *editor            { return nil }
