package desk

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"

	"github.com/gdamore/tcell/v2"

	"pitman/registry"
	"pitman/registry/exchange"
	"pitman/registry/makers"
	spread "pitman/registry/sheet"
)

// What a list may be that is read here, while the screen waits, and how much of what is wrong with it is
// shown.
const (
	maxListed   = 16 << 20
	faultsShown = 12
)

// importList asks for a spreadsheet, and shows what would come in of it.
func importList(d *Desk) {
	d.begin(&form{title: "Import the machines of a spreadsheet",
		notes: []string{"CSV or a workbook (.xlsx), with a row that names the columns. Nothing is written " +
			"yet: " +
			"the next page says what would come in."},
		asked: []question{{name: "file", label: "File",
			hint: "Its whole path: type it, paste it, or drag the file into this window."}},
		do: func(d *Desk, a answers) (string, error) {
			s := &listIn{path: pathTyped(a["file"]), read: map[exchange.Misread]string{}}
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

// pathTyped is the path that somebody typed or that a window gave, which puts quotation marks round it or
// makes an address of it.
func pathTyped(typed string) string {
	typed = strings.TrimSpace(typed)
	for _, mark := range []string{`"`, `'`} {
		if inner, is := strings.CutPrefix(typed, mark); is {
			typed = strings.TrimSuffix(inner, mark)
		}
	}
	if at, err := url.Parse(typed); err == nil && at.Scheme == "file" {
		return filepath.FromSlash(at.Path)
	}
	if rest, is := strings.CutPrefix(typed, "~/"); is {
		if home, err := os.UserHomeDir(); err == nil {
			return filepath.Join(home, rest)
		}
	}
	if runtime.GOOS != "windows" {
		return strings.ReplaceAll(typed, `\ `, " ")
	}
	return typed
}

// listIn is a list on its way in: what was found in it, what it would do, and its Enter.
type listIn struct {
	path string
	text []byte // as it was read: what comes in is what was shown
	read map[exchange.Misread]string

	found   string
	columns []string
	unknown []string
	offered []offeredWord
	result  *exchange.Result
	typed   bool
	reading
}

// offeredWord is a word of the list that is perhaps another.
type offeredWord struct {
	exchange.NearMiss
	taken bool
}

func (s *listIn) fetch() error {
	info, err := os.Stat(s.path)
	var at *fs.PathError
	switch {
	case errors.As(err, &at):
		err = at.Err
	case err != nil:
	case !info.Mode().IsRegular():
		return registry.Errorf(registry.Invalid, "%s is no file: type the path of one that holds a list",
			s.path)
	case info.Size() > maxListed:
		return registry.Errorf(registry.Invalid, "%s has %d MB, too much for the desk: import it in a "+
			"terminal, by %s", s.path, info.Size()>>20, importCommand(s.path))
	default:
		s.text, err = os.ReadFile(s.path)
	}
	if err != nil {
		return registry.Errorf(registry.NotFound, "file %q cannot be opened (%v): type the path of one that "+
			"is there", s.path, err)
	}
	return nil
}

// importCommand is what does the same on the command line.
func importCommand(path string, more ...string) string {
	return strings.Join(append([]string{"pitman", "import", quotedPath(fromAnywhere(path))}, more...), " ")
}

// fromAnywhere is a path that counts from wherever the command is typed.
func fromAnywhere(path string) string {
	if abs, err := filepath.Abs(path); err == nil {
		return abs
	}
	return path
}

var unquoted = regexp.MustCompile(`^[A-Za-z0-9_./:\\+@-]+$`)

// quotedPath is a path as a command line takes it.
func quotedPath(path string) string {
	switch {
	case runtime.GOOS == "windows" && strings.ContainsAny(path, " &()^;,"):
		return `"` + path + `"`
	case runtime.GOOS == "windows" || unquoted.MatchString(path) && !strings.Contains(path, `\`):
		return path
	}
	return "'" + strings.ReplaceAll(path, "'", `'\''`) + "'"
}

// open reads the header; whatever of it is a fault goes into the result, and there is nothing to run then.
func (s *listIn) open(d *Desk, result *exchange.Result) (*exchange.Import, error) {
	h, err := d.ReadHeader(bytes.NewReader(s.text), 0, nil, nil)
	var wrong *spread.Fault
	if errors.As(err, &wrong) {
		result.Faults, result.Faulty = []*spread.Fault{wrong}, 1
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	s.found, s.columns, s.unknown = h.Sheet.Looked(), nil, nil
	for i, name := range h.Sheet.Header() {
		switch {
		case slices.Contains(h.Unknown, i):
			said := fmt.Sprintf("column %q is not known", name)
			if cells := h.Sheet.Samples(i); len(cells) > 0 {
				said += "; in it: " + strings.Join(cells, ", ")
			}
			s.unknown = append(s.unknown, said)
		case name != "" && h.Columns[i] == "":
			s.columns = append(s.columns, name+" is left out")
		case name != "" && exchange.ColumnKey(name) == exchange.ColumnKey(h.Columns[i]):
			s.columns = append(s.columns, name)
		case name != "":
			s.columns = append(s.columns, fmt.Sprintf("%s is the %s", name, h.Columns[i]))
		}
	}
	result.Faults = h.Faults()
	if result.Faulty = len(result.Faults); result.Faulty > 0 {
		return nil, nil
	}
	return &exchange.Import{Sheet: h.Sheet, Columns: h.Columns, Read: s.read}, nil
}

// look finds out what the list would do to the house as it stands.
func (s *listIn) look(d *Desk) error {
	result := &exchange.Result{}
	in, err := s.open(d, result)
	if err == nil && in != nil {
		if err = s.hints(d, in); err == nil {
			in, err = s.open(d, result) // its rows were read for the words
		}
	}
	if err == nil && in != nil {
		err = d.Preview(d.ctx, false, func(i *exchange.Intake) error { return in.Run(d.ctx, i, result) })
		if errors.Is(err, exchange.ErrFaults) {
			err = nil
		}
	}
	if err != nil {
		return err
	}
	for _, n := range result.Near {
		s.offer(n)
	}
	s.result = result
	return nil
}

// hints gathers the words that are perhaps those of makers, models, donors and places here.
func (s *listIn) hints(d *Desk, in *exchange.Import) error {
	words := d.Words()
	asTyped := map[exchange.Misread]string{} // what was agreed to stays on offer, to be taken back
	return exchange.SettleWords(exchange.TypedIn(in.Sheet, in.Columns, makers.Asked, asTyped), nil, asTyped,
		words.Also, func(field, maker string, t *exchange.Typed) (string, error) {
			h, ask, err := words.Hint(d.ctx, field, maker, t.Value)
			if err == nil && ask {
				for _, name := range h.Choices() {
					s.offer(exchange.NearMiss{Field: t.Field, Value: t.Value, Near: name, Rows: t.Rows})
				}
			}
			return t.Value, err
		})
}

func (s *listIn) offer(n exchange.NearMiss) {
	same := func(o offeredWord) bool { return o.Field == n.Field && o.Value == n.Value && o.Near == n.Near }
	if !slices.ContainsFunc(s.offered, same) {
		s.offered = append(s.offered, offeredWord{NearMiss: n})
	}
}

// agree reads an offered word as the one that it is near to, or as it stands again.
func (s *listIn) agree(d *Desk, i int) {
	at := &s.offered[i]
	word := exchange.Misread{Field: at.Field, Value: at.Value}
	taken := !at.taken
	for j := range s.offered {
		if o := &s.offered[j]; o.Field == at.Field && o.Value == at.Value {
			o.taken = false
		}
	}
	delete(s.read, word)
	if at.taken = taken; taken {
		s.read[word] = at.Near
	}
	d.refuse(s.look(d))
}

func (s *listIn) view(d *Desk, width int) page {
	p := page{title: "Import " + filepath.Base(s.path), keys: "Up, Down look further   Esc leave it",
		cursor: -1, scroll: &s.reading}
	r := s.result
	if n := len(s.offered); n > 0 {
		p.keys = fmt.Sprintf("1-%d read a word so   ", min(n, figures)) + p.keys
	}
	p.words(width, strong, fmt.Sprintf("%d new, %d the same, %d changed, %s", r.New, r.Same, r.Changed,
		registry.Counted(r.Faulty, "fault")))
	switch {
	case r.Faulty > 0:
		p.words(width, plain, "Nothing of it can come in before the faults are mended.")
	case r.New+r.Changed == 0:
		p.words(width, plain, "All of it is in the house already.")
	default:
		p.words(width, marked,
			fmt.Sprintf("Enter imports %s, as %s", registry.Counted(r.New, "new machine"), d.by))
		p.keys = "Enter imports   " + p.keys
	}
	p.pinned = len(p.body)
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
	p.words(width, plain, "Found: "+s.found+".")
	if len(s.columns) > 0 {
		p.words(width, plain, "Columns: "+strings.Join(s.columns, ", ")+".")
	}
	for _, o := range r.Rows {
		if o.Remark != "" {
			p.words(width, plain, fmt.Sprintf("row %d: %s", o.Row, o.Remark))
		}
	}
	return p
}

// wrong lists the first faults, and the command that helps with them.
func (s *listIn) wrong(d *Desk, p *page, width int) {
	r := s.result
	shown, at := 0, "--house "+quotedPath(fromAnywhere(d.drafts.dir))
	for _, f := range r.Faults[:min(len(r.Faults), faultsShown)] {
		if len(s.unknown) == 0 {
			p.words(width, plain, strings.Join(strings.Fields(f.Error()), " "))
			shown++
		}
	}
	for _, said := range s.unknown {
		p.words(width, plain, said+".")
	}
	if more := r.Faulty - shown; more > 0 && len(s.unknown) == 0 {
		p.words(width, plain, fmt.Sprintf("and %d more. This writes a sheet in which each row says what is "+
			"wrong with it:", more))
		p.words(width, strong, importCommand(s.path, "--preview -o looked-through.xlsx", at))
	}
	if len(s.unknown)+len(r.Twins) > 0 {
		p.words(width, plain, "In a terminal, this asks what they are, and remembers what each column holds:")
		p.words(width, strong, importCommand(s.path, "--by", string(d.by), at))
	}
}

func (s *listIn) key(d *Desk, k *tcell.EventKey) {
	r := s.result
	switch n := int(k.Rune() - '1'); {
	case k.Key() == tcell.KeyEnter && r.Faulty == 0 && r.New+r.Changed > 0:
		if d.meant(&s.typed, true) {
			s.takeIn(d)
		}
	case k.Key() == tcell.KeyRune && n >= 0 && n < min(len(s.offered), figures):
		s.agree(d, n)
	case k.Key() == tcell.KeyRune:
		s.typed, d.stray = true, true
		d.say("%q does nothing here. Esc goes back.", string(k.Rune()))
	default:
		s.reading.key(d, k)
	}
}

// takeIn imports what was shown and nothing else.
func (s *listIn) takeIn(d *Desk) {
	result := &exchange.Result{}
	in, err := s.open(d, result)
	if err == nil && in != nil {
		err = d.Import(d.ctx, d.by, filepath.Base(s.path), false, func(i *exchange.Intake) error {
			if err := in.Run(d.ctx, i, result); err != nil {
				return err
			}
			if !slices.EqualFunc(result.Rows, s.result.Rows, does) {
				return registry.Errorf(registry.Conflict,
					"the house changed while this stood here: read what "+
						"the list would do now, and press Enter again")
			}
			return nil
		})
	}
	if d.toSign(err, s.takeIn) {
		return
	}
	if err != nil || in == nil {
		again := s.look(d)
		if d.refuse(err) {
			return
		}
		d.refuse(again)
		return
	}
	welcome := d.message
	d.swap(&listed{name: filepath.Base(s.path), rows: result.Rows})
	d.refresh()
	d.say("%s", strings.TrimSpace(fmt.Sprintf("%s of %s came in. %s", registry.Counted(result.New, "machine"),
		filepath.Base(s.path), welcome)))
}

// does says whether two looks at a row come to the same.
func does(a, b exchange.Outcome) bool {
	if a.Does == exchange.RowNew {
		a.Tag, b.Tag = "", ""
	}
	return a.String() == b.String() && a.Remark == b.Remark && a.Row == b.Row
}

// listed says which label goes on which machine of a list that came in.
type listed struct {
	name string
	rows []exchange.Outcome
	reading
}

func (l *listed) view(_ *Desk, width int) page {
	p := page{title: "Write these on the labels", keys: "Up, Down look further   Esc done", cursor: -1,
		scroll: &l.reading}
	p.words(width, plain,
		"u on the first page takes the whole list back, as long as nothing happened to its "+
			"machines.")
	for _, o := range l.rows {
		if o.Does == exchange.RowNew {
			p.add(line{{pad(string(o.Tag), 8), strong},
				{clip(fmt.Sprintf("%s %s  row %d", o.Maker, o.Serial, o.Row), max(1, width-8)), plain}})
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
