package house

import (
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"time"

	"filippo.io/age"

	"pitman/registry"
	"pitman/registry/archive"
	"pitman/registry/chain"
	"pitman/registry/sqlite"
	"pitman/registry/whole"
)

// BackupsDir is where backups go that were given no other place.
const BackupsDir = "backups"

// dated is the form of the names that pitman gives; only files of such a name are ever removed.
var dated = regexp.MustCompile(`^pitman-\d{4}-\d{2}-\d{2}T\d{6}Z(-\d+)?` +
	`(-before-schema-\d+)?\.tar\.gz(\.age)?$`)

// Backup is a written and checked backup.
type Backup struct {
	File    string    `json:"file"`
	Bytes   int64     `json:"bytes"`
	At      time.Time `json:"at"`
	Removed []string  `json:"removed"` // older ones that made room, by [backup] keep
	sqlite.Summary
	chain.Head
	Faults []registry.Fault `json:"faults"` // of the house as it was copied; the backup itself is whole

	Also  string `json:"also,omitempty"` // the second copy
	Trial *Trial `json:"trial,omitempty"`

	// Undone is what could not be done beside making it: the second copy, the trial, clearing up.
	Undone []error `json:"-"`
}

// Trial is what came out when an earlier backup was restored to see whether it can be.
type Trial struct {
	File     string `json:"file"`
	Machines int64  `json:"machines"`
	Faults   int    `json:"faults"`
	// it is encrypted and there was no key, so nobody knows whether it can be restored
	Untried bool `json:"untried,omitempty"`
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
				"this program is newer than the house, and could not make a backup before it changes the "+
					"registry's form: %s", refusal.Message)
		}
		return err
	}
	if h.Upgrading != nil {
		h.Upgrading(b.File)
	}
	return nil
}

func (h *House) datedBackup(ctx context.Context, db *sqlite.DB, why string) (*Backup, error) {
	if err := h.makeFolder(); err != nil {
		return nil, err
	}
	folder := filepath.Join(h.Dir, BackupsDir)
	stem, end := filepath.Join(folder, "pitman-"+h.Now().UTC().Format(nameStamp)), ".tar.gz"
	if len(h.Config.Backup.ForTo) > 0 {
		end += archive.Encrypted
	}
	file := stem + why + end
	for n := 2; exists(file); n++ {
		file = fmt.Sprintf("%s-%d%s%s", stem, n, why, end)
	}
	b, err := h.backup(ctx, db, file)
	if err != nil {
		return nil, err
	}
	if len(b.Faults) > 0 {
		return b, nil // the ones from before the house was damaged are needed now
	}
	made := b.made()
	if b.Removed, err = h.rotate(folder, made); err != nil {
		return nil, archive.DiskError(err, folder)
	}
	if also := h.Config.Backup.Also; also != "" {
		b.Also = filepath.Join(also, filepath.Base(file))
		if err := h.copyAlso(ctx, b, made); err != nil {
			b.Also, b.Undone = "", append(b.Undone, err)
		}
	}
	if why == "" {
		b.Undone = append(b.Undone, h.tryLast(ctx, b, made)...)
	}
	return b, nil
}

func (b *Backup) made() Made {
	file, _ := filepath.Abs(b.File)
	return Made{File: file, At: b.At, Bytes: b.Bytes, House: b.Head.House, Machines: b.Machines,
		Actions: b.Actions, Links: b.Head.Links, Sum: b.Head.Sum, Good: len(b.Faults) == 0}
}

// copyAlso copies a backup to the second folder, and reads it there again.
func (h *House) copyAlso(ctx context.Context, b *Backup, made Made) error {
	failed := func(err error) error {
		return registry.Errorf(registry.Conflict,
			"the backup is made, but not its second copy in %s (%v): see that the disk is there and has room",
			filepath.Dir(b.Also), archive.RootCause(err))
	}
	if exists(b.Also) {
		return failed(fs.ErrExist)
	}
	work, done, err := h.working(filepath.Dir(b.Also))
	if err != nil {
		return failed(err)
	}
	err = copyFile(ctx, b.File, b.Also, work)
	if err = errors.Join(err, done()); err != nil {
		return failed(err)
	}
	made.File = b.Also
	_, err = h.rotate(filepath.Dir(b.Also), made)
	if err = errors.Join(err, lookMade(h.Dir).note(h.Dir, made)); err != nil {
		return failed(err)
	}
	return nil
}

// copyFile copies a file whole, and holds what it reads there against what it wrote.
func copyFile(ctx context.Context, from, to, work string) error {
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer in.Close()
	out, err := whole.Create(to, work, 0o600)
	if err != nil {
		return err
	}
	defer out.Cleanup()
	wrote, read := sha256.New(), sha256.New()
	if _, err := io.Copy(io.MultiWriter(out, wrote), archive.WithContext(ctx, in)); err != nil {
		return err
	}
	if err := out.Sync(); err != nil {
		return err
	}
	if _, err := out.Seek(0, io.SeekStart); err != nil {
		return err
	}
	if _, err := io.Copy(read, archive.WithContext(ctx, out)); err != nil {
		return err
	}
	if !bytes.Equal(wrote.Sum(nil), read.Sum(nil)) {
		return errors.New("it did not come out as it went in")
	}
	return errors.Join(out.CloseAtomicallyReplace(), whole.SyncFolder(filepath.Dir(to)))
}

