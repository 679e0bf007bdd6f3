package serials

import (
	"embed"
	"errors"
	"io/fs"
	"os"
	"path"
	"sort"
	"strings"

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
	patents patents.Index
	clues   []table.Clue
	shared  map[string][]string // makers by the key of a spelling that several of them have
}

type maker struct {
	name   string // as the first row spells it
	key    string
	series map[string]*series.Series
	order  []*series.Series // by prefix
	rows   []table.Row      // all, in the order of the files
	files  []string

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
	t.faults, t.unread = faults, unread
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
	byPrefix := map[*maker]map[string][]table.Row{}
	var all []*maker
	for _, file := range files {
		for _, row := range file.Rows {
			m := t.makers[row.Maker]
			if m == nil {
				key := names.MakerKey(row.Maker)
				if m = t.makers[key]; m == nil {
					m = &maker{name: row.Maker, key: key, series: map[string]*series.Series{}}
					byPrefix[m] = map[string][]table.Row{}
					all = append(all, m)
					t.makers[key] = m
				}
				t.makers[row.Maker] = m
			}
			m.rows = append(m.rows, row)
			if n := len(m.files); n == 0 || m.files[n-1] != file.Name {
				m.files = append(m.files, file.Name)
			}
			if one := apart[m.key][names.ModelKey(row.Model)]; one != nil && row.Model != "" {
				one.numbers.rows = append(one.numbers.rows, row)
				continue
			}
			if !row.ModelOnly {
				byPrefix[m][row.Prefix] = append(byPrefix[m][row.Prefix], row)
			}
		}
	}
	for _, m := range all {
		m.index(byPrefix[m])
		m.registers = apart[m.key]
		for _, r := range m.registers {
			rows := map[string][]table.Row{}
			for _, row := range r.numbers.rows {
				if !row.ModelOnly {
					rows[row.Prefix] = append(rows[row.Prefix], row)
				}
			}
			r.numbers.name, r.numbers.files = m.name, m.files
			r.numbers.index(rows)
		}
		if m.key == names.MakerKey(table.PatentMaker) {
			continue
		}
		t.names = append(t.names, m.name)
	}
	t.patents = patents.NewIndex(files)
	t.join(files)
	sort.Strings(t.names)
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
				apart[key][model] = &register{r, &maker{key: key, series: map[string]*series.Series{}}}
			}
		}
	}
	return apart
}

// index lays out the rows of each prefix for looking up.
func (m *maker) index(byPrefix map[string][]table.Row) {
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

// Nearest returns the makers in the tables that are spelt most like the name, at most five.
func (t *Tables) Nearest(name string) []string { return names.Nearest(name, t.names, 5) }

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
	a, err := t.date(Query{Maker: maker, Serial: serial}, false)
	return a.Estimate, err
}

func quick[T string | []byte](m *maker, serial T) (years.Estimate, bool) {
	var buf [stamp.MaxSerial]byte
	if prefix, n, ok := stamp.Split(serial, &buf); ok {
		if s := m.series[string(prefix)]; s != nil {
			return s.At(n), true
		}
	}
	return years.Estimate{}, false
}

// Unread lists the files of which something was left out, by name.
func (t *Tables) Unread() []table.Unread { return t.unread }
