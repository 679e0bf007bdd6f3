package house

import (
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"time"

	"pitman/registry/archive"
	"pitman/registry/whole"
)

// workBegins begins the names of the folders in which backups are made, and of the notes of them.
const workBegins = ".pitman-backup-"

// working makes a folder to work in, and notes it in the house first, so that a later start finds and removes
// it when this one is killed. A house on a medium that cannot be written has no note.
func (h *House) working(in string) (folder string, done func() error, err error) {
	note, err := os.CreateTemp(filepath.Join(h.Dir, BackupsDir), workBegins+"*.note")
	if err != nil {
		folder, err = os.MkdirTemp(in, workBegins)
		return folder, func() error { return whole.RemoveFolder(folder) }, err
	}
	in, err = filepath.Abs(in)
	folder = filepath.Join(in, strings.TrimSuffix(filepath.Base(note.Name()), ".note"))
	_, failed := fmt.Fprintf(note, "%d@%s %s\n", os.Getpid(), hostName(), folder)
	err = errors.Join(err, failed, note.Sync(), note.Close())
	if err == nil {
		err = os.Mkdir(folder, 0o700)
	}
	done = func() error {
		if err := whole.RemoveFolder(folder); err != nil {
			return err
		}
		return os.Remove(note.Name())
	}
	if err != nil {
		_ = done()
	}
	return folder, done, err
}

// parseNote reads a note; ours says whether this computer wrote it, which alone knows whether its maker still
// runs.
func parseNote(text string) (pid int, ours bool, folder string, ok bool) {
	maker, folder, _ := strings.Cut(strings.TrimSuffix(text, "\n"), " ")
	number, host, _ := strings.Cut(maker, "@")
	pid, err := strconv.Atoi(number)
	ok = err == nil && strings.HasSuffix(text, "\n") && filepath.IsAbs(folder) &&
		strings.HasPrefix(filepath.Base(folder), workBegins)
	return pid, host == hostName(), folder, ok
}

// hostName is this computer's name as a note has it: without blanks.
func hostName() string {
	name, _ := os.Hostname()
	return strings.Join(strings.Fields(name), "")
}

// inBeside is the name of a working folder beside a house that is made: by whom, in those of today.
var inBeside = regexp.MustCompile(`^\.pitman-(?:init|restore|repair)-(?:(\d+)@(.+)-)?\d+$`)

// besideName is its name but for the end, which is chance.
func besideName(prefix string) string {
	return fmt.Sprintf("%s%d@%s-", prefix, os.Getpid(), url.PathEscape(hostName()))
}

// sweepBeside removes the working folders of killed inits, restores and repairs: each is a whole registry.
func sweepBeside(parent string) {
	entries, _ := os.ReadDir(parent)
	for _, e := range entries {
		maker := inBeside.FindStringSubmatch(e.Name())
		info, err := e.Info()
		if maker == nil || err != nil || !info.IsDir() {
			continue
		}
		pid, err := strconv.Atoi(maker[1])
		ours := err == nil && maker[2] == url.PathEscape(hostName())
		if ours && !whole.Alive(pid) || time.Since(info.ModTime()) > 24*time.Hour { // neither takes a day
			_ = whole.RemoveFolder(filepath.Join(parent, e.Name()))
		}
	}
}

// makeFolder makes the folder of backups; where the house cannot be written, there is none.
func (h *House) makeFolder() error {
	folder := filepath.Join(h.Dir, BackupsDir)
	if err := os.Mkdir(folder, 0o700); err != nil && !errors.Is(err, fs.ErrExist) {
		return archive.DiskError(err, folder)
	}
	return nil
}
