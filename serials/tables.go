package serials

import (
	"embed"
	"errors"
	"io/fs"
	"os"
	"path"
	"sort"
	"strings"

	"pitman/serials/grammar"
	"pitman/serials/names"
	"pitman/serials/patents"
	"pitman/serials/series"
	"pitman/serials/stamp"
	"pitman/serials/table"
	"pitman/serials/years"
)

//go:embed starters/*.csv
var starters embed.FS

// Starters holds the published tables that a new house begins with.
func Starters() fs.FS {
	sub, err := fs.Sub(starters, "starters")
	if err != nil {
		panic(err) // the folder is embedded above
	}
	return sub
}

// Tables is a set of table files, ready for dating. It does not change once loaded and may be used from many
// goroutines.
type Tables struct {
	files   []*table.Table
	faults  []table.Fault
	unread  []table.Unread
	makers  map[string]*maker // by makerKey, and by every spelling in the files
	names   []string
	known   names.Known // the same, to find near ones among
	patents patents.Index
	clues   []makersClue
	shared  map[string][]string // makers by the key of a spelling that several of them have
}

type maker struct {
	name     string // as the first row spells it
	key      string
	series   map[string]*series.Series
	order    []*series.Series // by prefix
	rows     []table.Row      // all, in the order of the files
	forms    []*grammar.Form  // how its numbers are written, the strictest first; none where nobody knows
	numbered []table.Row      // rows that stand in no register of their own
	files    []string

	registers map[string]*register // by the key of a model
}

// LoadDir loads every CSV file of a folder. A file that cannot be read is a fault and does not stop the
// others.
func LoadDir(dir string) (*Tables, error) { return LoadFS(os.DirFS(dir)) }

// LoadFS loads every CSV file at the top of a file system.
func LoadFS(fsys fs.FS) (*Tables, error) {
	entries, err := fs.ReadDir(fsys, ".")
	if err != nil {
		return nil, err
	}
	var files []*table.Table
	var faults []table.Fault
	var unread []table.Unread
	for _, entry := range entries {
		name := entry.Name()
		if !strings.EqualFold(path.Ext(name), ".csv") || strings.HasPrefix(name, ".") ||
			strings.HasPrefix(name, "~") {
			continue // other files, and the lock files that spreadsheets leave
		}
		rows, found := readFile(fsys, name)
		faults = append(faults, found...)
		if missing, any := table.LeftOut(rows, found); any {
			unread = append(unread, missing)
		}
		if rows != nil {
			files = append(files, rows)
		}
	}
	t := NewTables(files...)
	t.faults, t.unread = append(t.faults, faults...), unread
	return t, nil
}

func readFile(fsys fs.FS, name string) (*table.Table, []table.Fault) {
	// Ask before opening: opening a pipe would wait for ever.
	info, err := fs.Stat(fsys, name)
	if err == nil && !info.Mode().IsRegular() {
		err = errors.New("it is not a plain file")
	}
	var f fs.File
	if err == nil {
		f, err = fsys.Open(name)
	}
	if err != nil {
		why := "the file cannot be opened (" + err.Error() + "): mend that or move it out of the folder"
		return nil, []table.Fault{{File: name, Line: 1, Kind: table.Unreadable, Message: why}}
	}
	defer f.Close()
	return table.Read(name, f)
}

// NewTables makes a set of tables that were read one by one.
func NewTables(files ...*table.Table) *Tables {
	t := &Tables{files: files, makers: map[string]*maker{}}
	apart := registersOf(files)
	forms, faults := formsOf(files)
	t.faults = faults
	var all []*maker
	makerOf := func(name, file string) *maker {
		m := t.makers[name]
		if m == nil {
			key := names.MakerKey(name)
			if m = t.makers[key]; m == nil {
				m = &maker{name: name, key: key, forms: forms[key]}
				all = append(all, m)
				t.makers[key] = m
			}
			t.makers[name] = m
		}
		if n := len(m.files); n == 0 || m.files[n-1] != file {
			m.files = append(m.files, file)
		}
		return m
	}
	for _, file := range files {
		for _, form := range file.Forms {
			makerOf(form.Maker, file.Name)
		}
		for _, row := range file.Rows {
			m := makerOf(row.Maker, file.Name)
			row = asFormed(row, m.forms)
			m.rows = append(m.rows, row)
			if one := apart[m.key][names.ModelKey(row.Model)]; one != nil && row.Model != "" {
				one.numbers.rows = append(one.numbers.rows, row)
				continue
			}
			m.numbered = append(m.numbered, row)
		}
	}
	for _, m := range all {
		m.lay()
		m.registers = apart[m.key]
		for _, r := range m.registers {
			r.numbers.name, r.numbers.files, r.numbers.forms = m.name, m.files, m.forms
			r.numbers.numbered = r.numbers.rows
			r.numbers.lay()
		}
		if m.key == names.MakerKey(table.PatentMaker) {
			continue
		}
		t.names = append(t.names, m.name)
	}
	t.patents = patents.NewIndex(files)
	t.join(files)
	sort.Strings(t.names)
	t.known = names.NewKnown(t.names)
	return t
}

