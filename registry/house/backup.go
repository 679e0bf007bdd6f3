package house

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"syscall"
	"time"

	"pitman/registry"
	"pitman/registry/chain"
	"pitman/registry/sqlite"
	"pitman/registry/whole"
)

// BackupsDir is where backups go that were given no other place.
const BackupsDir = "backups"

// dated is the form of the names that pitman gives; only files of such a name are ever removed.
var dated = regexp.MustCompile(`^pitman-\d{4}-\d{2}-\d{2}T\d{6}Z(-\d+)?(-before-schema-\d+)?\.tar\.gz$`)

// Backup is a written and checked backup.
type Backup struct {
	File    string    `json:"file"`
	Bytes   int64     `json:"bytes"`
	At      time.Time `json:"at"`
	Removed []string  `json:"removed"` // older ones that made room, by [backup] keep
	sqlite.Summary
	chain.Head
	Faults []registry.Fault `json:"faults"` // of the house as it was copied; the backup itself is whole
}

// Backup copies the house as it stands at one moment into one file, while others go on working. The file
// appears under its name once it was written whole, unpacked again and checked. Without a name it goes to the
// house's backups folder, where the oldest make room.
func (h *House) Backup(ctx context.Context, db *sqlite.DB, file string) (*Backup, error) {
	if file != "" {
		return h.backup(ctx, db, file)
	}
	return h.datedBackup(ctx, db, "")
}

// beforeUpgrade keeps the house as the older pitman left it.
func (h *House) beforeUpgrade(ctx context.Context, db *sqlite.DB, schema int) error {
	b, err := h.datedBackup(ctx, db, fmt.Sprintf("-before-schema-%d", schema+1))
	if err != nil {
		var refusal *registry.Error
		if errors.As(err, &refusal) {
			return registry.Errorf(refusal.Code,
				"this program is newer than the house, and could not make a backup before it "+
					"changes the registry's form: %s", refusal.Message)
		}
		return err
	}
	if h.Upgrading != nil {
		h.Upgrading(b.File)
	}
	return nil
}

func (h *House) datedBackup(ctx context.Context, db *sqlite.DB, why string) (*Backup, error) {
	folder := filepath.Join(h.Dir, BackupsDir)
	if err := os.Mkdir(folder, 0o700); err != nil && !errors.Is(err, fs.ErrExist) {
		return nil, diskError(err, folder)
	}
	stem := filepath.Join(folder, "pitman-"+h.Now().UTC().Format("2006-01-02T150405Z"))
	file := stem + why + ".tar.gz"
	for n := 2; exists(file); n++ {
		file = fmt.Sprintf("%s-%d%s.tar.gz", stem, n, why)
	}
	b, err := h.backup(ctx, db, file)
	if err != nil {
		return nil, err
	}
	if len(b.Faults) > 0 {
		return b, nil // the ones from before the house was damaged are needed now
	}
	b.Removed, err = rotate(folder, h.Config.Backup.Keep, filepath.Base(file))
	return b, diskError(errors.Join(err, sweep(folder)), folder)
}

func exists(path string) bool {
	_, err := os.Lstat(path)
	return err == nil
}

func (h *House) backup(ctx context.Context, db *sqlite.DB, file string) (*Backup, error) {
	if exists(file) {
		return nil, registry.Errorf(registry.Conflict,
			"%s is there already, and a backup never writes over anything: name "+
				"another file, or none for a dated one", file)
	}
	work, err := os.MkdirTemp(filepath.Dir(file), workBegins)
	if err != nil {
		return nil, diskError(err, file)
	}
	b, err := h.backupBy(ctx, db, work, file)
	if err = errors.Join(err, whole.RemoveFolder(work)); err != nil {
		return nil, diskError(err, file)
	}
	return b, nil
}

