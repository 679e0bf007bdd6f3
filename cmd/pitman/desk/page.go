package desk

import (
	"strings"
	"unicode"

	"github.com/gdamore/tcell/v2"
	"github.com/rivo/uniseg"
	"golang.org/x/text/unicode/norm"
)

// page is what a screen shows, before it meets a terminal.
type page struct {
	title string
	body  []line
	keys  string // what the keys do here, on the last line

	focus  int      // the line that must be in sight, if the body is longer than the room
	cursor int      // the column of the text cursor in that line, or -1
	scroll *reading // how far down the page is being read, if it is one to read
	alone  bool     // nothing else stands on the screen but the keys
	pinned int      // so many lines at the top stay in sight, however far down the focus is
}

// line is a line of text in pieces; a piece is plain, strong or marked. No colour says anything: the desk
// reads the same on a paper-white terminal, on a teletype's successor and to someone who cannot tell colours
// apart.
type line []piece

type piece struct {
	text string
	how  how
}

type how int

const (
	plain  how = iota
	strong     // what matters: bold
	marked     // what is chosen, or must not be overlooked: light and dark swapped
	paper      // a symbol for cameras: black on white, whatever the terminal looks like
)

func text(s string) line          { return line{{s, plain}} }
func bold(s string) line          { return line{{s, strong}} }
func (p *page) add(lines ...line) { p.body = append(p.body, lines...) }

// input adds a line that is being typed, and puts the cursor into it.
func (p *page) input(label string, e *editor, width int) {
	label = "   " + label
	shown, at := e.window(width - columns(label) - 1)
	p.add(line{{label, plain}, {shown, strong}})
	p.focus, p.cursor = len(p.body)-1, columns(label)+at
}

// words adds a text that may need several lines.
func (p *page) words(width int, h how, s string) {
	for _, l := range wrap(s, width) {
		p.add(line{{l, h}})
	}
}

// wrap breaks a text into lines between words; a word that is too long is cut.
func wrap(s string, width int) []string {
	width = max(width, 1)
	var lines []string
	at, used := "", 0
	for _, word := range strings.Fields(s) {
		for {
			w := uniseg.StringWidth(word)
			if used > 0 && used+1+w <= width {
				at, used = at+" "+word, used+1+w
				break
			}
			if used > 0 {
				lines, at, used = append(lines, at), "", 0
			}
			if w <= width {
				at, used = word, w
				break
			}
			head := cut(word, width)
			lines, word = append(lines, head), word[len(head):]
		}
	}
	if used > 0 || len(lines) == 0 {
		lines = append(lines, at)
	}
	return lines
}

// cut takes as many characters as fit, one at least.
func cut(s string, width int) string {
	used, end := 0, 0
	for g := uniseg.NewGraphemes(s); g.Next(); {
		if used += g.Width(); used > width && end > 0 {
			break
		}
		_, end = g.Positions()
	}
	return s[:end]
}

// clip shortens a text to a width, and shows that it did.
func clip(s string, width int) string {
	if uniseg.StringWidth(s) <= width {
		return s
	}
	if width < 4 {
		return cut(s, width)
	}
	return cut(s, width-3) + "..."
}

// pad fills a text up to a width.
func pad(s string, width int) string {
	return s + strings.Repeat(" ", max(0, width-uniseg.StringWidth(s)))
}

const (
	margin     = 2 // columns left free at both sides
	aroundBody = 5 // lines above the body, and the one below it
)

// Draw shows the desk. It uses a screen of any size as well as it can; 80 by 24 holds everything.
func (d *Desk) Draw(s tcell.Screen) {
	s.Fill(' ', tcell.StyleDefault)
	s.HideCursor()
	width, height := s.Size()
	if width < 30 || height < 10 {
		paint(s, 0, 0, text("Make this window larger, please."))
		return
	}
	inner := width - 2*margin
	d.width, d.height, d.blocks = inner, height, speaksUTF8(s.CharacterSet())
	p := d.top().view(d, inner)
	foot := d.foot(inner, p.keys, p.alone)
	if m, ok := d.top().(interface{ tighten(bool) }); ok &&
		len(p.body) > height-len(foot)-aroundBody-d.said(inner) {
		m.tighten(true)
		p = d.top().view(d, inner)
		m.tighten(false)
	}

	d.head(s, width)
	paint(s, margin, 2, bold(clip(p.title, inner)))
	bottom := height - len(foot)
	for i, l := range foot {
		paint(s, margin, bottom+i, l)
	}
	rule(s, bottom-1, width)

	top, room := 4, bottom-1-4
	if d.message != "" {
		h := strong
		if d.caution {
			h = marked
		}
		said := wrap(d.message, inner)
		if len(said) > 3 {
			said = append(said[:2], clip(said[2]+"...", inner))
		}
		room -= len(said)
		for i, l := range said {
			paint(s, margin, top+room+i, line{{l, h}})
		}
	}
	for _, l := range p.body[:p.pinned] {
		paint(s, margin, top, l)
		top, room = top+1, room-1
	}
	body, focus := p.body[p.pinned:], p.focus-p.pinned
	from := focus - room + 2
	if p.scroll != nil {
		from = p.scroll.at
	}
	from = max(0, min(from, len(body)-room))
	if p.scroll != nil {
		p.scroll.at = from // so that Up moves at once when Down was pressed beyond the end
	}
	for i := from; i < len(body) && i < from+room; i++ {
		paint(s, margin, top+i-from, body[i])
	}
	if y := focus - from; p.cursor >= 0 && y >= 0 && y < room {
		s.ShowCursor(margin+p.cursor, top+y)
	}
	if from > 0 && room > 1 {
		paint(s, width-9, top, text(" ..above"))
	}
	if from+room < len(body) {
		paint(s, width-8, top+max(room-1, 0), text(" more.."))
	}
}

