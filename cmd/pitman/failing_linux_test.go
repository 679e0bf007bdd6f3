package main

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	housedir "pitman/registry/house"
)

// failures are the calls to the kernel that fail, and how; reads fail where a disk is bad, the others where
// it is bad or full. Calls of write are left alone: they go to standard output and to pipes, too.
var failures = []struct{ call, as string }{
	{"pwrite64", "EIO"}, {"fdatasync", "EIO"}, {"renameat", "ENOSPC"}, {"pread64", "EIO"},
	{"ftruncate", "ENOSPC"},
	{"fsync", "EIO"}, {"pwrite64", "ENOSPC"}, {"mkdirat", "ENOSPC"}, {"unlinkat", "EIO"}, {"renameat", "EIO"},
}

// A command whose n-th call of a kind fails does all that it was to do or nothing, and says so; the house is
// sound, and the next command works.
func TestACommandOnAFailingDiskDoesAllOrNothing(t *testing.T) {
	mayWatch(t)
	dir := t.TempDir()
	house, other := filepath.Join(dir, "house"), filepath.Join(dir, "other")
	for _, args := range [][]string{
		{"--house", house, "init", "--letters", "LR"}, {"--house", other, "init", "--letters", "FH"},
		{"--house", house, "log", "--maker", "A", "--serial", "1", "--drive", "hand", "--donor",
			"Ada Merrow"},
		{"--house", other, "log", "--maker", "A", "--serial", "2", "--drive", "hand"},
		{"--house", other, "bundle", "out", filepath.Join(dir, "b.gz"), "--to", "LR"},
		{"--house", house, "backup", filepath.Join(dir, "saved.tar.gz")},
	} {
		worksWithin(t, args...)
	}
	require.NoError(t, os.WriteFile(filepath.Join(dir, "list.csv"),
		[]byte("maker,serial,drive\nA,7,hand\nA,8,hand\nA,9,hand\n"), 0o600))
	commands := []struct {
		args []string
		when int // machines when it is done
	}{
		{[]string{"log", "--maker", "A", "--serial", "3", "--drive", "hand"}, 2},
		{[]string{"import", filepath.Join(dir, "list.csv")}, 4},
		{[]string{"bundle", "in", filepath.Join(dir, "b.gz"), "--trust-once", "QX"}, 2},
		{[]string{"backup", filepath.Join(dir, "made.tar.gz")}, 1},
		{[]string{"forget", "--name", "Ada Merrow"}, 1},
		{[]string{"restore", filepath.Join(dir, "saved.tar.gz")}, 1},
	}
	met, nth := 0, 0
	for _, f := range failures {
		for _, c := range commands {
			for n := 1; n <= 12; n++ {
				// On each change a few of them, each kind and each command among these, mostly early ones.
				if nth++; !startAll && nth%61 != 1 {
					continue
				}
				d := failingDisk{T: t, dir: dir, house: house, args: c.args, done: c.when}
				if !d.fails(f.call, f.as, n) {
					break
				}
				met++
			}
		}
	}
	t.Logf("%d failures met", met)
	assert.Greater(t, met, 4)
}

// failingDisk is one command that meets a failure.
type failingDisk struct {
	*testing.T
	dir, house string
	args       []string
	done       int // machines when it is done; 1 before
}

// fails runs the command, and says whether it came so far that it met the failure.
func (d failingDisk) fails(call, as string, n int) (met bool) {
	work, made := filepath.Join(d.dir, "work"), filepath.Join(d.dir, "made.tar.gz")
	require.NoError(d, os.CopyFS(work, os.DirFS(d.house)))
	defer os.RemoveAll(work)
	defer os.Remove(made)
	if d.args[0] == "restore" {
		work = filepath.Join(d.dir, "restored")
		defer os.RemoveAll(work)
	}
	told := filepath.Join(d.dir, "told")
	r := runCommand(d.T,
		exec.Command("strace", append([]string{"-f", "-qq", "-o", told, "-e", "trace=" + call,
			"-e", fmt.Sprintf("inject=%s:error=%s:when=%d", call, as, n), "pitman", "--house", work},
			d.args...)...))
	calls, err := os.ReadFile(told)
	require.NoError(d, err)
	if !bytes.Contains(calls, []byte("(INJECTED)")) {
		return false
	}
	if r.status == 127 {
		return true // the program was not even loaded
	}
	what := fmt.Sprintf("%s, %s %d fails with %s: exit %d: %s%s", d.args[0], call, n, as, r.status, r.out,
		r.err)
	stays := strings.Contains(r.err, "is made, but") // and what was in its way could not be cleared
	if r.status != 0 {
		assert.Equal(d, 1, r.status, what)
		assert.Equal(d, 1, strings.Count(r.err, "\n"), what)
		assert.True(d, strings.HasPrefix(r.err, "pitman: "), what)
		if !stays {
			assert.NoFileExists(d, made, what)
		}
	}
	switch {
	case d.args[0] == "restore" && r.status != 0 && !stays:
		assert.NoDirExists(d, work, what)
		return true
	case d.args[0] == "backup" && r.status == 0:
		assert.FileExists(d, made, what)
	case d.args[0] == "forget" && r.status == 0:
		file, err := os.ReadFile(filepath.Join(work, "pitman.db"))
		require.NoError(d, err)
		assert.NotContains(d, string(file), "Ada Merrow", what)
	}
	machines := soundWith(d.T, work, what)
	if r.status == 0 || stays || machines != 1 {
		assert.Equal(d, d.done, machines, what)
	}
	if strings.Contains(r.err, "nothing was") {
		assert.Equal(d, 1, machines, what)
	}
	worksWithin(d.T, "--house", work, "log", "--maker", "A", "--serial", "99", "--drive", "hand")
	assert.Equal(d, machines+1, soundWith(d.T, work, what), what)
	return true
}

// soundWith is how many the house knows, which has to be without fault.
func soundWith(t *testing.T, dir, what string) int {
	t.Helper()
	h, err := housedir.Open(dir)
	require.NoError(t, err, what)
	db, err := h.Registry()
	require.NoError(t, err, what)
	defer db.Close()
	faults, err := h.Verify(t.Context(), db)
	require.NoError(t, err, what)
	assert.Empty(t, faults, what)
	s, err := db.Summary(t.Context())
	require.NoError(t, err, what)
	return int(s.Machines)
}

// worksWithin runs a command in this process, and asks for its success.
func worksWithin(t *testing.T, args ...string) {
	t.Helper()
	var errs bytes.Buffer
	getenv := map[string]string{"PITMAN_BY": "QX"}
	app := appWithin(func(name string) string { return getenv[name] }, io.Discard, &errs)
	require.Zero(t, app.run(t.Context(), args), "%v: %s", args, &errs)
}
