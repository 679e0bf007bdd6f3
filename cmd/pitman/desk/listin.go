package desk

import (
	"fmt"
	"path/filepath"
	"strings"

	"github.com/gdamore/tcell/v2"

	"pitman/registry"
	"pitman/registry/house"
	"pitman/registry/imports"
	"pitman/registry/misread"
	"pitman/registry/movein"
)

// faultsShown is how much of what is wrong with a list is shown.
const faultsShown = 12

// importList asks for a spreadsheet, and shows what would come in of it.
func importList(d *Desk) {
	d.begin(&form{title: "Import the machines of a spreadsheet",
		notes: []string{"CSV or a workbook (.xlsx), with a row that names the columns. Nothing is written " +
			"yet: " +
			"the next page says what would come in."},
		asked: []question{{name: "file", label: "File",
			hint: "Its whole path: type it, paste it, or drag the file into this window."}},
		do: func(d *Desk, a answers) (string, error) {
			s := &listIn{path: pathTyped(a["file"])}
			if err := s.fetch(); err != nil {
				return "", err
			}
			if err := s.look(d); err != nil {
				return "", err
			}
			d.push(s)
			return "", nil
		}})
}

// listIn is a list on its way in: what was found in it and answered of it, what it would do, and its Enter.
// What was answered is replaced and never changed, for memory.
type listIn struct {
	path string
	text []byte // as it was read: what comes in is what was shown

	kind    movein.Kind // of its rows; "" is machines
	row     int         // that names the columns, where somebody said so
	update  bool        // machines that are here take over what differs
	answers []imports.ColumnName
	decided map[int]imports.Decided
	read    map[misread.Word]string

	header  *imports.Header // nil where it cannot be read
	offered []offeredWord
	last    int // row
	result  *imports.Result
	typed   bool
	reading
}

// offeredWord is a word of the list that is perhaps another.
type offeredWord struct {
	imports.NearMiss
	taken bool
}

// rows counts what comes in.
func (s *listIn) rows(n int) string {
	switch s.kind {
	case movein.Bases:
		return registry.Counted(n, "new base")
	case movein.Partners:
		return registry.Counted(n, "new partner")
	case movein.Orders:
		return registry.Counted(n, "new line") + " of orders"
	}
	return registry.Counted(n, "new machine")
}

func (s *listIn) view(d *Desk, width int) page {
	p := page{title: "Import " + filepath.Base(s.path), keys: "Up, Down look further   Esc leave it",
		cursor: -1, scroll: &s.reading}
	r := s.result
	p.words(width, strong, fmt.Sprintf("%d new, %d the same, %d changed, %s", r.New, r.Same, r.Changed,
		registry.Counted(r.Faulty, "fault")))
	switch {
	case r.Faulty > 0:
		p.words(width, plain, "Nothing of it can come in before the faults are mended.")
	case r.New+r.Changed == 0:
		p.words(width, plain, "All of it is in the house already.")
	default:
		does := "imports " + s.rows(r.New)
		if r.Changed > 0 {
			does += fmt.Sprintf(", changes %d", r.Changed)
		}
		p.words(width, marked, fmt.Sprintf("Enter %s, as %s", does, d.by))
		p.keys = "Enter imports   " + p.keys
	}
	p.pinned = len(p.body)
	m := menu{items: s.asks()}
	m.column(&p, width)
	for i, o := range s.offered {
		at := "   "
		if i < figures {
			at = fmt.Sprintf(" %d ", i+1)
		}
		said := fmt.Sprintf("%s: read %q as %s, in %s", o.Field, o.Value, o.Near,
			registry.Counted(o.Rows, "row"))
		if o.taken {
			said = fmt.Sprintf("%s: %q is read as %s", o.Field, o.Value, o.Near)
		}
		p.words(width, plain, at+" "+said)
	}
	s.wrong(d, &p, width)
	if s.header != nil {
		p.words(width, plain, "Found: "+s.header.Sheet.Looked()+".")
		if said := s.columns(); len(said) > 0 {
			p.words(width, plain, "Columns: "+strings.Join(said, ", ")+".")
		}
	}
	for _, o := range r.Rows {
		if o.Remark != "" {
			p.words(width, plain, fmt.Sprintf("row %d: %s", o.Row, o.Remark))
		}
	}
	return p
}

