package desk

import (
	"strings"
	"unicode"

	"github.com/gdamore/tcell/v2"
)

// item is one thing that a single key does.
type item struct {
	key   rune // a small letter or a figure
	label string
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

// show lists the items; many of them stand in two columns, so that all are in sight.
func (m *menu) show(p *page, width int) {
	if n := len(m.items); n > mostInColumn {
		m.rows(p, (n+1)/2, width/2)
		return
	}
	m.column(p, width)
}

// column lists them one below the other.
func (m *menu) column(p *page, width int) { m.rows(p, len(m.items), width) }

func (m *menu) rows(p *page, rows, column int) {
	for y := range rows {
		var l line
		for i := y; i < len(m.items); i += rows {
			it := m.items[i]
			h := plain
			if i+1 == m.at {
				h = marked
				p.focus = len(p.body)
			}
			if i > y {
				used := 0
				for _, part := range l {
					used += columns(part.text)
				}
				l = append(l, piece{strings.Repeat(" ", max(1, column-used)), plain})
			}
			l = append(l, piece{" ", plain}, piece{string(it.key), strong}, piece{"   ", plain}, piece{clip(it.label, column-5), h})
		}
		p.add(l)
	}
}

const mostInColumn = 8

// press chooses; it says whether the key was one of the menu's.
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
