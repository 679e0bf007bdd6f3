package desk

import (
	"bytes"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"pitman/registry"
	"pitman/registry/imports"
	"pitman/registry/movein"
	spread "pitman/registry/sheet"
)

// asks are the questions that a list leaves open, and those whose answers can be taken back.
func (s *listIn) asks() (items []item) {
	add := func(key rune, label string, do func(*Desk)) { items = append(items, item{key, label, do}) }
	if h := s.header; h != nil {
		if n := len(h.Ask(false)); n > 0 {
			add('c', "say what "+registry.Counted(n, "column")+registry.Agree(n, " holds", " hold"), s.askColumns)
		} else if len(h.Ask(true)) > 0 {
			add('c', "say otherwise what its columns hold", s.askColumns)
		}
		if label := fmt.Sprintf("row %d names the columns: say which does",
			h.Sheet.HeaderRow()); h.Sheet.Sure() {
			add('h', label, s.askRow)
		} else {
			add('h', "it is not sure that "+label, s.askRow)
		}
	} else if s.row > 0 {
		add('h', "say which row names the columns", s.askRow)
	}
	if n := len(s.result.Twins); n == 1 {
		add('t', "1 row with another's serial number: what is it?", s.askTwins)
	} else if n > 1 {
		add('t', fmt.Sprintf("%d rows with others' serial numbers: what are they?", n), s.askTwins)
	} else if len(s.decided) > 0 {
		add('t', "take back what was said of rows of one serial", s.askTwins)
	}
	switch {
	case s.update:
		add('u', "machines that are here keep what is known of them", s.toggleUpdate)
	case s.kind == "" && slices.ContainsFunc(s.result.Rows, tellsMore):
		add('u', "machines that are here take over what the list says otherwise", s.toggleUpdate)
	}
	now := "machines"
	if s.kind != "" {
		now = string(s.kind)
	}
	add('k', fmt.Sprintf("its rows are %s: say what else they are", now), s.askKind)
	return items
}

// tellsMore says that a row tells of a machine that is here what the house does not.
func tellsMore(o imports.Outcome) bool { return o.Does == imports.RowSame && len(o.Differs) > 0 }

// again looks again at the list after an answer.
func (s *listIn) again(d *Desk) (string, error) {
	s.reading = reading{}
	return "", s.look(d)
}

// ask shows a form that begins anew: what it would go on with was of the list as it was read before.
func (s *listIn) ask(d *Desk, f *form) {
	f.title += " " + filepath.Base(s.path)
	delete(d.halves, f.title)
	d.begin(f)
}

// askColumns asks what columns hold, with the first cells of each beside it.
func (s *listIn) askColumns(d *Desk) {
	h := s.header
	header, asked := h.Sheet.Header(), h.Ask(true)
	f := &form{title: "What the columns hold of", notes: []string{
		"Type the first letters of what a column holds. Enter alone leaves it out; Esc goes back to the " +
			"column before."}}
	for _, i := range asked {
		hint := fmt.Sprintf("In %q: nothing in its first rows.", header[i])
		if cells := h.Sheet.Samples(i); len(cells) > 0 {
			hint = fmt.Sprintf("In %q: %s", header[i], strings.Join(cells, "; "))
		}
		f.asked = append(f.asked, question{name: strconv.Itoa(i), label: clip(header[i], labelWidth-2),
			hint: hint, offerKeys: h.Fields, eager: true, maybe: true, given: h.Columns[i],
			check: func(_ answers, typed string) error {
				return h.Check(imports.ColumnName{Column: header[i], Field: typed})
			}})
	}
	f.do = func(d *Desk, a answers) (string, error) {
		now := slices.Clone(s.answers)
		for _, i := range asked {
			field := a[strconv.Itoa(i)]
			if field == h.Columns[i] && !slices.Contains(h.Unknown, i) {
				continue
			}
			if field == "" {
				field = imports.ColumnLeftOut
			}
			now = append(now, imports.ColumnName{Column: header[i], Field: field})
		}
		s.answers = now
		return s.again(d)
	}
	s.ask(d, f)
}