// wrong lists the first faults, and the command that writes all of them down.
func (s *listIn) wrong(d *Desk, p *page, width int) {
	r := s.result
	if s.header != nil && len(s.header.Unknown) > 0 {
		for _, i := range s.header.Unknown {
			said := fmt.Sprintf("column %q is not known", s.header.Sheet.Header()[i])
			if cells := s.header.Sheet.Samples(i); len(cells) > 0 {
				said += "; in it: " + strings.Join(cells, ", ")
			}
			p.words(width, plain, said+".")
		}
		return
	}
	shown := r.Faults[:min(len(r.Faults), faultsShown)]
	for _, f := range shown {
		p.words(width, plain, f.Error())
	}
	if more := r.Faulty - len(shown); more > 0 {
		p.words(width, plain, fmt.Sprintf("and %d more. This writes a sheet in which each row says what is "+
			"wrong with it:", more))
		p.words(width, strong, s.command("--preview -o looked-through.xlsx", "--house",
			quotedPath(fromAnywhere(d.drafts.dir))))
	}
}

func (s *listIn) key(d *Desk, k *tcell.EventKey) {
	r := s.result
	m := menu{items: s.asks()}
	switch n := int(k.Rune() - '1'); {
	case k.Key() == tcell.KeyEnter && r.Faulty == 0 && r.New+r.Changed > 0:
		if d.meant(&s.typed, true) {
			s.takeIn(d)
		}
	case k.Key() == tcell.KeyRune && n >= 0 && n < min(len(s.offered), figures):
		s.agree(d, n)
	case k.Key() == tcell.KeyRune && m.press(d, k):
	case k.Key() == tcell.KeyRune:
		s.typed, d.stray = true, true
		d.say("%q does nothing here. Esc goes back.", string(k.Rune()))
	default:
		s.reading.key(d, k)
	}
}

// takeIn imports what was shown and nothing else.
func (s *listIn) takeIn(d *Desk) {
	result, err := s.run(d, s.agreed)
	if d.toSign(err, s.takeIn) {
		return
	}
	if err != nil || result.Faulty > 0 {
		again := s.look(d)
		if d.refuse(err) {
			return
		}
		d.refuse(again)
		return
	}
	said := []string{fmt.Sprintf("%s of %s came in.",
		strings.Replace(s.rows(result.New), "new ", "", 1), filepath.Base(s.path))}
	if result.Changed > 0 {
		said = append(said, fmt.Sprintf("%d changed.", result.Changed))
	}
	if d.message != "" {
		said = append(said, d.message)
	}
	if err := s.remember(d); err != nil {
		said = append(said, fmt.Sprintf("What was said of its columns is not remembered: %v", err))
	}
	d.swap(&listed{name: filepath.Base(s.path), rows: result.Rows, kind: s.kind})
	d.refresh()
	d.say("%s", strings.Join(said, " "))
}

// remember keeps what was said of the columns of machines for the next list.
func (s *listIn) remember(d *Desk) error {
	if s.kind != "" || len(s.answers) == 0 {
		return nil
	}
	if err := imports.Remember(d.drafts.dir, s.answers); err != nil {
		return err
	}
	again, err := house.Open(d.drafts.dir)
	if err == nil {
		d.Lists.Imports = again.Lists.Imports
	}
	return err
}

// listed says what came in of a list, and which label goes on which machine or base.
type listed struct {
	name string
	kind movein.Kind
	rows []imports.Outcome
	reading
}

func (l *listed) view(_ *Desk, width int) page {
	p := page{title: "Write these on the labels", keys: "Up, Down look further   Esc done", cursor: -1,
		scroll: &l.reading}
	if l.kind == movein.Partners || l.kind == movein.Orders {
		p.title = "What came in of " + l.name
	}
	p.words(width, plain,
		"u on the first page takes the whole list back, as long as nothing happened since to "+
			"what came in with it.")
	for _, o := range l.rows {
		if o.Does == imports.RowNew {
			p.add(line{{pad(string(o.Tag), 10), strong},
				{clip(strings.TrimSpace(fmt.Sprintf("%s %s", o.Maker, o.Serial))+
					fmt.Sprintf("  row %d", o.Row),
					max(1, width-10)), plain}})
		}
	}
	return p
}

func (l *listed) key(d *Desk, k *tcell.EventKey) {
	l.reading.key(d, k)
	if k.Key() == tcell.KeyRune {
		d.stray = true
	}
}