// said is how many lines the message takes.
func (d *Desk) said(width int) int {
	if d.message == "" {
		return 0
	}
	return min(len(wrap(d.message, width)), 3)
}

// head shows the house, who is there and how much they did.
func (d *Desk) head(s tcell.Screen, width int) {
	right := "nobody is logged in"
	if d.by != "" {
		right = string(d.by) + " · " + count(d.done) + " done today"
	}
	w := uniseg.StringWidth(right)
	paint(s, margin, 0, text(clip(d.Config.House.Name, width-w-3*margin)))
	paint(s, width-w-margin, 0, bold(right))
	rule(s, 1, width)
}

// foot shows what to do next, and the keys.
func (d *Desk) foot(width int, keys string, alone bool) []line {
	var lines []line
	if clock := d.ClockBehind(); clock != "" {
		for _, l := range wrap(clock, width) {
			lines = append(lines, bold(l))
		}
	}
	low := alone || d.height < 16 // the keys come before what only reminds
	if kept := d.kept(); kept != "" && !low {
		lines = append(lines, text(clip(kept, width)))
	}
	if d.next != "" && !low {
		lines = append(lines, text(clip("Next: "+d.next, width)))
	}
	at := ""
	for _, one := range strings.Split(keys, "   ") { // none is cut, or who would know the way back?
		switch {
		case at == "":
			at = one
		case columns(at)+3+columns(one) <= width:
			at += "   " + one
		default:
			lines, at = append(lines, text(clip(at, width))), one
		}
	}
	return append(lines, text(clip(at, width)))
}

// kept says on the first page how well the house is kept.
func (d *Desk) kept() string {
	if _, first := d.top().(*home); !first || d.safekeeping == "" {
		return ""
	}
	return d.safekeeping
}

func rule(s tcell.Screen, y, width int) { paint(s, 0, y, text(strings.Repeat("─", width))) }

// paint puts a line on the screen.
func paint(s tcell.Screen, x, y int, l line) {
	utf8 := speaksUTF8(s.CharacterSet())
	for _, p := range l {
		style := tcell.StyleDefault.Bold(p.how == strong).Reverse(p.how == marked)
		if p.how == paper {
			style = tcell.StyleDefault.Foreground(tcell.ColorBlack).Background(tcell.ColorWhite)
		}
		shown := harmless(p.text)
		if !utf8 {
			shown = spell(s, shown)
		}
		s.PutStrStyled(x, y, shown, style)
		x += uniseg.StringWidth(shown)
	}
}

// harmless keeps control characters and marks that turn the writing round off the screen, whatever file they
// came from.
func harmless(s string) string {
	return strings.Map(func(r rune) rune {
		if r == '\n' { // of a note that has several lines
			return ' '
		}
		if unicode.IsControl(r) || r >= 0x202A && r <= 0x202E || r >= 0x2066 && r <= 0x2069 {
			return '?'
		}
		return r
	}, s)
}

// letters for terminals that know no others.
var ascii = strings.NewReplacer("─", "-", "█", "#", "·", "-", "…", ".", "–", "-", "→", "->", "▸", ">", "×",
	"x", "’", "'", "Ω",
	"ohm", "µ", "u", "²", "2",
	"ß", "ss", "ø", "o", "Ø", "O", "æ", "ae", "Æ", "AE", "ł", "l", "Ł", "L")

// spell writes a text with the letters that the terminal has: without its accent a name can still be read.
func spell(s tcell.Screen, t string) string {
	if !hasWide(t) {
		return t
	}
	var b strings.Builder
	for _, r := range ascii.Replace(t) {
		//lint:ignore SA1019 nothing else tells what a terminal without UTF-8 can show
		if r < 0x80 || s.CanDisplay(r, false) {
			b.WriteRune(r)
			continue
		}
		base := rune('?')
		for _, part := range norm.NFKD.String(string(r)) {
			if part < 0x80 {
				base = part
			}
			break
		}
		b.WriteRune(base)
	}
	return b.String()
}

func hasWide(s string) bool {
	for i := 0; i < len(s); i++ {
		if s[i] >= 0x80 {
			return true
		}
	}
	return false
}

// columns is how wide a text is on the screen.
func columns(s string) int { return uniseg.StringWidth(s) }