// backupBy makes the backup by way of a working folder on the same disk.
func (h *House) backupBy(ctx context.Context, db *sqlite.DB, work, file string) (*Backup, error) {
	registryCopy := filepath.Join(work, DBFile)
	b := &Backup{File: file, At: h.Now().UTC().Truncate(time.Second), Removed: []string{},
		Faults: []registry.Fault{}}
	if err := h.sameHouse(ctx, db); err != nil {
		return nil, err // an older or emptied registry would push out the backups that know more
	}
	if err := db.CopyTo(ctx, registryCopy); err != nil {
		return nil, err
	}
	copied, err := sqlite.Inspect(registryCopy)
	if err != nil {
		return nil, err
	}
	if b.Summary, err = copied.Summary(ctx); err == nil {
		b.Head, err = copied.Head(ctx)
	}
	if err = errors.Join(err, copied.Close()); err != nil {
		return nil, err
	}
	out, err := whole.Create(file, work, 0o600)
	if err != nil {
		return nil, err
	}
	defer out.Cleanup()
	manifest := Manifest{Format: manifestFormat, At: b.At, House: h.Config.House.Name,
		Letters: h.Config.House.Letters, Summary: b.Summary, Head: b.Head}
	if err := pack(ctx, out, h.Dir, registryCopy, manifest); err != nil {
		return nil, err
	}
	if err := errors.Join(out.Sync(), os.Remove(registryCopy)); err != nil {
		return nil, err
	}
	if b.Bytes, err = out.Seek(0, 1); err != nil {
		return nil, err
	}
	// What counts is what comes out of the file, so that is what is checked.
	again := filepath.Join(work, "again")
	if err := os.Mkdir(again, 0o700); err != nil {
		return nil, err
	}
	if _, err := unpack(ctx, out.Name(), again); err != nil {
		return nil, fmt.Errorf("the backup did not come out as it went in, the disk under %s may be "+
			"failing: %w", filepath.Dir(file), err)
	}
	faults, err := inspect(ctx, filepath.Join(again, DBFile), h.Config.House.Letters, h.Lists)
	if err != nil {
		return nil, err
	}
	b.Faults = append(b.Faults, faults...)
	return b, errors.Join(out.CloseAtomicallyReplace(), whole.SyncFolder(filepath.Dir(file)))
}

// inspect looks for faults in a registry file that nobody uses.
func inspect(ctx context.Context, path, letters string, lists Lists) ([]registry.Fault, error) {
	db, err := sqlite.Inspect(path)
	if err != nil {
		return nil, err
	}
	faults, err := verify(ctx, db, filepath.Dir(path), letters, lists)
	return faults, errors.Join(err, db.Close())
}

// rotate removes the oldest dated backups beyond keep. The one just made stays: it is the oldest by its name
// where the clock was set back.
func rotate(folder string, keep int, fresh string) (removed []string, err error) {
	removed = []string{}
	entries, err := os.ReadDir(folder)
	if err != nil || keep == 0 {
		return removed, err
	}
	clock := fresh[:len("pitman-2006-01-02T150405Z")]
	entries = slices.DeleteFunc(entries, func(e fs.DirEntry) bool {
		// One dated ahead of the clock counts for nothing: it must not push out those whose date is right.
		return !e.Type().IsRegular() || !dated.MatchString(e.Name()) || e.Name() == fresh ||
			e.Name()[:len(clock)] > clock
	})
	for len(entries) > keep-1 { // ReadDir sorts by name, so by date
		if err := os.Remove(filepath.Join(folder, entries[0].Name())); err != nil {
			return removed, err
		}
		removed = append(removed, entries[0].Name())
		entries = entries[1:]
	}
	return removed, nil
}

// workBegins begins the names of the folders in which backups are made.
const workBegins = ".pitman-backup-"

// sweep removes what backups left behind that were cut short, each a whole copy of the registry. No backup
// takes a day.
func sweep(folder string) error {
	entries, err := os.ReadDir(folder)
	for _, e := range entries {
		if !e.IsDir() || !strings.HasPrefix(e.Name(), workBegins) {
			continue
		}
		if info, statErr := e.Info(); statErr == nil && time.Since(info.ModTime()) > 24*time.Hour {
			err = errors.Join(err, whole.RemoveFolder(filepath.Join(folder, e.Name())))
		}
	}
	return err
}

// diskError turns what a disk or its owner can refuse into a sentence that says what to do about it.
func diskError(err error, path string) error {
	switch {
	case err == nil:
		return nil
	case errors.Is(err, syscall.ENOSPC), errors.Is(err, syscall.EDQUOT), errors.Is(err, syscall.EFBIG):
		return registry.Errorf(registry.Conflict,
			"the disk is full, %s was not written: make room, or name a file on another disk", path)
	case errors.Is(err, fs.ErrPermission), errors.Is(err, syscall.EROFS):
		return registry.Errorf(registry.Conflict,
			"%s cannot be written: ask for write access to its folder, or name another place", path)
	case errors.Is(err, fs.ErrNotExist):
		return registry.Errorf(registry.Invalid,
			"the folder of %s is not there: make it, or name another place", path)
	case errors.Is(err, syscall.ENOTDIR):
		return registry.Errorf(registry.Invalid,
			"a file stands where the folder for %s should be: name another place", path)
	}
	return err
}