// askRow asks which row names the columns.
func (s *listIn) askRow(d *Desk) {
	f := &form{title: "Which row names the columns of", asked: []question{{name: "row", label: "Row",
		hint: "Its number, as the spreadsheet counts.",
		check: func(_ answers, typed string) error {
			row, err := strconv.Atoi(typed)
			if err != nil || row < 1 {
				return registry.Errorf(registry.Invalid, "%q is no row: type its number, such as 3", typed)
			}
			_, err = s.readHeader(d, row)
			var wrong *spread.Fault
			if errors.As(err, &wrong) {
				return registry.Errorf(registry.Invalid, "%s", wrong.Message)
			}
			return err
		}}},
		do: func(d *Desk, a answers) (string, error) {
			row, err := strconv.Atoi(a["row"])
			if err != nil {
				return "", err
			}
			s.row, s.offered, s.read, s.decided = row, nil, nil, nil
			return s.again(d)
		}}
	if r, err := spread.Open(bytes.NewReader(s.text), func(string) bool { return false }); err == nil {
		f.notes = r.Ahead()
	}
	if s.header != nil {
		f.asked[0].given = strconv.Itoa(s.header.Sheet.HeaderRow())
	}
	s.ask(d, f)
}

// askKind asks what the rows are.
func (s *listIn) askKind(d *Desk) {
	picks := []pick{{'m', "machines", "machines"}}
	for _, kind := range movein.Kinds {
		picks = append(picks, pick{rune(kind[0]), string(kind), string(kind)})
	}
	s.ask(d, &form{title: "What the rows are of",
		asked: []question{{name: "kind", label: "Each row is one of", picks: picks}},
		do: func(d *Desk, a answers) (string, error) {
			kind, err := movein.ParseKind(a["kind"])
			if a["kind"] == "machines" {
				kind, err = "", nil
			}
			if err != nil {
				return "", err
			}
			if kind != s.kind {
				*s = listIn{path: s.path, text: s.text, kind: kind, row: s.row}
			}
			return s.again(d)
		}})
}

// toggleUpdate lets machines that are here take over what the list says otherwise, or keep what they have.
func (s *listIn) toggleUpdate(d *Desk) {
	s.update = !s.update
	_, err := s.again(d)
	d.refuse(err)
}

// askTwins asks what rows are that may be one machine; what was said of them before is taken back first.
func (s *listIn) askTwins(d *Desk) {
	if len(s.result.Twins) == 0 {
		s.decided = nil
		if _, err := s.again(d); d.refuse(err) || len(s.result.Twins) == 0 {
			return
		}
	}
	t := &twinPage{in: s, twins: s.result.Twins, said: make([]int, 0, len(s.result.Twins))}
	var err error
	t.beside, err = imports.SideBySide(bytes.NewReader(s.text), s.header.Sheet.HeaderRow(), s.header.Columns,
		t.twins)
	if !d.refuse(err) {
		t.show(d)
	}
}

// twinPage asks of one pair of rows after another what they are.
type twinPage struct {
	menu
	in     *listIn
	twins  []imports.Twin
	beside [][]imports.Beside
	said   []int // of those before, counted from 1
}

// show puts the page of the next two rows in the place of those before, or lets all answers count.
func (t *twinPage) show(d *Desk) {
	if len(t.said) == len(t.twins) {
		for i, twin := range t.twins {
			t.in.decided, _ = twin.Decide(t.said[i], t.in.decided)
		}
		_, err := t.in.again(d)
		d.refuse(err)
		return
	}
	for i, choice := range t.twins[len(t.said)].Choices() {
		t.add(rune('1'+i), choice, func(d *Desk) { t.choose(d, i+1) })
	}
	d.push(t)
}

func (t *twinPage) choose(d *Desk, choice int) {
	d.back()
	next := *t
	next.menu, next.said = menu{}, append(slices.Clip(t.said), choice)
	next.show(d)
}

// esc goes back to the two rows before, to take back what was said of them.
func (t *twinPage) esc(d *Desk) bool {
	if len(t.said) == 0 {
		return false
	}
	d.back()
	before := *t
	before.menu, before.said = menu{}, t.said[:len(t.said)-1]
	before.show(d)
	return true
}

func (t *twinPage) view(_ *Desk, width int) page {
	at := len(t.said)
	twin := t.twins[at]
	p := page{title: fmt.Sprintf("One machine or two? %d of %d", at+1, len(t.twins)),
		keys: "Press a figure   Esc back", cursor: -1}
	p.words(width, strong, twin.String()+".")
	p.add(nil)
	const name = 14
	half := max((width-name)/2, 1)
	row := func(h how, field, as, row string) {
		p.add(line{{pad(clip(field, name-1), name), plain}, {pad(clip(as, half-1), half), h},
			{clip(row, half-1), h}})
	}
	row(strong, "", fmt.Sprintf("row %d", twin.As), fmt.Sprintf("row %d", twin.Row))
	for _, b := range t.beside[at] {
		row(plain, b.Field, dash(b.As), dash(b.Row))
	}
	p.add(nil)
	t.menu.column(&p, width)
	p.focus = len(p.body) - 1
	return p
}

func dash(cell string) string {
	if cell == "" {
		return "-"
	}
	return cell
}
