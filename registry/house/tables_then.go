package house

import (
	"archive/tar"
	"bufio"
	"cmp"
	"compress/gzip"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"filippo.io/age"

	"pitman/registry"
	"pitman/registry/archive"
	"pitman/serials/delimited"
)

// TableChange is what became of a table file between two moments at which the house kept it. Whoever edits a
// table does it outside of pitman, so when in between, and who, nobody knows.
type TableChange struct {
	After   time.Time `json:"after"`           // the backup that has the file as it was
	Before  time.Time `json:"before,omitzero"` // the one that has it as it became; zero where that is today's
	File    string    `json:"file"`
	What    string    `json:"what"` // new, changed or gone
	Added   []string  `json:"added"`
	Removed []string  `json:"removed"`
}

// TableHistory is what the house's own backups tell of its tables.
type TableHistory struct {
	Changes []TableChange `json:"changes"`
	Backups int           `json:"backups"` // that were read
	First   time.Time     `json:"first,omitzero"`
	Unread  []string      `json:"unread"` // backups that could not be read, such as archive.encrypted ones
}

// tablesThen are the tables as they were at a moment.
type tablesThen struct {
	at    time.Time
	files map[string][]string // the lines of each
}

// TableHistory compares the tables of each dated backup with those of the next, and the last with today's.
func (h *House) TableHistory(keys []age.Identity) (*TableHistory, error) {
	out := &TableHistory{Changes: []TableChange{}, Unread: []string{}}
	folder := filepath.Join(h.Dir, BackupsDir)
	entries, err := os.ReadDir(folder)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, unreadable(err, h.Dir)
	}
	var then []tablesThen
	for _, e := range entries {
		at, ok := ageOf(e.Name())
		if !ok {
			continue
		}
		files, err := tablesIn(filepath.Join(folder, e.Name()), keys)
		if err != nil {
			out.Unread = append(out.Unread, e.Name())
			continue
		}
		then = append(then, tablesThen{at, files})
	}
	slices.SortStableFunc(then, func(a, b tablesThen) int { return a.at.Compare(b.at) })
	if out.Backups = len(then); len(then) == 0 {
		return out, nil
	}
	out.First = then[0].at
	today, err := h.tablesToday()
	if err != nil {
		return nil, err
	}
	then = append(then, tablesThen{files: today})
	for i := range then[1:] {
		out.Changes = append(out.Changes, changesOf(then[i], then[i+1])...)
	}
	return out, nil
}

func (h *House) tablesToday() (map[string][]string, error) {
	files := map[string][]string{}
	names, err := archive.HouseFiles(h.Dir)
	if err != nil {
		return nil, unreadable(err, h.Dir)
	}
	for _, name := range names {
		if file, ok := strings.CutPrefix(name, archive.TablesDir+"/"); ok {
			text, err := archive.ReadBounded(filepath.Join(h.Dir, name), archive.MaxText)
			if err != nil {
				return nil, err
			}
			files[file] = delimited.LinesOf(text)
		}
	}
	return files, nil
}

// tablesIn reads the tables out of a backup. They stand before the registry, so the rest is left alone.
func tablesIn(file string, keys []age.Identity) (map[string][]string, error) {
	f, err := os.Open(file)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	plain, err := archive.Opened(f, keys)
	if err != nil {
		return nil, err
	}
	zipped, err := gzip.NewReader(bufio.NewReader(plain))
	if err != nil {
		return nil, err
	}
	in, files, room := tar.NewReader(zipped), map[string][]string{}, int64(archive.MaxText)
	for {
		header, err := in.Next()
		if err != nil {
			return nil, cmp.Or(err, io.ErrUnexpectedEOF)
		}
		if header.Name == archive.DBFile {
			return files, nil
		}
		name, ok := strings.CutPrefix(header.Name, archive.TablesDir+"/")
		if !ok || !archive.Belongs(header.Name) {
			continue
		}
		if room -= header.Size; room < 0 {
			return nil, registry.Errorf(registry.Invalid, "its tables are larger than tables are")
		}
		text, err := io.ReadAll(in)
		if err != nil {
			return nil, err
		}
		files[name] = delimited.LinesOf(text)
	}
}

// changesOf lists what differs between two moments, by file. Rows that only moved are no change.
func changesOf(old, fresh tablesThen) (changes []TableChange) {
	names := map[string]bool{}
	for _, t := range []tablesThen{old, fresh} {
		for name := range t.files {
			names[name] = true
		}
	}
	for name := range names {
		was, had := old.files[name]
		is, has := fresh.files[name]
		c := TableChange{After: old.at, Before: fresh.at, File: name, What: "changed",
			Added: delimited.Without(is, was), Removed: delimited.Without(was, is)}
		switch {
		case !had:
			c.What = "new"
		case !has:
			c.What = "gone"
		case len(c.Added)+len(c.Removed) == 0:
			continue
		}
		changes = append(changes, c)
	}
	slices.SortFunc(changes, func(a, b TableChange) int { return cmp.Compare(a.File, b.File) })
	return changes
}
