package desk

import (
	"unicode"
	"unicode/utf8"

	"github.com/gdamore/tcell/v2"
	"github.com/rivo/uniseg"

	"pitman/registry"
)

// longest is how much a field takes; the rules of the house ask for less.
const longest = 2000

// editor is one line of text being typed: what stands before the cursor and what stands behind it.
type editor struct{ before, after string }

func edit(text string) editor { return editor{before: text} }

func (e *editor) text() string { return e.before + e.after }

// key changes the line; it says whether the key was one for it.
func (e *editor) key(k *tcell.EventKey) bool {
	switch k.Key() {
	case tcell.KeyRune:
		if (unicode.IsPrint(k.Rune()) || registry.Joins(k.Rune())) &&
			utf8.RuneCountInString(e.text()) < longest {
			e.before += string(k.Rune())
		}
	case tcell.KeyBackspace, tcell.KeyBackspace2:
		e.before, _ = cutLast(e.before)
	case tcell.KeyDelete:
		_, e.after = cutFirst(e.after)
	case tcell.KeyLeft:
		before, last := cutLast(e.before)
		e.before, e.after = before, last+e.after
	case tcell.KeyRight:
		first, after := cutFirst(e.after)
		e.before, e.after = e.before+first, after
	case tcell.KeyHome, tcell.KeyCtrlA:
		e.before, e.after = "", e.text()
	case tcell.KeyEnd, tcell.KeyCtrlE:
		e.before, e.after = e.text(), ""
	case tcell.KeyCtrlU:
		e.before, e.after = "", ""
	default:
		return false
	}
	return true
}

// cutFirst and cutLast take one character off, as people see characters: a letter with its accents is one.
func cutFirst(s string) (first, rest string) {
	first, rest, _, _ = uniseg.FirstGraphemeClusterInString(s, -1)
	return first, rest
}

func cutLast(s string) (rest, last string) {
	g := uniseg.NewGraphemes(s)
	at := 0
	for g.Next() {
		at, _ = g.Positions()
	}
	return s[:at], s[at:]
}

// window is the part of the line that fits, with the cursor's column in it.
func (e *editor) window(width int) (shown string, cursor int) {
	before := e.before
	for uniseg.StringWidth(before) >= width {
		_, before = cutFirst(before)
	}
	return cut(before+e.after+" ", width), uniseg.StringWidth(before)
}
