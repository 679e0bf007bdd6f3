// Package house is the folder that holds everything a workshop owns: the registry file pitman.db, the serial
// tables in tables/, the lists that it changed in lists/, and house.toml, where the house says how it works.
// A backup copies all of it as it stands at one moment.
package house

import (
	"bytes"
	"context"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"sync"
	"syscall"
	"text/template"
	"time"

	"filippo.io/age"
	"github.com/pelletier/go-toml/v2"

	"pitman/registry"
	"pitman/registry/archive"
	"pitman/registry/bench"
	"pitman/registry/exchange"
	"pitman/registry/lists"
	"pitman/registry/orders"
	"pitman/registry/packing"
	"pitman/registry/recall"
	"pitman/registry/spares"
	"pitman/registry/sqlite"
	"pitman/registry/stock"
	"pitman/registry/whole"
	"pitman/serials"
)

//go:embed house.toml.tmpl
var templates embed.FS

// House is an open house folder.
type House struct {
	Dir    string
	Config Config
	Tables func() (*serials.Tables, error) // reads the serial tables once, when they are first wanted
	Lists  Lists                           // read the house's lists, each once, when it is first wanted
	Now    func() time.Time

	// Upgrading is told of the backup that was made before the registry's form changed; nil when nobody
	// listens.
	Upgrading func(backup string)
	// Lapsing is told of the passes that count no longer by the limits of today; nil when nobody listens.
	Lapsing func([]recall.Lapsed)

	// TrialKeys can read backups that are encrypted, for the trial of the month; the house itself has none.
	TrialKeys []age.Identity

	// Lost says what is wrong with house.toml when it cannot be what the house decided: missing or empty.
	Lost       string
	remembered bool // the registry knows what it said, and Config is that
}

// Exists says whether dir is a house.
func Exists(dir string) bool {
	_, err := os.Stat(filepath.Join(dir, archive.DBFile))
	return err == nil
}

// Open reads the house's decisions. It does not open the registry file.
func Open(dir string) (*House, error) {
	if _, err := os.Stat(filepath.Join(dir, archive.DBFile)); err != nil {
		if errors.Is(err, fs.ErrNotExist) || errors.Is(err, syscall.ENOTDIR) {
			if err := bereft(dir); err != nil {
				return nil, err
			}
			return nil, registry.Errorf(registry.NotFound,
				"there is no house in %s: make one, or name another", dir).
				On("house").Then(registry.Next(registry.DoInit, "").With("house", dir))
		}
		return nil, unreadable(err, dir)
	}
	why, err := lost(filepath.Join(dir, archive.ConfigFile))
	if err != nil {
		return nil, unreadable(err, dir)
	}
	config, err := readConfig(filepath.Join(dir, archive.ConfigFile))
	if err != nil {
		return nil, err
	}
	return &House{Dir: dir, Config: config, Lost: why, Lists: ReadLists(dir), Now: time.Now,
		Tables: sync.OnceValues(func() (*serials.Tables, error) {
			return Tables(dir)
		})}, nil
}

// Tables reads the serial tables of the house in dir.
func Tables(dir string) (*serials.Tables, error) {
	tables, err := serials.LoadDir(filepath.Join(dir, archive.TablesDir))
	if errors.Is(err, fs.ErrNotExist) || errors.Is(err, syscall.ENOTDIR) {
		return nil, registry.Errorf(registry.NotFound,
			"the folder %s of the house %s is gone: put it back, or get the published tables "+
				"anew", archive.TablesDir, dir).Then(registry.Next(registry.DoInit, "").With("house", dir))
	}
	return tables, unreadable(err, dir)
}

