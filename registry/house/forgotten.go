package house

import (
	"os"
	"path/filepath"
	"slices"
	"time"
)

// MadeSince lists the backups that were made since a moment and are there still, as far as the house knows of
// them: whatever stood in the records then stands in them.
func (h *House) MadeSince(since time.Time) []string {
	files := []string{}
	add := func(file string, at time.Time) {
		if absolute, err := filepath.Abs(file); err == nil {
			file = absolute
		}
		if !at.Before(since.Truncate(time.Second)) && !gone(file) && !slices.Contains(files, file) {
			files = append(files, file)
		}
	}
	for _, m := range lookMade(h.Dir) {
		add(m.File, m.At)
	}
	for _, folder := range []string{filepath.Join(h.Dir, BackupsDir), h.Config.Backup.Also} {
		entries, _ := os.ReadDir(folder)
		for _, e := range entries {
			if at, ok := ageOf(e.Name()); ok {
				add(filepath.Join(folder, e.Name()), at)
			}
		}
	}
	return files
}
