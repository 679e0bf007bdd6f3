package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	housedir "pitman/registry/house"
	"pitman/registry/registrytest/lacking"
)

// result is what a command printed, and its exit status.
type result struct {
	out, err string
	status   int
}

// pitman runs the whole program; on each change within the test, as scripts do.
func pitman(t *testing.T, args ...string) result {
	t.Helper()
	if startAll {
		return runCommand(t, exec.Command("pitman", args...))
	}
	var out, errs bytes.Buffer
	status := appWithin(func(name string) string {
		if name == "PITMAN_BY" {
			return "QX"
		}
		return os.Getenv(name)
	}, &out, &errs).run(context.Background(), args)
	return result{out.String(), errs.String(), status}
}

func runCommand(t *testing.T, cmd *exec.Cmd) result {
	t.Helper()
	var out, errs bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &errs
	cmd.Env = append(os.Environ(), "PITMAN_BY=QX")
	err := cmd.Run()
	if cmd.ProcessState == nil {
		require.NoError(t, err)
	}
	return result{out.String(), errs.String(), cmd.ProcessState.ExitCode()}
}

// refused asks for exit status 1, no result, and one sentence with these words in it.
func refused(t *testing.T, r result, words ...string) {
	t.Helper()
	assert.Equal(t, 1, r.status, r.err)
	assert.Empty(t, r.out)
	assert.Equal(t, 1, strings.Count(r.err, "\n"), r.err)
	assert.True(t, strings.HasPrefix(r.err, "pitman: "), r.err)
	for _, word := range words {
		assert.Contains(t, r.err, word)
	}
}

// soundHouse asks for a house without fault that holds so many machines.
func soundHouse(t *testing.T, house string, machines int) {
	t.Helper()
	r := pitman(t, "--house", house, "verify")
	assert.Equal(t, 0, r.status, r.out+r.err)
	assert.Contains(t, r.out, fmt.Sprintf("No fault: %s ", plural(machines, "machine")))
}

func TestAFileThatMayNotGrowRefusesInOneSentence(t *testing.T) {
	house := filepath.Join(t.TempDir(), "house")
	require.Zero(t, pitman(t, "--house", house, "init").status)
	require.Zero(t,
		pitman(t, "--house", house, "log", "--maker", "A", "--serial", "1", "--drive", "hand").status)
	// The limit holds for each file, so the write-ahead log meets it at another place each time, the backup's
	// files later.
	logged, refusals := 1, 0
	wider := func(kib int) int { return 1 + 2*kib }
	if startAll {
		wider = func(kib int) int { return 1 + kib + kib/2 }
	}
	for kib := 1; kib <= 2000; kib = wider(kib) {
		limited := func(args string) result {
			return runCommand(t,
				exec.Command("bash", "-c",
					fmt.Sprintf("ulimit -f %d; exec pitman --house %s %s", kib, house, args)))
		}
		r := limited(fmt.Sprintf("log --maker A --serial %d --drive hand", 100+kib))
		if r.status == 0 {
			logged++
		} else {
			refused(t, r, "the disk is full, nothing was written: make room")
			refusals++
		}
		backup := filepath.Join(t.TempDir(), "b.tar.gz")
		if r := limited("backup " + backup); r.status != 0 {
			refused(t, r, "the disk is full", "make room")
			refusals++
			left, err := os.ReadDir(filepath.Dir(backup))
			require.NoError(t, err)
			assert.Empty(t, left)
		}
		soundHouse(t, house, logged)
	}
	assert.Greater(t, logged, 1, "no limit was wide enough")
	assert.NotZero(t, refusals, "no limit was narrow enough")
}

