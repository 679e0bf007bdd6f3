package main

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// outOfMemory is how a program ends that gets no more: in the Go runtime's words, or in those of the C
// library, whose loader has none.
var outOfMemory = regexp.MustCompile(`(?i)out of memory|cannot allocate|failed to reserve|pthread_create failed|` +
	`failed to create new OS thread|failed to map|^$`)

// A program that gets too little memory ends, says so, and leaves a house that is sound.
func TestTooLittleMemoryLeavesTheHouseSound(t *testing.T) {
	if os.Getenv("GORACE") != "" {
		t.Skip("the race detector takes more address space than any limit here")
	}
	dir := t.TempDir()
	house, pdf := filepath.Join(dir, "house"), filepath.Join(dir, "labels.pdf")
	var list strings.Builder
	list.WriteString("maker,serial,drive,note\n")
	for n := range 300 {
		fmt.Fprintf(&list, "A,%d,hand,%s\n", n, strings.Repeat("drawer key inside ", 20))
	}
	require.NoError(t, os.WriteFile(filepath.Join(dir, "list.csv"), []byte(list.String()), 0o600))
	worksWithin(t, "--house", house, "init", "--letters", "LR")
	worksWithin(t, "--house", house, "log", "--maker", "A", "--serial", "X1", "--drive", "hand")
	commands := [][]string{{"import", filepath.Join(dir, "list.csv")}, {"label", "LR1I", "-o", pdf}, {"list"},
		{"verify"}}
	// Each thread's allocator keeps room of its own, and one that gets none asks the kernel for each piece,
	// which takes minutes.
	t.Setenv("MALLOC_ARENA_MAX", "1")
	// Linux counts the address space, of which Go reserves much: below the first of these it does not begin,
	// above the last one all goes well.
	limits, failed, mib := []int{300, 660, 740, 820}, 0, 1024
	if startAll {
		limits = nil
		for limit := 40; limit < 1600; limit += 20 {
			limits = append(limits, limit)
		}
	}
	for i, limit := range limits {
		for n, args := range commands {
			if !startAll && n != i {
				continue
			}
			work := filepath.Join(dir, "work")
			require.NoError(t, os.CopyFS(work, os.DirFS(house)))
			ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
			r := runCommand(t, exec.CommandContext(ctx, "bash", append([]string{"-c",
				fmt.Sprintf(`ulimit -v %d; exec pitman --house %s "$@"`, limit*mib, work), "bash"},
				args...)...))
			what := fmt.Sprintf("%s with %d MiB: exit %d: %.300s", args[0], limit, r.status, r.err)
			assert.NoError(t, ctx.Err(), "it hangs: %s", what)
			cancel()
			machines := 1
			switch {
			case r.status == 0 && args[0] == "import":
				machines = 301
			case r.status == 0:
			case r.status == 1:
				assert.Contains(t, r.err, "pitman: ", what)
				fallthrough
			default:
				assert.Regexp(t, outOfMemory, r.err, what)
				failed++
			}
			if _, err := os.Stat(pdf); err == nil {
				assert.Zero(t, r.status, "labels of a command that failed: %s", what)
				require.NoError(t, os.Remove(pdf))
			}
			assert.Equal(t, machines, soundWith(t, work, what), what)
			worksWithin(t, "--house", work, "log", "--maker", "A", "--serial", "X2", "--drive", "hand")
			assert.Equal(t, machines+1, soundWith(t, work, what), what)
			require.NoError(t, os.RemoveAll(work))
		}
	}
	t.Logf("%d of the commands got too little", failed)
	assert.NotZero(t, failed)
}
