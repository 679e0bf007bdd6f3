package desk

import (
	"image"
	"strings"
	"time"

	"github.com/gdamore/tcell/v2"
	"golang.org/x/image/font"
	"golang.org/x/image/font/basicfont"
	"golang.org/x/image/math/fixed"

	"pitman/registry"
	"pitman/registry/stock"
)

// logged shows the tag of what was just logged, large enough to copy onto the tie-on label across a bench.
type logged struct {
	tag    registry.Tag
	about  string
	m      *stock.Machine // nil for a base
	hangs  bool           // its tag was printed ahead, and hangs on it
	next   func(d *Desk)  // logs the next one
	unread []string       // tables that may know more of its year
	seen   time.Time      // since when the tag can be read, and no Enter came
	menu
}

// twice is how soon a second Enter comes that was not meant: the key bounced, or was held down and repeats.
const twice = 60 * time.Millisecond

func (s *logged) wake(d *Desk) {
	s.seen = d.now
	if s.m != nil {
		s.unread = d.unreadTables()
	}
	s.items = d.labelItem(s.tag)
	s.add('o', "open it: what comes next", func(d *Desk) {
		d.back()
		d.open(s.tag)
	})
	s.items = append(s.items, d.vanItems(s.m)...)
}

func (s *logged) view(d *Desk, width int) page {
	p := page{title: "Write this on the tie-on label, and tie it on now",
		keys: "Enter log the next one   Esc done", cursor: -1}
	if s.hangs {
		p.title = "Logged: its blank tag hangs on it"
	}
	for _, l := range large(string(s.tag), width) {
		p.add(bold(l))
	}
	p.add(nil, line{{string(s.tag), strong}, {"   " + clip(s.about, width-12), plain}})
	if s.m != nil {
		warnings(d, &p, s.m)
	}
	for _, l := range s.unread {
		p.words(width, strong, l)
	}
	s.show(&p, width)
	return p
}

func (s *logged) key(d *Desk, k *tcell.EventKey) {
	if k.Key() == tcell.KeyEnter && s.at == 0 {
		if d.now.Sub(s.seen) < twice {
			s.seen = d.now
			return
		}
		d.back()
		if d.say("%s is logged. Tie its label on before you take the next one.", s.tag); s.hangs {
			d.say("%s is logged.", s.tag)
		}
		s.next(d)
		return
	}
	if !s.press(d, k) {
		unknown(d, k)
	}
}

// large draws a word with full cells, twice as wide as high where there is room, since a cell is twice as
// high as wide.
func large(word string, width int) []string {
	face := basicfont.Face7x13
	picture := image.NewAlpha(image.Rect(0, 0, font.MeasureString(face, word).Ceil(), face.Height))
	pen := font.Drawer{Dst: picture, Src: image.Opaque, Face: face, Dot: fixed.P(0, face.Ascent)}
	pen.DrawString(word)
	ink := inked(picture)
	cell := 1
	if ink.Dx()*2 <= width {
		cell = 2
	}
	var lines []string
	for y := ink.Min.Y; y < ink.Max.Y; y++ {
		var b strings.Builder
		for x := ink.Min.X; x < min(ink.Max.X, ink.Min.X+width/cell); x++ {
			dot := " "
			if picture.AlphaAt(x, y).A > 0x7F {
				dot = "█"
			}
			b.WriteString(strings.Repeat(dot, cell))
		}
		lines = append(lines, strings.TrimRight(b.String(), " "))
	}
	return lines
}

// inked is the part of a picture that has ink in it.
func inked(picture *image.Alpha) image.Rectangle {
	var ink image.Rectangle
	b := picture.Bounds()
	for y := b.Min.Y; y < b.Max.Y; y++ {
		for x := b.Min.X; x < b.Max.X; x++ {
			if picture.AlphaAt(x, y).A > 0x7F {
				ink = ink.Union(image.Rect(x, y, x+1, y+1))
			}
		}
	}
	return ink
}
