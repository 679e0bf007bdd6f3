package main

import (
	"bufio"
	"compress/gzip"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Files that were made to hurt are refused by every command that reads files, in words and within little
// memory.
func TestHostileFilesAreRefusedInLittleMemory(t *testing.T) {
	dir := t.TempDir()
	house := filepath.Join(dir, "house")
	require.Zero(t, pitman(t, "--house", house, "init").status)
	// What a command holds that has nothing to do; Linux counts in what this process held when it started the
	// command.
	idle := exec.Command("pitman", "help")
	require.Zero(t, runCommand(t, idle).status)
	quiet := peakMemory(t, idle)
	const header = "maker,serial,drive\n"
	size := 10_000_000
	if os.Getenv("NIGHTLY") == "" {
		size = 1_000_000
	}
	nth := 0
	// The files are written piece by piece: what this process holds would count as what its children hold.
	for name, c := range map[string]struct {
		start, again string
		times        int
		packed       bool
	}{
		"columns":        {"", "a,", size, false},
		"columns behind": {header, "a,", size, false},
		"field":          {header + "A,", "1111", size, false},
		"quoted field":   {header + "A,\"", "1\n", 2 * size, false},
		"heading":        {"", "maker", size, false},
		"nul":            {header, "A,1\x00,hand\n", 1, false},
		// letters of no character set that is read
		"undecodable":  {header, "A,1\x81\x8d,hand\n", 1, false},
		"zeros":        {"", "\x00\x00\x00\x00", size, false},
		"bomb":         {"", "\x00\x00\x00\x00\x00\x00\x00\x00", 4 * size, true},
		"bomb of text": {header, "A,1,hand\n", size, true},
	} {
		file := filepath.Join(dir, strings.ReplaceAll(name, " ", "-")+".csv")
		writeRepeated(t, file, c.start, c.again, c.times, c.packed)
		for i, args := range [][]string{
			{"import", file, "--by", "QX"},
			{"import", file, "--by", "QX", "--preview"},
			{"date", "--batch", file},
			{"bundle", "in", file, "--by", "QX"},
			{"restore", file, "--house", filepath.Join(dir, "new")},
			{"scheme", "check", file},
		} {
			// On each change a third of the commands meets each file, another third the next one.
			if !startAll && i%3 != nth%3 {
				continue
			}
			cmd := exec.Command("pitman", append([]string{"--house", house}, args...)...)
			r := runCommand(t, cmd)
			// it says so beside the row, and goes on with the next
			if name == "undecodable" && args[0] == "date" {
				assert.Contains(t, r.out, "none", name)
			} else {
				assert.Equal(t, 1, r.status, "%s: %v: %.300s", name, args[0], r.err)
				assert.NotEmpty(t, r.err, "%s: %v", name, args[0])
			}
			assert.NotContains(t, r.err, "goroutine ", "%s: %v", name, args[0])
			assert.Less(t, len(r.err), 20_000, "%s: %v", name, args[0])
			assert.Less(t, peakMemory(t, cmd), quiet+128<<10, "KiB: %s: %v", name, args[0])
		}
		nth++
		assert.NoDirExists(t, filepath.Join(dir, "new"))
		require.NoError(t, os.Remove(file))
	}
	soundHouse(t, house, 0)
}

// peakMemory is the most that a command held, in KiB.
func peakMemory(t *testing.T, cmd *exec.Cmd) int64 {
	t.Helper()
	usage, ok := cmd.ProcessState.SysUsage().(*syscall.Rusage)
	require.True(t, ok)
	return usage.Maxrss
}

func writeRepeated(t *testing.T, path, start, again string, times int, packed bool) {
	t.Helper()
	f, err := os.Create(path)
	require.NoError(t, err)
	defer f.Close()
	var out io.Writer = f
	if packed {
		z := gzip.NewWriter(f)
		defer z.Close()
		out = z
	}
	buffered := bufio.NewWriter(out)
	_, err = buffered.WriteString(start)
	require.NoError(t, err)
	piece := strings.Repeat(again, min(times, 1000))
	for left := times; left > 0; left -= 1000 {
		_, err := buffered.WriteString(piece)
		require.NoError(t, err)
	}
	require.NoError(t, buffered.Flush())
}
