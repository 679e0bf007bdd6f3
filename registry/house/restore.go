package house

import (
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"filippo.io/age"

	"pitman/registry"
	"pitman/registry/archive"
	"pitman/registry/sqlite"
	"pitman/registry/whole"
)

// A backup does not know the tags that were given after it was made, and those are tied to machines by now;
// nor the numbers of orders, which stand on papers, and of parts, which are written on them; nor the numbers
// of actions, by which other houses know them. A restored house therefore goes on at a fresh thousand of
// tags, a fresh hundred of orders and of parts, and a fresh hundred thousand of actions: above any number
// that a workshop usually gives between two backups. Whoever can look at the shelves says the highest tag
// instead.
const (
	freshTags    = 1000
	freshOrders  = 100
	freshSpares  = 100
	freshActions = 100_000
)

// fresh is the next round number that leaves at least a whole round free.
func fresh(last, round int64) int64 { return (last + 2*round - 1) / round * round }

// Restored is a house that came out of a backup.
type Restored struct {
	House      string           `json:"house"`
	File       string           `json:"file"`
	At         time.Time        `json:"at"` // when the backup was made
	Machines   int64            `json:"machines"`
	NextNumber int64            `json:"next_number"` // of the next tag
	Faults     []registry.Fault `json:"faults"`
}

// Restore unpacks a backup into dir, where no house may be yet. dir appears once it is whole and checked.
// last is the last tag that the house is known to have given, or empty.
func Restore(ctx context.Context, file, dir string, last registry.Tag,
	keys ...age.Identity) (*Restored, error) {
	if entries, err := os.ReadDir(dir); err == nil && len(entries) > 0 || err != nil &&
		!errors.Is(err, fs.ErrNotExist) {
		return nil, registry.Errorf(registry.Conflict,
			"%s is there already, and restoring never writes over anything: name a folder that is not "+
				"there yet, such as %s-restored", dir, dir).On("house")
	}
	if _, err := os.Stat(file); err != nil {
		return nil, registry.Errorf(registry.NotFound,
			"backup %s cannot be read (%v): name a backup file, such as one in the backups folder of the "+
				"house", file, archive.RootCause(err))
	}
	var r *Restored
	err := beside(dir, ".pitman-restore-", func(work string) (err error) {
		r, err = restoreBy(ctx, work, file, dir, last, keys)
		return err
	})
	if err != nil {
		return nil, err
	}
	return r, nil
}

// beside makes a house in dir by way of a working folder beside it.
func beside(dir, prefix string, fill func(work string) error) error {
	parent := filepath.Dir(filepath.Clean(dir))
	if err := os.MkdirAll(parent, 0o700); err != nil {
		return archive.DiskError(err, dir)
	}
	sweepBeside(parent)
	work, err := os.MkdirTemp(parent, besideName(prefix))
	if err != nil {
		return archive.DiskError(err, dir)
	}
	err = fill(work)
	left := whole.RemoveFolder(work)
	switch {
	case err != nil:
		return archive.DiskError(errors.Join(err, left), dir)
	case left != nil:
		return stays("the house in "+dir+" is made", left)
	}
	return nil
}

// restoreBy restores by way of a working folder beside dir.
func restoreBy(ctx context.Context, work, file, dir string, last registry.Tag,
	keys []age.Identity) (*Restored, error) {
	manifest, err := archive.Unpack(ctx, file, work, keys)
	if err != nil {
		return nil, err
	}
	r := &Restored{House: dir, File: file, At: manifest.At, Machines: manifest.Machines,
		Faults: []registry.Fault{}}
	db, err := sqlite.Open(filepath.Join(work, archive.DBFile))
	if err != nil {
		return nil, err
	}
	r.NextNumber, err = goOnAbove(ctx, db, manifest.Letters, last)
	if err == nil {
		err = db.MendTexts(ctx)
	}
	if err == nil {
		err = db.Branch(ctx, time.Now())
	}
	var faults []registry.Fault
	if err == nil {
		faults, err = verify(ctx, db, work, manifest.Letters, ReadLists(work))
	}
	if err == nil {
		(&House{Dir: work}).Note(ctx, db)
	}
	if err = errors.Join(err, db.Close()); err != nil {
		return nil, err
	}
	r.Faults = append(r.Faults, faults...)
	return r, errors.Join(os.Rename(work, dir), whole.SyncFolder(filepath.Dir(filepath.Clean(dir))))
}

// goOnAbove raises the running numbers above all that may have been given.
func goOnAbove(ctx context.Context, db *sqlite.DB, letters string, last registry.Tag) (next int64,
	err error) {
	given, err := db.LastGiven(ctx)
	if err != nil {
		return 0, err
	}
	highest, err := db.HighestNumber(ctx, letters)
	if err != nil {
		return 0, err
	}
	highest = max(highest, given.Tag)
	above := fresh(highest, freshTags)
	if last != "" {
		own, n, _ := last.Parts()
		switch {
		case own != letters:
			return 0, registry.Errorf(registry.Invalid,
				"last %s begins with other letters than this house's tags (%s): read the last tag that "+
					"this house gave", last, letters)
		case n < highest:
			return 0, registry.Errorf(registry.Invalid,
				"last %s is not the last tag: the backup itself knows %s; read the highest tag on the "+
					"shelves, or leave it out", last,
				registry.NewTag(letters, highest)).On("last")
		}
		above = n
	}
	return above + 1,
		db.SkipTo(ctx,
			sqlite.Numbers{Tag: above, Order: fresh(given.Order, freshOrders),
				Spare: fresh(given.Spare, freshSpares), Further: freshOrders,
				Action: fresh(given.Action, freshActions)})
}
