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

// rotate removes the dated backups that made room: of the latest ones, of days, of weeks and of months each
// stay as many as [backup] says. One dated ahead of the clock counts for nothing, and never goes; nor does
// one that knows of more than the fresh one, or of which nobody can say what it knows.
func rotate(folder string, c archive.Config, fresh string, made Made) (removed []string, err error) {
	removed = []string{}
	entries, err := os.ReadDir(folder)
	clock, ok := ageOf(fresh)
	if err != nil || c.Keep == 0 || !ok {
		return removed, err
	}
	var names []string // the latest first
	for _, e := range entries {
		at, ok := ageOf(e.Name())
		if ok && e.Type().IsRegular() && e.Name() != fresh && !at.After(clock) {
			names = append(names, e.Name())
		}
	}
	slices.SortFunc(names, func(a, b string) int {
		first, _ := ageOf(a)
		second, _ := ageOf(b)
		// the second one of a moment has a number, so it is longer
		return cmp.Or(second.Compare(first), cmp.Compare(len(b), len(a)), cmp.Compare(b, a))
	})
	stays := staying(append([]string{fresh}, names...), c)
	for _, name := range names {
		if stays[name] || !replaces(made, known(folder, name)) {
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

// replaces says whether the fresh backup knows all that another one does, so that the other may go.
func replaces(fresh Made, old *Made) bool {
	return old != nil && old.Machines <= fresh.Machines && old.Actions <= fresh.Actions &&
		(old.House == fresh.House || old.House == "")
}

// known is what a dated backup knows; nil when nobody can say.
func known(folder, name string) *Made {
	if m := lookMade(filepath.Dir(folder)).find(filepath.Join(folder, name)); m != nil {
		return m
	}
	m, err := archive.ManifestOf(filepath.Join(folder, name))
	if err != nil {
		return nil
	}
	return &Made{File: filepath.Join(folder, name), At: m.At, Machines: m.Machines, Actions: m.Actions,
		House: m.Head.House}
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
