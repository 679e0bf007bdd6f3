package house

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"time"

	"filippo.io/age"

	"pitman/registry"
	"pitman/registry/archive"
	"pitman/registry/chain"
	"pitman/registry/photo"
	"pitman/registry/sqlite"
	"pitman/registry/sqlite/salvage"
	"pitman/registry/whole"
)

// Repaired is a house that was put together from what could be proved.
type Repaired struct {
	House  string `json:"house"`
	Backup string `json:"backup,omitempty"` // that it began with
	Began  int64  `json:"backup_links"`     // how far that one's history came
	Links  int64  `json:"links"`            // how far the repaired one's comes
	// how far the damaged house had come, by its own note; 0: not known
	Came       int64    `json:"came_to"`
	Machines   int64    `json:"machines"`
	NextNumber int64    `json:"next_number"`
	Lost       []string `json:"lost"` // in sentences
	// actions that the damaged registry tells of and does not prove
	Unproved []salvage.Unproved `json:"unproved"`
	Faults   []registry.Fault   `json:"faults"`

	last registry.Tag // the highest one on the shelves, if anybody could look
}

// Repair makes a new house in dir of what can be proved: the backup whose history goes furthest, and behind
// it what the chain of the damaged registry vouches for. The damaged house is only read.
func (h *House) Repair(ctx context.Context, dir string, backups []string, last registry.Tag,
	keys []age.Identity) (*Repaired, error) {
	if entries, err := os.ReadDir(dir); err == nil && len(entries) > 0 || err != nil &&
		!errors.Is(err, fs.ErrNotExist) {
		return nil, registry.Errorf(registry.Conflict,
			"%s is there already, and a repair never writes over anything: name a folder that is not there "+
				"yet, such as %s-repaired", dir, filepath.Clean(h.Dir)).On("into")
	}
	r := &Repaired{House: dir, Lost: []string{}, Unproved: []salvage.Unproved{}, Faults: []registry.Fault{},
		last: last}
	err := beside(dir, ".pitman-repair-", func(work string) error {
		if err := h.repairBy(ctx, r, work, backups, keys); err != nil {
			return err
		}
		return errors.Join(os.Rename(filepath.Join(work, "house"), dir), whole.SyncFolder(filepath.Dir(work)))
	})
	if err != nil {
		return nil, err
	}
	return r, nil
}

func (h *House) repairBy(ctx context.Context, r *Repaired, work string, backups []string,
	keys []age.Identity) error {
	fresh := filepath.Join(work, "house")
	if err := h.startFrom(ctx, r, work, fresh, backups, keys); err != nil {
		return err
	}
	if r.Backup != "" && r.Began == 0 {
		if err := h.aloneIfMore(ctx, r, work, fresh); err != nil {
			return err
		}
	}
	if err := h.takeFiles(r, fresh); err != nil {
		return err
	}
	db, err := sqlite.Open(filepath.Join(fresh, archive.DBFile))
	if err != nil {
		return err
	}
	err = h.fill(ctx, r, work, fresh, db)
	return errors.Join(err, db.Close())
}

// startFrom unpacks the backup whose history goes furthest; without any it begins with an empty registry.
func (h *House) startFrom(ctx context.Context, r *Repaired, work, fresh string, backups []string,
	keys []age.Identity) error {
	folder := filepath.Join(h.Dir, BackupsDir)
	entries, _ := os.ReadDir(folder)
	for _, e := range entries {
		if dated.MatchString(e.Name()) {
			backups = append(backups, filepath.Join(folder, e.Name()))
		}
	}
	type candidate struct {
		file  string
		links int64
		at    time.Time
	}
	var all []candidate
	own, houses := h.isHouse(ctx), map[string]bool{}
	for _, file := range slices.Compact(backups) {
		m, err := manifestOf(ctx, file, work, keys)
		if err == nil && own != "" && m.Head.House != "" && m.Head.House != own {
			err = fmt.Errorf("it is of another house (id %.8s…), and was left out", m.Head.House)
		}
		if err != nil {
			r.Lost = append(r.Lost, fmt.Sprintf("backup %s: %v", file, err))
			continue
		}
		all = append(all, candidate{file, m.Links, m.At})
		if m.Head.House != "" {
			houses[m.Head.House] = true
		}
	}
	if len(houses) > 1 {
		return registry.Errorf(registry.Conflict,
			"the backups are of %d houses, and nothing in the damaged one tells which it is: move those of "+
				"other houses out of its backups folder, and name none of them", len(houses)).On("backup")
	}
	slices.SortStableFunc(all, func(a, b candidate) int {
		if a.links != b.links {
			return int(max(-1, min(1, b.links-a.links)))
		}
		return b.at.Compare(a.at)
	})
	for _, c := range all {
		if err := os.Mkdir(fresh, 0o700); err != nil {
			return err
		}
		m, err := archive.Unpack(ctx, c.file, fresh, keys)
		var faults []registry.Fault
		if err == nil {
			faults, err = inspect(ctx, filepath.Join(fresh, archive.DBFile), m.Letters, ReadLists(fresh))
		}
		if err == nil && len(faults) == 0 {
			r.Backup, r.Began = c.file, c.links
			return nil
		}
		if err == nil {
			err = errors.New("it has " + registry.Counted(len(faults), "fault"))
		}
		r.Lost = append(r.Lost, fmt.Sprintf("backup %s was not used: %v", c.file, err))
		if err := whole.RemoveFolder(fresh); err != nil {
			return err
		}
	}
	if err := os.MkdirAll(filepath.Join(fresh, archive.TablesDir), 0o700); err != nil {
		return err
	}
	return sqlite.Create(filepath.Join(fresh, archive.DBFile))
}

