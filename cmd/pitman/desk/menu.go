package desk

import (
	"slices"
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
	at    int  // the chosen line counted from 1, or 0
	tight bool // the screen has no room for one line each
}

// tighten has the items stand in two columns, shortened if need be: every key must be in sight.
func (m *menu) tighten(on bool) { m.tight = on }

// A page that is all menu takes no text, and no keys but the menu's.
func (m *menu) typing() *editor { return nil }

func (m *menu) key(d *Desk, k *tcell.EventKey) {
	if !m.press(d, k) {
		unknown(d, k)
	}
}

func (m *menu) add(key rune, label string, do func(d *Desk)) {
	m.items = append(m.items, item{key: key, label: label, do: do})
}

// show lists the items; many of them stand in two columns, so that all are in sight, unless that would cut
// their words.
func (m *menu) show(p *page, width int) {
	long := slices.ContainsFunc(m.items, func(it item) bool { return columns(it.label) > width/2-keyWidth })
	if n := len(m.items); n > maxInColumn && (!long || m.tight) && width < endless {
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
			label := it.label
			if m.tight {
				label, _, _ = strings.Cut(label, ":")
			}
			l = append(l, piece{" ", plain}, piece{string(it.key), strong}, piece{"   ", plain},
				piece{clip(label, column-keyWidth), h})
		}
		p.add(l)
	}
}

const (
	maxInColumn = 8
	keyWidth    = 5 // of the key before a label, and the blanks round it
)

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

// letter is the letter of a key as menus write it, small, or 0 for a key that is none.
func letter(k *tcell.EventKey) rune {
	if k.Key() != tcell.KeyRune {
		return 0
	}
	return unicode.ToLower(k.Rune())
}

// unknown says that a letter does nothing here.
func unknown(d *Desk, k *tcell.EventKey) {
	if k.Key() == tcell.KeyRune {
		d.stray = true
		d.say("%q does nothing here. Press one of the letters on the left.", string(k.Rune()))
	}
}