// TableFaults names the serial tables of which something is not read, as faults of the house.
func (h *House) TableFaults() ([]registry.Fault, error) {
	tables, err := h.Tables()
	if registry.CodeOf(err) == registry.NotFound {
		// there is nothing that could be unread; whoever dates by them is told that they are gone
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	var faults []registry.Fault
	for _, u := range tables.Unread() {
		faults = append(faults,
			registry.Fault{Check: "tables", Subject: archive.TablesDir + "/" + u.File, What: u.String(),
				Mend: "mend that line in a spreadsheet and save it as CSV, or move the file out of the " +
					"folder"})
	}
	return faults, nil
}

// unreadable says what to do about a house that its reader may not open.
func unreadable(err error, dir string) error {
	if errors.Is(err, fs.ErrPermission) {
		return registry.Errorf(registry.Conflict,
			"%s cannot be read: ask its owner for access, or name another house", dir).On("house")
	}
	return err
}

// Workshop works in this house, on its registry or on what stands for it.
func (h *House) Workshop(store stock.Store) *Workshop {
	w := NewWorkshop(store, h.Config, h.Lists, h.Tables, h.Now)
	w.Halted = h.Halted()
	w.Neighbours.Dir = h.Dir
	if db, ok := store.(*sqlite.DB); ok {
		w.Safekeeping = func(ctx context.Context) Safekeeping { return h.safekeeping(ctx, db) }
	}
	return w
}

// ReadLists are the lists of the house in dir, each read once, when it is first wanted.
func ReadLists(dir string) Lists {
	return Lists{
		Stock: stock.Lists{
			Beds:      readList[stock.BedPattern](dir, "beds.csv"),
			Models:    readList[stock.ModelRow](dir, "models.csv"),
			BaseParts: readList[stock.BasePart](dir, "base-parts.csv"),
			Reasons:   readList[stock.Reason](dir, "reasons.csv"),
		},
		Bench: bench.Lists{
			Jobs:   readList[bench.BenchJob](dir, "jobs.csv"),
			Points: readList[bench.TestPoint](dir, "points.csv"),
		},
		Spares: spares.Lists{
			Kits:  readList[spares.KitRow](dir, "kits.csv"),
			Parts: readList[spares.PartKind](dir, "parts.csv"),
		},
		Orders: orders.Lists{Prices: readList[orders.PurchasePrice](dir, "purchase.csv")},
		Packing: packing.Lists{
			Boards:    readList[packing.BoardRow](dir, "boards.csv"),
			Countries: readList[packing.MakerCountry](dir, "countries.csv"),
			Tariff:    readList[packing.TariffAge](dir, "tariff.csv"),
			Gift:      readList[packing.GiftRow](dir, "gift.csv"),
			Care:      readList[packing.CareRow](dir, "care.csv"),
		},
		Exchange: exchange.Lists{Columns: readList[exchange.ColumnName](dir, "columns.csv")},
	}
}

// readList reads a list at most once; each caller gets a copy that it may cut down.
func readList[T any](dir, name string) func() ([]T, error) {
	once := sync.OnceValues(func() ([]T, error) { return lists.Load[T](dir, name) })
	return func() ([]T, error) {
		rows, err := once()
		return slices.Clone(rows), err
	}
}

func fault[T any](read func() ([]T, error)) func() error {
	return func() error {
		_, err := read()
		return err
	}
}

// CheckLists reads every list that the house can edit and names all faults, one a line.
func (h *House) CheckLists() error { return errors.Join(h.eachList()...) }

func (h *House) eachList() (faults []error) {
	for _, read := range []func() error{
		fault(h.Lists.Bench.Jobs), fault(h.Lists.Bench.Points), fault(h.Lists.Spares.Parts),
		fault(h.Lists.Stock.Reasons),
		fault(h.Lists.Stock.Beds), fault(h.Lists.Stock.Models), fault(h.Lists.Stock.BaseParts),
		fault(h.Lists.Spares.Kits),
		fault(h.Lists.Orders.Prices), fault(h.Lists.Packing.Boards), fault(h.Lists.Packing.Countries),
		fault(h.Lists.Packing.Tariff), fault(h.Lists.Packing.Gift), fault(h.Lists.Packing.Care),
		fault(h.Lists.Exchange.Columns),
	} {
		if err := read(); err != nil {
			faults = append(faults, err)
		}
	}
	return faults
}

// Registry opens the registry file, and refuses one that is not this house's. If an older pitman made it, a
// backup is made before its form changes.
func (h *House) Registry() (*sqlite.DB, error) {
	sweep(h.Dir)
	db, err := h.open()
	if err != nil {
		return nil, err
	}
	ctx := context.Background()
	err = db.CheckSchema(ctx)
	if err == nil {
		err = h.sameHouse(ctx, db)
	}
	if err == nil {
		err = h.remember(ctx, db)
	}
	if err == nil {
		err = h.rejudge(ctx, db)
	}
	if err != nil {
		return nil, errors.Join(err, db.Close())
	}
	return db, nil
}

// rejudge ends the passes that fail today's limits, once after each change of limits or rules.
func (h *House) rejudge(ctx context.Context, db *sqlite.DB) error {
	if db.ReadOnly() || h.Lost != "" {
		return nil
	}
	mark, err := h.Config.Safety.Mark()
	if err != nil {
		return err
	}
	if last, err := db.Noted(ctx, "limits"); err != nil || last == mark {
		return err
	}
	lapsed, err := h.Workshop(db).Rejudge(ctx)
	if err != nil {
		return err
	}
	if len(lapsed) > 0 && h.Lapsing != nil {
		h.Lapsing(lapsed)
	}
	return db.Note(ctx, "limits", mark)
}

// ToVerify opens the registry file as it is found, to look for what is wrong with it, and says why nobody
// should work with it.
func (h *House) ToVerify() (db *sqlite.DB, wrong []registry.Fault, err error) {
	if db, err = h.open(); err != nil {
		return nil, nil, err
	}
	ctx := context.Background()
	same := h.sameHouse(ctx, db)
	if same == nil && db.CheckSchema(ctx) == nil {
		if err := h.remember(ctx, db); err != nil {
			return nil, nil, errors.Join(err, db.Close())
		}
		_ = h.rejudge(ctx, db) // what cannot be read or written for it, the check tells itself
	}
	for _, one := range []struct {
		file string
		err  error
	}{{archive.DBFile, same}, {archive.ConfigFile, h.Halted()}} {
		var refused *registry.Error
		if errors.As(one.err, &refused) {
			wrong = append(wrong, registry.Fault{Check: "identity", Subject: one.file, What: refused.Message,
				Mend: "put back what is missing", Next: refused.Next[len(refused.Next)-1:]})
		} else if one.err != nil {
			return nil, nil, errors.Join(one.err, db.Close())
		}
	}
	return db, wrong, nil
}

func (h *House) open() (*sqlite.DB, error) {
	return sqlite.Open(filepath.Join(h.Dir, archive.DBFile), h.beforeUpgrade)
}

func readConfig(path string) (Config, error) {
	text, err := archive.ReadSmall(path)
	if errors.Is(err, fs.ErrNotExist) {
		return Defaults(), nil
	}
	if err != nil {
		return Config{}, err
	}
	return ParseConfig(text)
}

// ParseConfig reads a house.toml. What it leaves out stays as in registry.Defaults.
func ParseConfig(text []byte) (Config, error) {
	config := Defaults()
	d := toml.NewDecoder(bytes.NewReader(text)).DisallowUnknownFields()
	if err := d.Decode(&config); err != nil {
		return config, explain(err)
	}
	if err := config.Validate(); err != nil {
		return config, registry.Errorf(registry.Invalid, "%s: %v", archive.ConfigFile, err)
	}
	return config, nil
}

// explain gives a fault in house.toml its line and says what to do.
func explain(err error) error {
	var unknown *toml.StrictMissingError
	if errors.As(err, &unknown) && len(unknown.Errors) > 0 {
		first := unknown.Errors[0]
		line, _ := first.Position()
		key := first.Key()
		if section := sectionOf(key[len(key)-1]); section != "" {
			return registry.Errorf(registry.Invalid,
				"%s:%d: %q belongs under [%s]: take the # from that heading, or move the line there",
				archive.ConfigFile, line, key[len(key)-1], section)
		}
		return registry.Errorf(registry.Invalid,
			"%s:%d: %q is no setting of pitman: correct its spelling, or put # before it",
			archive.ConfigFile, line, strings.Join(key, "."))
	}
	var wrong *toml.DecodeError
	if errors.As(err, &wrong) {
		line, _ := wrong.Position()
		if key, want := strings.Join(wrong.Key(), "."), wanted(wrong.Error()); want != "" && key != "" {
			return registry.Errorf(registry.Invalid, "%s:%d: %s takes %s: type that", archive.ConfigFile,
				line,
				key, want)
		}
		return registry.Errorf(registry.Invalid, "%s:%d: %s: correct that line", archive.ConfigFile, line,
			strings.TrimPrefix(wrong.Error(), "toml: "))
	}
	return registry.Errorf(registry.Invalid, "%s: %v: correct it", archive.ConfigFile, err)
}

// wanted says what a setting takes, for people, where the decoder names a type of the program; empty for any
// other fault.
func wanted(fault string) string {
	_, kind, _ := strings.Cut(fault, " of type ")
	switch {
	case !strings.Contains(fault, "cannot decode TOML"):
		return ""
	case kind == "bool":
		return "true or false"
	case kind == "string":
		return "a text in quotation marks"
	case strings.HasPrefix(kind, "int"), strings.HasPrefix(kind, "float"):
		return "a number"
	case strings.HasPrefix(kind, "[]"):
		return "a list in square brackets"
	}
	return ""
}

// sectionOf finds the section that has a setting of this name: whoever takes the # from a line easily forgets
// the heading above it.
func sectionOf(setting string) string {
	for _, section := range reflect.VisibleFields(reflect.TypeFor[Config]()) {
		if section.Type.Kind() != reflect.Struct {
			continue
		}
		for _, field := range reflect.VisibleFields(section.Type) {
			if field.Tag.Get("toml") == setting {
				return section.Tag.Get("toml")
			}
		}
	}
	return ""
}

// Init makes a house in dir: what is there already is kept as it is. It returns what it made.
func Init(dir string, first stock.HouseConfig) (made []string, err error) {
	made, err = initialise(dir, first)
	return made, archive.DiskError(err, dir)
}

func initialise(dir string, first stock.HouseConfig) (made []string, err error) {
	if err := registry.CheckLetters(first.Letters); err != nil {
		return nil, err
	}
	config, err := starterConfig(first)
	if err != nil {
		return nil, err
	}
	files := map[string][]byte{archive.ConfigFile: config}
	order := []string{archive.ConfigFile}
	starters := serials.Starters()
	names, err := fs.Glob(starters, "*.csv")
	if err != nil {
		return nil, err
	}
	for _, name := range names {
		text, err := fs.ReadFile(starters, name)
		if err != nil {
			return nil, err
		}
		name = filepath.Join(archive.TablesDir, name)
		files[name], order = text, append(order, name)
	}
	if !exists(filepath.Join(dir, archive.DBFile)) {
		if err := bereft(dir); err != nil {
			return nil, err
		}
	} else if back, err := putBack(dir); err != nil {
		return nil, err
	} else if back {
		made = append(made, archive.ConfigFile)
	}
	if err := os.MkdirAll(filepath.Dir(dir), 0o700); err != nil {
		return nil, err
	}
	more, err := initBy(dir, order, files)
	return append(made, more...), err
}

// initBy makes a house in a working folder, which then becomes the house, or gives it what it lacks file by
// file: each is whole or not there, and the registry comes last, since a folder is a house once it has one.
func initBy(dir string, order []string, files map[string][]byte) (made []string, err error) {
	parent := filepath.Dir(filepath.Clean(dir))
	if exists(dir) {
		parent = dir
	}
	work, err := os.MkdirTemp(parent, ".pitman-init-")
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(work)) }()
	if err := os.Mkdir(filepath.Join(work, archive.TablesDir), 0o700); err != nil {
		return nil, err
	}
	if err := sqlite.Create(filepath.Join(work, archive.DBFile)); err != nil {
		return nil, err
	}
	if files[archive.ConfigFile], err = belongs(files[archive.ConfigFile], dir, work); err != nil {
		return nil, err
	}
	for _, name := range order {
		if err := whole.Write(filepath.Join(work, name), files[name], 0o600); err != nil {
			return nil, err
		}
	}
	order = append(order, archive.DBFile)
	if parent != dir {
		return order, errors.Join(os.Rename(work, dir), whole.SyncFolder(parent))
	}
	if err := os.Mkdir(filepath.Join(dir, archive.TablesDir), 0o700); err != nil &&
		!errors.Is(err, fs.ErrExist) {
		return nil, err
	}
	for _, name := range order {
		fresh, err := moveNew(filepath.Join(work, name), filepath.Join(dir, name))
		if err != nil {
			return made, err
		}
		if fresh {
			made = append(made, name)
		}
	}
	return made, whole.SyncFolder(dir)
}

