package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"testing"

	"pitman/registry/registrytest/lacking"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var syncCall = regexp.MustCompile(`(?m)\b(fsync|fdatasync|sync_file_range|msync)\(`)

// syncs counts how often a whole program makes the disk write what it has, as the kernel is asked.
func syncs(t *testing.T, name string, args ...string) int {
	t.Helper()
	told := filepath.Join(t.TempDir(), "told")
	cmd := exec.Command("strace",
		append([]string{"-f", "-qq", "-e", "trace=fsync,fdatasync,sync_file_range,msync", "-o", told, name},
			args...)...)
	text, err := cmd.CombinedOutput()
	require.NoError(t, err, "%s", text)
	calls, err := os.ReadFile(told)
	require.NoError(t, err)
	return len(syncCall.FindAll(calls, -1))
}

// A log waits for the disk once more, at most, than a bare commit at the same durability does, from the start
// of the program to its end.
func TestALogSyncsHardlyMoreThanABareCommit(t *testing.T) {
	lacking.Program(t, "sqlite3", "sqlite3")
	mayWatch(t)
	dir := t.TempDir()
	house, bare := filepath.Join(dir, "house"), filepath.Join(dir, "bare.db")
	run := func(name string, args ...string) {
		text, err := exec.Command(name, args...).CombinedOutput()
		require.NoError(t, err, "%s", text)
	}
	log := []string{"--house", house, "log", "--maker", "Ostermann", "--serial", "none", "--drive", "hand",
		"--by", "QX"}
	run("pitman", "--house", house, "init")
	run("pitman", log...)
	run("sqlite3", bare, "PRAGMA journal_mode = WAL", "CREATE TABLE t (text TEXT) STRICT")
	commit := syncs(t, "sqlite3", bare, "PRAGMA synchronous = FULL", "INSERT INTO t VALUES ('one row')")
	require.Positive(t, commit, "a commit waits for the disk")
	assert.LessOrEqual(t, syncs(t, "pitman", log...), commit+1)
}

func mayWatch(t *testing.T) {
	t.Helper()
	lacking.Program(t, "strace", "strace")
	lacking.Granted(t, exec.Command("strace", "-o", os.DevNull, "true").Run(), "to watch another program")
}