// aloneIfMore leaves out a backup from before the house had a chain where the registry proves more by itself,
// from its beginning: nothing ties such a backup to what was done since, nor to who was forgotten.
func (h *House) aloneIfMore(ctx context.Context, r *Repaired, work, fresh string) error {
	alone := filepath.Join(work, "alone.db")
	if err := sqlite.Create(alone); err != nil {
		return err
	}
	db, err := sqlite.Open(alone)
	if err != nil {
		return err
	}
	var proved, kept sqlite.Summary
	if _, err = h.fromDamaged(ctx, &Repaired{}, work, db); err == nil {
		proved, err = db.Summary(ctx)
	}
	if err = errors.Join(err, db.Close()); err != nil {
		return nil //nolint:nilerr // what proves nothing is no help; the backup is
	}
	old, err := sqlite.Inspect(filepath.Join(fresh, archive.DBFile))
	if err != nil {
		return err
	}
	kept, err = old.Summary(ctx)
	if err = errors.Join(err, old.Close()); err != nil || proved.Actions <= kept.Actions {
		return err
	}
	r.Backup = ""
	return errors.Join(os.Remove(filepath.Join(fresh, archive.DBFile)),
		sqlite.Create(filepath.Join(fresh, archive.DBFile)))
}

// manifestOf reads what a backup says of itself; of an archive.encrypted one, by unpacking it.
func manifestOf(ctx context.Context, file, work string, keys []age.Identity) (*archive.Manifest, error) {
	if m, err := archive.ManifestOf(file); err == nil {
		return m, nil
	}
	folder, err := os.MkdirTemp(work, "look-")
	if err != nil {
		return nil, err
	}
	m, err := archive.Unpack(ctx, file, folder, keys)
	return m, errors.Join(err, whole.RemoveFolder(folder))
}

// takeFiles copies tables, lists and pictures of the damaged house over those of the backup, as far as they
// can be read; they are people's own files, and nothing vouches for them.
func (h *House) takeFiles(r *Repaired, fresh string) error {
	names, err := archive.HouseFiles(h.Dir)
	if err != nil {
		r.Lost = append(r.Lost, fmt.Sprintf("the files beside the registry: %v", archive.RootCause(err)))
		return nil
	}
	for _, name := range names {
		if name == archive.ConfigFile {
			continue
		}
		text, err := archive.ReadBounded(filepath.Join(h.Dir, name), archive.MaxText)
		if err != nil {
			r.Lost = append(r.Lost, fmt.Sprintf("%s: %v", name, archive.RootCause(err)))
			continue
		}
		to := filepath.Join(fresh, name)
		if err := os.MkdirAll(filepath.Dir(to), 0o700); err != nil {
			return err
		}
		if exists(to) && filepath.Dir(name) == photo.Folder {
			continue // the backup's was held against its sum
		}
		if err := whole.Write(to, text, 0o600); err != nil {
			return err
		}
	}
	return nil
}