// belongs writes into a fresh house.toml which registry it belongs to: the one that is there, or the one that
// was just made.
func belongs(config []byte, dir, work string) ([]byte, error) {
	file := filepath.Join(dir, archive.DBFile)
	if !exists(file) {
		file = filepath.Join(work, archive.DBFile)
	}
	db, err := sqlite.Inspect(file)
	if err != nil {
		return nil, err
	}
	head, err := db.Head(context.Background())
	if err = errors.Join(err, db.Close()); err != nil || head.House == "" {
		return config, err
	}
	return bytes.Replace(config, []byte("[house]\n"),
		fmt.Appendf(nil, "[house]\nid = %q    # of this house's registry: leave it as it is\n", head.House),
		1), nil
}

// moveNew gives a file a second name that is not taken yet; where the disk knows no second names, it is
// renamed.
func moveNew(from, to string) (bool, error) {
	err := os.Link(from, to)
	if errors.Is(err, fs.ErrExist) || exists(to) && err != nil {
		return false, nil
	}
	if err != nil {
		err = os.Rename(from, to)
	}
	return err == nil, err
}

func starterConfig(first stock.HouseConfig) ([]byte, error) {
	quote := func(s string) string { return fmt.Sprintf("%q", s) }
	t, err := template.New("").Funcs(template.FuncMap{"quote": quote}).
		ParseFS(templates, "house.toml.tmpl")
	if err != nil {
		return nil, err
	}
	var text bytes.Buffer
	if err := t.ExecuteTemplate(&text, "house.toml.tmpl", first); err != nil {
		return nil, err
	}
	if _, err := ParseConfig(text.Bytes()); err != nil {
		return nil, err
	}
	return text.Bytes(), nil
}