// registersOf returns the registers of each maker by the key of the model.
func registersOf(files []*table.Table) map[string]map[string]*register {
	apart := map[string]map[string]*register{}
	for _, f := range files {
		for _, r := range f.Registers {
			key, model := names.MakerKey(r.Maker), names.ModelKey(r.Model)
			if apart[key] == nil {
				apart[key] = map[string]*register{}
			}
			if apart[key][model] == nil {
				apart[key][model] = &register{r, &maker{key: key}}
			}
		}
	}
	return apart
}

// lay lays out the rows of each prefix for looking up.
func (m *maker) lay() {
	byPrefix := map[string][]table.Row{}
	for _, row := range m.numbered {
		if !row.ModelOnly {
			byPrefix[row.Prefix] = append(byPrefix[row.Prefix], row)
		}
	}
	m.series, m.order = map[string]*series.Series{}, nil
	for prefix, rows := range byPrefix {
		s := series.New(prefix, rows)
		m.series[prefix] = s
		m.order = append(m.order, s)
	}
	sort.Slice(m.order, func(i, j int) bool { return m.order[i].Prefix < m.order[j].Prefix })
}

// Files returns the tables that were loaded, by name.
func (t *Tables) Files() []*table.Table { return t.files }

// Makers returns the names of the makers in the tables, each once, in alphabetical order. Patents are not a
// maker.
func (t *Tables) Makers() []string { return append([]string(nil), t.names...) }

// Rows returns the name of a maker as the tables spell it and all its rows. Spelling is forgiven case,
// spacing, accents, "&" for "and" and company words. ok is false when there is no such maker; Nearest then
// helps.
func (t *Tables) Rows(name string) (spelt string, rows []table.Row, ok bool) {
	m := t.maker(name)
	if m == nil {
		return "", nil, false
	}
	return m.name, append([]table.Row(nil), m.rows...), true
}

// Knows says whether the tables have the maker, under this name or another spelling of it.
func (t *Tables) Knows(name string) bool { return t.maker(name) != nil }

// Nearest returns the makers in the tables that are spelt most like the name, at most five.
func (t *Tables) Nearest(name string) []string { return t.known.Nearest(name, 5) }

func (t *Tables) maker(name string) *maker {
	if m := t.makers[name]; m != nil {
		return m
	}
	if key := names.MakerKey(name); key != "" {
		return t.makers[key]
	}
	return nil
}

// Estimate dates a serial by the tables alone, without reasons. It is the quick way for long lists: a maker
// spelt as in the tables and a serial that is not worn cost no allocation.
func (t *Tables) Estimate(maker, serial string) (years.Estimate, error) {
	if m := t.maker(maker); m != nil {
		if e, ok := quick(m, serial); ok {
			return e, nil
		}
	}
	return t.slow(maker, serial)
}

func (t *Tables) slow(maker, serial string) (years.Estimate, error) {
	a, err := t.date(Query{Maker: maker, Serial: serial}, yearsAlone)
	return a.Estimate, err
}

func quick[T string | []byte](m *maker, serial T) (years.Estimate, bool) {
	var buf [stamp.MaxSerial]byte
	if prefix, n, ok := stamp.Split(serial, &buf); ok && m.forms == nil {
		if s := m.series[string(prefix)]; s != nil {
			return s.At(n), true
		}
	}
	return years.Estimate{}, false
}

// Unread lists the files of which something was left out, by name.
func (t *Tables) Unread() []table.Unread { return t.unread }
