package house

import (
	"cmp"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"time"

	"pitman/registry/archive"
	"pitman/registry/whole"
)

// nameStamp is the moment in the name of a dated backup.
const nameStamp = "2006-01-02T150405Z"

// ageOf is the moment in the name of a dated backup.
func ageOf(name string) (time.Time, bool) {
	if !dated.MatchString(name) {
		return time.Time{}, false
	}
	at, err := time.Parse(nameStamp, name[len("pitman-"):][:len(nameStamp)])
	return at, err == nil
}

// rotate removes the dated backups that the fresh one leaves no room for: of the latest ones, of days, of
// weeks and of months each stay as many as [backup] says. One dated ahead of the clock, of another house, or
// of which nobody can say what it knows, takes no place and never goes; nor does one that knows more than the
// fresh one.
func (h *House) rotate(folder string, made Made) (removed []string, err error) {
	removed = []string{}
	entries, err := os.ReadDir(folder)
	fresh := filepath.Base(made.File)
	clock, ok := ageOf(fresh)
	if err != nil || h.Config.Backup.Keep == 0 || !ok {
		return removed, err
	}
	notes := lookMade(h.Dir)
	may := map[string]bool{}
	var names []string // the latest first
	for _, e := range entries {
		at, ok := ageOf(e.Name())
		if !ok || !e.Type().IsRegular() || e.Name() == fresh || at.After(clock) {
			continue
		}
		old := notes.known(filepath.Join(folder, e.Name()))
		if old != nil && (old.House == made.House || old.House == "") {
			names, may[e.Name()] = append(names, e.Name()), replaces(made, old)
		}
	}
	slices.SortFunc(names, func(a, b string) int {
		first, _ := ageOf(a)
		second, _ := ageOf(b)
		// the second one of a moment has a number, so it is longer
		return cmp.Or(second.Compare(first), cmp.Compare(len(b), len(a)), cmp.Compare(b, a))
	})
	stays := staying(append([]string{fresh}, names...), h.Config.Backup)
	for _, name := range names {
		if stays[name] || !may[name] {
			continue
		}
		if err := os.Remove(filepath.Join(folder, name)); err != nil {
			return removed, err
		}
		removed = append(removed, name)
	}
	slices.Sort(removed)
	if len(removed) > 0 {
		err = whole.SyncFolder(folder)
	}
	return removed, err
}

// staying says which of these backups stay; they come the latest first.
func staying(names []string, c archive.Config) map[string]bool {
	stays := map[string]bool{}
	for _, rule := range []struct {
		most int
		of   func(at time.Time, i int) any // two of the same are one
	}{
		{c.Keep, func(_ time.Time, i int) any { return i }},
		{c.Keep, func(at time.Time, _ int) any { return at.Format("2006-01-02") }},
		{c.Weeks, func(at time.Time, _ int) any { year, week := at.ISOWeek(); return [2]int{year, week} }},
		{c.Months, func(at time.Time, _ int) any { return at.Format("2006-01") }},
	} {
		seen := map[any]bool{}
		for i, name := range names {
			at, _ := ageOf(name)
			if key := rule.of(at, i); !seen[key] && len(seen) < rule.most {
				seen[key], stays[name] = true, true
			}
		}
	}
	return stays
}

// replaces says whether the fresh backup of a house knows all that another one does, so that the other may
// go.
func replaces(fresh Made, old *Made) bool {
	return old.Machines <= fresh.Machines && old.Actions <= fresh.Actions
}

// known is what a backup knows; nil when nobody can say.
func (n madeNotes) known(file string) *Made {
	if m := n.find(file); m != nil && !m.cut() {
		return m
	}
	m, err := archive.ManifestOf(file)
	if err != nil {
		return nil
	}
	return &Made{File: file, At: m.At, Machines: m.Machines, Actions: m.Actions, House: m.Head.House}
}

// sweep removes what backups of this house left behind that were cut short, wherever it lies: a note of each
// working folder stands in the house from before the folder is made until it is gone.
func sweep(dir string) {
	notes, _ := filepath.Glob(filepath.Join(dir, BackupsDir, workBegins+"*.note"))
	for _, note := range notes {
		if text, err := archive.ReadSmall(note); err == nil {
			clearWork(note, string(text))
		}
	}
	// Those of a program that wrote no notes; no backup takes a day.
	folders, _ := filepath.Glob(filepath.Join(dir, BackupsDir, workBegins+"*"))
	for _, folder := range folders {
		info, err := os.Stat(folder)
		if err == nil && info.IsDir() && time.Since(info.ModTime()) > 24*time.Hour {
			_ = whole.RemoveFolder(folder)
		}
	}
}

// clearWork removes a working folder whose maker is gone, then the note of it. A folder on a disk that is not
// there now keeps its note.
func clearWork(note, text string) {
	pid, ours, folder, ok := parseNote(text)
	info, err := os.Stat(note)
	if err != nil || ok && (!ours || whole.Alive(pid)) && time.Since(info.ModTime()) < 24*time.Hour {
		return
	}
	if ok {
		if _, err := os.Stat(filepath.Dir(folder)); errors.Is(err, fs.ErrNotExist) {
			return
		}
		if err := whole.RemoveFolder(folder); err != nil {
			return
		}
	} else if time.Since(info.ModTime()) < 24*time.Hour {
		return // it is being written
	}
	_ = os.Remove(note)
}
