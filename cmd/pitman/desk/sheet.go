package desk

import (
	"fmt"
	"strings"

	"github.com/gdamore/tcell/v2"

	"pitman/registry"
	"pitman/registry/fields"
	"pitman/registry/stock"
)

// sheet lists all that can be written about a head or base; Enter changes the line that is chosen, and each
// change is kept at once.
type sheet struct {
	title string
	rows  func(d *Desk) ([]sheetRow, error)
	now   []sheetRow
	m     *stock.Machine

	at    int
	typed bool // the chosen line is being typed
	field editor
}

type sheetRow struct {
	name, value, hint string
	set               func(d *Desk, typed string) error
}

func (s *sheet) typing() *editor {
	if s.typed {
		return &s.field
	}
	return nil
}

func (s *sheet) wake(d *Desk) {
	rows, err := s.rows(d)
	if !d.refuse(err) {
		s.now = rows
	}
	s.at = min(s.at, max(0, len(s.now)-1))
}

func (s *sheet) view(d *Desk, width int) page {
	p := page{title: s.title, keys: "Up, Down choose   Enter change that line   Esc done", cursor: -1}
	if s.m != nil {
		warnings(d, &p, s.m)
	}
	for i, r := range s.now {
		h := plain
		if i == s.at {
			h = marked
			p.focus = len(p.body)
		}
		name := piece{" " + pad(r.name, labelWidth+2) + " ", h}
		if i != s.at || !s.typed {
			p.add(line{name, {" " + clip(r.value, width-labelWidth-5), strong}})
			continue
		}
		shown, at := s.field.window(width - labelWidth - 6)
		p.add(line{name, {" " + shown, strong}})
		p.cursor, p.keys = labelWidth+5+at, "Enter keep it   Esc leave it as it was"
		for _, l := range wrap(r.hint, width-labelWidth-5) {
			p.add(text(strings.Repeat(" ", labelWidth+5) + l))
		}
	}
	return p
}

func (s *sheet) key(d *Desk, k *tcell.EventKey) {
	if s.typed {
		if s.field.key(k) {
			return
		}
		if k.Key() == tcell.KeyEnter {
			s.take(d, strings.TrimSpace(s.field.text()))
		}
		return
	}
	if len(s.now) == 0 {
		return // it could not be read, as the page says
	}
	switch k.Key() {
	case tcell.KeyDown, tcell.KeyTab:
		s.at = min(s.at+1, len(s.now)-1)
	case tcell.KeyUp, tcell.KeyBacktab:
		s.at = max(s.at-1, 0)
	case tcell.KeyEnter:
		s.typed, s.field = true, edit(s.now[s.at].value)
	default:
		if k.Key() == tcell.KeyRune {
			d.say("Choose a line with Up and Down, and press Enter to change it.")
		}
	}
}

func (s *sheet) take(d *Desk, typed string) {
	row := s.now[s.at]
	if typed == row.value {
		s.typed = false
		return
	}
	if d.refuse(row.set(d, typed)) {
		return
	}
	s.typed = false
	s.wake(d)
	d.say("%s is written. The history keeps what stood there before.", row.name)
	d.refresh()
}

func (s *sheet) esc(*Desk) bool {
	was := s.typed
	s.typed = false
	return was
}

// scan takes a tag where one is asked.
func (s *sheet) scan(d *Desk, tag registry.Tag) bool {
	if !s.typed || s.now[s.at].name != "arrived with" {
		return false
	}
	s.take(d, string(tag))
	return true
}

func machineSheet(tag registry.Tag) *sheet {
	s := &sheet{title: fmt.Sprintf("%s: details and measures", tag)}
	s.rows = func(d *Desk) ([]sheetRow, error) {
		m, err := d.Machine(d.ctx, tag)
		if err != nil {
			return nil, err
		}
		s.m = m
		return sheetRows(stock.MachineFields, m, func(d *Desk, correct func(*stock.Machine) error) error {
			_, err := d.Amend(d.ctx, d.by, tag, "", correct)
			return err
		}), nil
	}
	return s
}

func baseSheet(tag registry.Tag) *sheet {
	return &sheet{title: fmt.Sprintf("%s: measures and details", tag),
		rows: func(d *Desk) ([]sheetRow, error) {
			b, err := d.Base(d.ctx, tag)
			if err != nil {
				return nil, err
			}
			return sheetRows(stock.BaseFields, b, func(d *Desk, correct func(*stock.Base) error) error {
				_, err := d.AmendBase(d.ctx, d.by, tag, "", correct)
				return err
			}), nil
		}}
}

func sheetRows[T any](typed []fields.Of[T], of *T, amend func(*Desk, func(*T) error) error) []sheetRow {
	var rows []sheetRow
	for _, f := range typed {
		rows = append(rows,
			sheetRow{name: strings.ReplaceAll(f.Name, "-", " "), value: strings.Join(f.Get(of), ", "),
				hint: f.Usage + " (" + f.Value + ")",
				set: func(d *Desk, typed string) error {
					values := []string{typed}
					if f.Many {
						values = fields.SplitMany(typed)
					}
					return amend(d, func(t *T) error { return f.Set(t, values) })
				}})
	}
	return rows
}
