package desk

import (
	"fmt"

	"github.com/gdamore/tcell/v2"
)

// pager is a menu of more lines than the screen has room for: as many as it holds stand there, the first nine
// of them with a figure each; the arrows reach every one.
type pager struct {
	menu
	all  []item // every line, without a key
	from int    // the first one in sight
	rows int    // so many there is room for
	cut  bool   // there were more than are kept here
}

const (
	figures  = 9   // one key each
	maxPaged = 500 // more than anybody looks through: whoever has more types a longer piece
)

func (g *pager) line(label string, do func(d *Desk)) {
	g.all = append(g.all, item{label: label, do: do})
}

// lay puts so many lines in sight.
func (g *pager) lay(rows int) {
	g.rows = max(rows, 1)
	if over := g.at - g.rows; over > 0 { // what is chosen stays in sight on a smaller screen
		g.from, g.at = g.from+over, g.rows
	}
	if len(g.all) <= g.rows { // on a larger one all are
		if g.at > 0 {
			g.at += g.from
		}
		g.from = 0
	}
	g.from = max(0, min(g.from, len(g.all)-1))
	g.items = nil
	for i, it := range g.all[g.from:min(g.from+g.rows, len(g.all))] {
		if it.key = ' '; i < figures {
			it.key = rune('1' + i)
		}
		g.items = append(g.items, it)
	}
	g.at = min(g.at, len(g.items))
}

// press chooses, or turns to the lines before or behind; it says whether the key was one of these.
func (g *pager) press(d *Desk, k *tcell.EventKey) bool {
	rows, first, last := g.rows, g.at <= 1, g.at == len(g.items)
	forward, back := g.from+rows < len(g.all), g.from > 0
	turn := func(from, at int) bool {
		g.from, g.at = max(0, from), 0
		g.lay(rows)
		g.at = min(at, len(g.items))
		return true
	}
	switch {
	case k.Key() == tcell.KeyRune && k.Rune() == ' ': // a line without a figure has it for a key
		return false
	case k.Key() == tcell.KeyPgDn || k.Key() == tcell.KeyRune && k.Rune() == '+':
		if !forward {
			d.say("These are the last.")
			return true
		}
		return turn(g.from+rows, 0)
	case k.Key() == tcell.KeyPgUp || k.Key() == tcell.KeyRune && k.Rune() == '-':
		if !back {
			d.say("These are the first.")
			return true
		}
		return turn(g.from-rows, 0)
	case k.Key() == tcell.KeyDown && last && forward:
		return turn(g.from+rows, 1)
	case k.Key() == tcell.KeyUp && first && back:
		return turn(g.from-rows, rows)
	}
	return g.menu.press(d, k)
}

// where says which of how many stand in sight, and how to reach the others; "" when all do.
func (g *pager) where() string {
	if len(g.items) == len(g.all) && !g.cut {
		return ""
	}
	s := fmt.Sprintf("   %d–%d of %d", g.from+1, g.from+len(g.items), len(g.all))
	if g.cut {
		s += " and more"
	}
	if g.from+len(g.items) < len(g.all) {
		s += "   + further"
	}
	if g.from > 0 {
		s += "   - back"
	}
	return s
}

// room is how many lines a page has between its title and the keys, one of them kept for what is said there;
// plainly says that the desk is read line by line, without a screen.
func (d *Desk) room(keys string) (rows int, plainly bool) {
	if d.height == 0 {
		return figures, true
	}
	return d.height - aroundBody - len(d.foot(d.width, keys, false)) - max(1, d.said(d.width)), false
}
