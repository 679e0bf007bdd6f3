package desk

import (
	"unicode"

	"github.com/gdamore/tcell/v2"
)

// item is one thing that a single key does.
type item struct {
	key   rune // a small letter or a figure
	label string
	note  string // in which state, or with what caution
	do    func(d *Desk)
}

// menu is a list of them. Arrows and Enter do as well as letters, for whoever looks for them first.
type menu struct {
	items []item
	at    int // the chosen line counted from 1, or 0
}

func (m *menu) add(key rune, label string, do func(d *Desk)) {
	m.items = append(m.items, item{key: key, label: label, do: do})
}

func (m *menu) show(p *page) {
	for i, it := range m.items {
		h := plain
		if i+1 == m.at {
			h = marked
			p.focus = len(p.body)
		}
		l := line{{" ", plain}, {string(it.key), strong}, {"   ", plain}, {it.label, h}}
		if it.note != "" {
			l = append(l, piece{"   " + it.note, plain})
		}
		p.add(l)
	}
}

// key chooses; it says whether the key was one of the menu's.
func (m *menu) press(d *Desk, k *tcell.EventKey) bool {
	switch k.Key() {
	case tcell.KeyDown, tcell.KeyTab:
		m.at = m.at%max(1, len(m.items)) + 1
		return true
	case tcell.KeyUp, tcell.KeyBacktab:
		if m.at--; m.at < 1 {
			m.at = len(m.items)
		}
		return true
	case tcell.KeyEnter:
		if m.at > 0 && m.at <= len(m.items) {
			m.items[m.at-1].do(d)
			return true
		}
		return false
	case tcell.KeyRune:
		for _, it := range m.items {
			if it.key == unicode.ToLower(k.Rune()) {
				it.do(d)
				return true
			}
		}
	}
	return false
}

// unknown says that a letter does nothing here.
func unknown(d *Desk, k *tcell.EventKey) {
	if k.Key() == tcell.KeyRune {
		d.say("%q does nothing here. Press one of the letters on the left.", string(k.Rune()))
	}
}