// fill brings what the damaged registry proves, and makes a sound house of it.
func (h *House) fill(ctx context.Context, r *Repaired, work, fresh string, db *sqlite.DB) error {
	if known, ok := lookKnown(h.Dir); ok {
		r.Came = known.Links
	}
	end, err := h.fromDamaged(ctx, r, work, db)
	if err != nil {
		return err
	}
	r.Links = end.Links
	if r.Links == 0 || r.Backup == "" && r.Links <= 1 {
		return registry.Errorf(registry.Conflict,
			"nothing can be proved: there is no whole backup, and the damaged registry cannot be read, "+
				"or is another house's; name a backup that lies elsewhere").On("backup")
	}
	if r.Came > r.Links {
		r.Lost = append(r.Lost, fmt.Sprintf(
			"the house had come to link %d of its history, and %d can be proved: what was done in between "+
				"is lost",
			r.Came, r.Links))
	}
	letters, err := h.settleConfig(ctx, r, fresh, db)
	if err != nil {
		return err
	}
	if err := db.CountersAbove(ctx); err != nil {
		return err
	}
	if r.NextNumber, err = goOnAbove(ctx, db, letters, r.last); err != nil {
		return err
	}
	broken, err := db.TakeBack(ctx, time.Now())
	if broken != nil {
		r.Lost = append(r.Lost, fmt.Sprintf("%s of %s by %s, which had come in in part", broken.Verb, broken.Why,
			broken.By))
	}
	if err := errors.Join(err, db.MendTexts(ctx), db.Mended(ctx, time.Now())); err != nil {
		return err
	}
	// The backup may have had a name that was forgotten since.
	if err := db.Scrub(ctx); err != nil {
		return err
	}
	faults, err := verify(ctx, db, fresh, letters, ReadLists(fresh))
	if err != nil {
		return err
	}
	r.Faults = append(r.Faults, faults...)
	s, err := db.Summary(ctx)
	r.Machines = s.Machines
	(&House{Dir: fresh}).Note(ctx, db)
	return err
}

// fromDamaged works on a copy, so that the damaged file stays as it is.
func (h *House) fromDamaged(ctx context.Context, r *Repaired, work string,
	db *sqlite.DB) (chain.Head, error) {
	lost := func(err error) (chain.Head, error) {
		r.Lost = append(r.Lost, fmt.Sprintf("%s: %v", archive.DBFile, err))
		return db.Head(ctx)
	}
	folder, err := os.MkdirTemp(work, "damaged-")
	if err != nil {
		return chain.Head{}, err
	}
	copied := filepath.Join(folder, archive.DBFile)
	for _, end := range []string{"", "-wal"} {
		err := copyPlain(filepath.Join(h.Dir, archive.DBFile+end), copied+end)
		if errors.Is(err, fs.ErrNotExist) && end != "" {
			continue
		}
		if err != nil {
			return lost(archive.RootCause(err))
		}
	}
	damaged, err := sqlite.Damaged(copied)
	if err != nil {
		return lost(err)
	}
	defer damaged.Close()
	if head, err := damaged.Head(ctx); err == nil && head.House != "" {
		if own := h.isHouse(ctx); own != "" && own != head.House {
			return lost(fmt.Errorf("it is the registry of another house (id %.8s…) than the one that stood "+
				"here (id %.8s…)", head.House, own))
		}
	}
	end, beyond, err := db.TakeProved(ctx, damaged)
	r.Unproved = beyond
	if err != nil {
		end, err = lost(err)
	} else {
		err = db.TakeKeys(ctx, damaged)
	}
	if err != nil {
		return end, err
	}
	again, err := db.ForgottenBeyond(ctx, damaged)
	if len(again) > 0 {
		r.Lost = append(r.Lost, "that somebody was forgotten: the name stands again with "+
			registry.FirstFew(again)+"; forget it once more")
	}
	return end, err
}

func copyPlain(from, to string) error {
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer in.Close()
	out, err := os.OpenFile(to, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	_, err = io.Copy(out, in)
	return errors.Join(err, out.Close())
}

// settleConfig gives the repaired house the house.toml that its chain vouches for; else that of the damaged
// one.
func (h *House) settleConfig(ctx context.Context, r *Repaired, fresh string, db *sqlite.DB) (letters string,
	err error) {
	text, err := db.Remembered(ctx)
	if err != nil {
		return "", err
	}
	if text == "" {
		old, err := archive.ReadSmall(filepath.Join(h.Dir, archive.ConfigFile))
		if err != nil {
			return "", registry.Errorf(registry.Conflict,
				"house.toml cannot be read, and nothing tells what it said (%v): write it anew there",
				archive.RootCause(err))
		}
		text = string(old)
		r.Lost = append(r.Lost,
			"no chain vouches for house.toml: it is taken as it stands in the damaged house; read it through")
	}
	config, err := ParseConfig([]byte(text))
	if err != nil {
		return "", err
	}
	return config.House.Letters, whole.Write(filepath.Join(fresh, archive.ConfigFile), []byte(text), 0o600)
}