func TestAFullDiskRefusesInOneSentence(t *testing.T) {
	disk := t.TempDir()
	// the test with a limit on each file covers much of it
	lacking.Granted(t, syscall.Mount("tmpfs", disk, "tmpfs", 0, "size=2m"), "to mount a small disk")
	t.Cleanup(func() { assert.NoError(t, syscall.Unmount(disk, 0)) })
	house := filepath.Join(disk, "house")
	require.Zero(t, pitman(t, "--house", house, "init").status)
	require.Zero(t,
		pitman(t, "--house", house, "log", "--maker", "A", "--serial", "1", "--drive", "hand").status)
	saved := filepath.Join(t.TempDir(), "saved.tar.gz")
	require.Zero(t, pitman(t, "--house", house, "backup", saved).status)

	// Fill the disk, and give it back a page at a time.
	ballast, err := os.Create(filepath.Join(disk, "ballast"))
	require.NoError(t, err)
	size := int64(0)
	for {
		n, err := ballast.Write(make([]byte, 4096))
		size += int64(n)
		if err != nil {
			break
		}
	}
	logged, refusals := 1, map[string]int{}
	pages := 1
	if !startAll {
		pages = 3
	}
	for page := 0; page < 24; page += pages {
		require.NoError(t, ballast.Truncate(max(0, size-int64(page)*8192)))
		r := pitman(t, "--house", house, "log", "--maker", "A", "--serial", fmt.Sprint(100+page), "--drive",
			"hand")
		if r.status == 0 {
			logged++
		} else {
			refused(t, r, "the disk is full, nothing was written: make room")
			refusals["log"]++
		}
		r = pitman(t, "--house", house, "backup")
		if r.status != 0 {
			refused(t, r, "the disk is full", "make room")
			refusals["backup"]++
		}
		entries, err := os.ReadDir(filepath.Join(house, "backups"))
		if err == nil {
			for _, e := range entries {
				if e.Name() == housedir.MadeFile {
					text, err := os.ReadFile(filepath.Join(house, "backups", e.Name()))
					require.NoError(t, err)
					assert.True(t, json.Valid(text), "the note of what was made is half-written: %q", text)
					continue
				}
				assert.True(t, strings.HasSuffix(e.Name(), "Z.tar.gz") || strings.Contains(e.Name(), "Z-"),
					"left half-written: %s", e.Name())
			}
		}
		r = pitman(t, "restore", saved, "--house", filepath.Join(disk, fmt.Sprint("restored", page)))
		if r.status != 0 {
			refused(t, r, "the disk is full", "make room")
			refusals["restore"]++
			assert.NoDirExists(t, filepath.Join(disk, fmt.Sprint("restored", page)))
		} else {
			require.NoError(t, os.RemoveAll(filepath.Join(disk, fmt.Sprint("restored", page))))
		}
	}
	require.NoError(t, ballast.Close())
	require.NoError(t, os.Remove(ballast.Name()))
	assert.Len(t, refusals, 3, "the disk was full for log, backup and restore: %v", refusals)
	soundHouse(t, house, logged)
	r := pitman(t, "--house", house, "log", "--maker", "A", "--serial", "999", "--drive", "hand")
	assert.Equal(t, 0, r.status, "with room again, work goes on: %s", r.err)
}

func TestAReadOnlyFolderRefusesInOneSentence(t *testing.T) {
	base, err := os.MkdirTemp("", "pitman-readonly")
	require.NoError(t, err)
	t.Cleanup(func() { os.RemoveAll(base) })
	require.NoError(t, os.Chmod(base, 0o755))
	house := filepath.Join(base, "house")
	require.Zero(t, pitman(t, "--house", house, "init").status)
	require.Zero(t,
		pitman(t, "--house", house, "log", "--maker", "A", "--serial", "1", "--drive", "hand").status)
	backup := filepath.Join(base, "b.tar.gz")
	require.Zero(t, pitman(t, "--house", house, "backup", backup).status)

	// Somebody else may look into the folder and read every file, but write none. The superuser may write
	// anywhere, so it steps down for this.
	path, err := exec.LookPath("pitman")
	require.NoError(t, err)
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	program := filepath.Join(base, "pitman")
	require.NoError(t, os.WriteFile(program, text, 0o755))
	require.NoError(t, filepath.WalkDir(house, func(path string, d os.DirEntry, err error) error {
		if err == nil && d.IsDir() {
			return os.Chmod(path, 0o555)
		}
		return os.Chmod(path, 0o444)
	}))
	require.NoError(t, os.Chmod(backup, 0o444))
	asReader := func(args ...string) result {
		cmd := exec.Command(program, args...)
		if os.Getuid() == 0 {
			cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: 65534, Gid: 65534}}
		} else {
			require.NoError(t, os.Chmod(base, 0o555))
			t.Cleanup(func() { os.Chmod(base, 0o755) })
		}
		return runCommand(t, cmd)
	}
	for _, args := range [][]string{
		{"--house", house, "log", "--maker", "A", "--serial", "2", "--drive", "hand"},
		{"--house", house, "amend", "PM16", "--place", "shelf 3"},
		{"--house", house, "backup"},
		{"--house", filepath.Join(base, "new"), "init"},
		{"restore", backup, "--house", filepath.Join(base, "new")},
	} {
		refused(t, asReader(args...), "cannot be written")
	}
	assert.NoDirExists(t, filepath.Join(base, "new"))
	require.NoError(t, filepath.WalkDir(house, func(path string, d os.DirEntry, err error) error {
		if err == nil && d.IsDir() {
			return os.Chmod(path, 0o700)
		}
		return os.Chmod(path, 0o600)
	}))
	soundHouse(t, house, 1)
}

func TestAResultThatIsLostIsNoSuccess(t *testing.T) {
	full, err := os.OpenFile("/dev/full", os.O_WRONLY, 0)
	require.NoError(t, err)
	defer full.Close()
	for _, args := range [][]string{
		{"date", "128", "--maker", "Bartholf"}, {"date", "128", "--maker", "Bartholf", "--json"},
		{"tables", "list"}, {"tables", "check"}, {"help"},
	} {
		cmd := exec.Command("pitman", args...)
		cmd.Env = append(os.Environ(), "PITMAN_HOUSE="+t.TempDir()+"/none")
		var errs bytes.Buffer
		cmd.Stdout, cmd.Stderr = full, &errs
		assert.Error(t, cmd.Run(), args)
		assert.Equal(t, 1, cmd.ProcessState.ExitCode(), args)
		assert.Equal(t,
			"pitman: the result could not be written (write /dev/stdout: no space left on device): make "+
				"room where it goes; what the command was to change is changed\n", errs.String(), args)
	}
}