// tryLast restores the last backup before this one, once a month, to see whether it can be.
func (h *House) tryLast(ctx context.Context, b *Backup, made Made) []error {
	last := dueTrial(h.Dir, made, len(h.TrialKeys) > 0)
	if last == nil {
		return nil
	}
	failed := func(err error) []error {
		return []error{registry.Errorf(registry.Conflict,
			"the backup is made, but an earlier one, %s, cannot be restored (%v): move it away, and look "+
				"whether its disk fails", last.File, err)}
	}
	if strings.HasSuffix(last.File, archive.Encrypted) && len(h.TrialKeys) == 0 {
		b.Trial = &Trial{File: last.File, Untried: true} // only who has the key can try it
		last.Tried, last.Untried = made.At, true
		if err := lookMade(h.Dir).note(h.Dir, *last); err != nil {
			return failed(err)
		}
		return nil
	}
	work, done, err := h.working(filepath.Join(h.Dir, BackupsDir))
	if err != nil {
		return failed(err)
	}
	manifest, err := archive.Unpack(ctx, last.File, work, h.TrialKeys)
	if err == nil {
		var faults []registry.Fault
		faults, err = inspect(ctx, filepath.Join(work, archive.DBFile), manifest.Letters, ReadLists(work))
		if err == nil {
			b.Trial = &Trial{File: last.File, Machines: manifest.Machines, Faults: len(faults)}
			last.Tried, last.Untried = made.At, false
		}
	}
	if err = errors.Join(err, done()); err != nil {
		return failed(err)
	}
	if err := lookMade(h.Dir).note(h.Dir, *last); err != nil {
		return failed(err)
	}
	return nil
}

func exists(path string) bool {
	_, err := os.Lstat(path)
	return err == nil
}

func (h *House) backup(ctx context.Context, db *sqlite.DB, file string) (*Backup, error) {
	if exists(file) {
		return nil, registry.Errorf(registry.Conflict,
			"%s is there already, and a backup never writes over anything: name another file, or none for "+
				"a dated one", file)
	}
	if err := h.sameHouse(ctx, db); err != nil {
		return nil, err // an older or emptied registry would push out the backups that know more
	}
	_ = h.makeFolder() // where it cannot be made, the work is done beside the file
	sweep(h.Dir)
	inHouse, beside := filepath.Join(h.Dir, BackupsDir), filepath.Dir(file)
	b, err := h.backupBy(ctx, db, inHouse, file)
	if err != nil && len(h.Config.Backup.ForTo) == 0 && inHouse != beside &&
		archive.DiskError(err, file) != err {
		b, err = h.backupBy(ctx, db, beside, file) // there may be room where the house has none
	}
	if err != nil {
		return nil, archive.DiskError(err, file)
	}
	_ = lookMade(h.Dir).note(h.Dir, b.made()) // a house that cannot be written is backed up without a note
	return b, nil
}

// leaves tells of a working folder that could not be removed: a backup that is made stays made.
func (b *Backup) leaves(err, left error) error {
	if err == nil && left != nil {
		b.Undone = append(b.Undone, stays("the backup is made", left))
		return nil
	}
	return errors.Join(err, left)
}

// stays says of what is made that a folder is left in which it was.
func stays(made string, left error) error {
	return registry.Errorf(registry.Conflict,
		"%s, but the folder in which that was done could not be removed (%v): "+
			"check the disk, and remove that folder if it is there still", made, left)
}

// backupBy makes the backup by way of a working folder for the copy of the registry, which is written nowhere
// else without its cipher, and of one beside the file.
func (h *House) backupBy(ctx context.Context, db *sqlite.DB, in, file string) (b *Backup, err error) {
	work, clear, err := h.working(in)
	if err != nil {
		return nil, err
	}
	defer func() { err = b.leaves(err, clear()) }()
	beside, clearBeside, err := h.working(filepath.Dir(file))
	if err != nil {
		return nil, err
	}
	defer func() { err = b.leaves(err, clearBeside()) }()
	registryCopy := filepath.Join(work, archive.DBFile)
	b = &Backup{File: file, At: h.Now().UTC().Truncate(time.Second), Removed: []string{},
		Faults: []registry.Fault{}}
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
	out, err := whole.Create(file, beside, 0o600)
	if err != nil {
		return nil, err
	}
	defer out.Cleanup()
	manifest := archive.Manifest{Format: archive.Format, At: b.At, House: h.Config.House.Name,
		Letters: h.Config.House.Letters, Summary: b.Summary, Head: b.Head}
	sealed, key, err := h.Config.Backup.Sealing(out)
	if err != nil {
		return nil, err
	}
	if err := archive.Pack(ctx, sealed, h.Dir, registryCopy, manifest); err != nil {
		return nil, err
	}
	if err := errors.Join(sealed.Close(), out.Sync(), os.Remove(registryCopy)); err != nil {
		return nil, err
	}
	if b.Bytes, err = out.Seek(0, io.SeekEnd); err != nil {
		return nil, err
	}
	// What counts is what comes out of the file, so that is what is checked.
	again := filepath.Join(work, "again")
	if err := os.Mkdir(again, 0o700); err != nil {
		return nil, err
	}
	var keys []age.Identity
	if key != nil {
		keys = append(keys, key)
	}
	if _, err := archive.Unpack(ctx, out.Name(), again, keys); err != nil {
		if archive.DiskError(err, file) != err {
			return nil, err
		}
		return nil, fmt.Errorf("the backup did not come out as it went in, the disk under %s may be "+
			"failing: %w", filepath.Dir(file), err)
	}
	faults, err := inspect(ctx, filepath.Join(again, archive.DBFile), h.Config.House.Letters, h.Lists)
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
