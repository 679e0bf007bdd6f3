// Package house is the folder that holds everything a workshop owns: the registry file pitman.db, the serial
// tables in tables/, the lists that it changed in lists/, and house.toml, where the house says how it works.
// A backup copies all of it as it stands at one moment.
package house

import (
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"sync"
	"syscall"
	"time"

	"filippo.io/age"

	"pitman/registry"
	"pitman/registry/archive"
	"pitman/registry/recall"
	"pitman/registry/sqlite"
	"pitman/registry/stock"
	"pitman/serials"
)

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

	// TakenBack is told of what came in in part, by a program that was ended, and is taken back now; nil when
	// nobody listens.
	TakenBack func(*registry.Action)

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
		_ = h.takeBack(ctx, db) // until there is room for that, verify tells of it
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

// takeBack takes back what came in in part.
func (h *House) takeBack(ctx context.Context, db *sqlite.DB) error {
	broken, err := db.TakeBack(ctx, h.Now())
	if broken != nil && h.TakenBack != nil {
		h.TakenBack(broken)
	}
	return err
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
		_ = h.takeBack(ctx, db)
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
