// Package ratios runs whole commands of the built program in grown houses, and tells how their times grow.
//
// They are measured as people meet them: the start of the program, the opening of the house, the work, the
// end. A figure is the shortest of several runs, which is what the machine can do when nothing else disturbs
// it, and only ratios are told: they hold on the next machine, too.
package ratios

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"pitman/registry"
	"pitman/registry/archive"
	"pitman/registry/house"
	"pitman/registry/sqlite/schema"
	"pitman/registry/stock"
)

// grown is one house to measure.
type grown struct {
	dir      string
	machines int64
	tag      registry.Tag // of a machine in its middle
	db       string
}

// task is a command that is measured in each house.
type task struct {
	name string
	args func(h grown) []string
}

func fixed(args ...string) func(grown) []string { return func(grown) []string { return args } }

var tasks = []task{
	{"show TAG", func(h grown) []string { return []string{"show", string(h.tag), "--json"} }},
	{"history TAG", func(h grown) []string { return []string{"history", string(h.tag)} }},
	{"log", fixed("log", "--maker", "Harrow & Finch", "--serial", stock.NoSerial, "--drive", "hand", "--by",
		"QX")},
	{"amend TAG", func(h grown) []string {
		return []string{"amend", string(h.tag), "--by", "QX", "--place", "bay " +
			strconv.FormatInt(time.Now().UnixNano()%1e6, 10)}
	}},
	{"list, a page", fixed("list", "--limit", "50")},
	{"list, a page from the middle",
		func(h grown) []string { return []string{"list", "--limit", "50", "--after", string(h.tag)} }},
	{"list --stage, a page", fixed("list", "--stage", "ready", "--limit", "50")},
	{"list --stage, few are there", fixed("list", "--stage", "check", "--limit", "50")},
	{"list --maker, a page", fixed("list", "--maker", "Ostermann", "--limit", "50")},
	{"list --place, a page", fixed("list", "--place", "bay 3 shelf 4", "--limit", "50")},
	{"list --made, a page", fixed("list", "--made", "1858", "--limit", "50")},
	{"list --text, in many", fixed("list", "--text", "left drawer", "--limit", "50")},
	{"list --text, a serial", func(h grown) []string {
		return []string{"list", "--text", fmt.Sprint(7*(h.machines/2) + 3), "--limit", "50"}
	}},
	{"list --text, in none", fixed("list", "--text", "grand piano")},
	{"worklist", fixed("worklist")},
	{"report, a year", fixed("report", "--from", "1995-01-01", "--to", "1995-12-31")},
	{"people", fixed("people")},
	{"redate", fixed("redate")},
	{"export", fixed("export", "machines", "-o", "-")},
	{"verify", fixed("verify")},
}

// Measure runs every command in each house of the folder and writes how each grows with the number of
// machines, as a table in Markdown. self is the program itself.
func Measure(ctx context.Context, self, folder string, out io.Writer) error {
	houses, err := find(ctx, folder)
	if err != nil {
		return err
	}
	fmt.Fprint(out, "| whole command |")
	for _, h := range houses {
		fmt.Fprintf(out, " %s machines |", thousands(h.machines))
	}
	fmt.Fprint(out, "\n|---|"+strings.Repeat("---:|", len(houses))+"\n")
	for _, t := range tasks {
		for _, h := range houses {
			if err := warm(h.db); err != nil {
				return err
			}
		}
		best, err := race(len(houses), func(i int) *exec.Cmd {
			return exec.CommandContext(ctx, self,
				append([]string{"--house", houses[i].dir}, t.args(houses[i])...)...)
		})
		if err != nil {
			return fmt.Errorf("%s: %w", t.name, err)
		}
		fmt.Fprintf(out, "| `%s` |", t.name)
		for _, d := range best {
			fmt.Fprintf(out, " %s |", ratio(d, best[0]))
		}
		fmt.Fprintln(out)
	}
	shell, err := exec.LookPath("sqlite3")
	if err != nil {
		return registry.Errorf(registry.NotFound,
			"sqlite3, the shell to compare with, is not installed: install it, or do without that line")
	}
	fmt.Fprint(out, "| `show TAG --json` beside the sqlite3 shell reading that row |")
	for _, h := range houses {
		best, err := race(2, func(i int) *exec.Cmd {
			if i == 0 {
				return exec.CommandContext(ctx, shell, "-json", h.db, schema.ShellRow(string(h.tag)))
			}
			return exec.CommandContext(ctx, self, "--house", h.dir, "show", string(h.tag), "--json")
		})
		if err != nil {
			return err
		}
		fmt.Fprintf(out, " %s |", ratio(best[1], best[0]))
	}
	fmt.Fprintln(out)
	return nil
}

// warm reads a file through, so that what the system kept of it in memory is not what is measured.
func warm(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	_, err = io.Copy(io.Discard, f)
	return errors.Join(err, f.Close())
}

// find opens the houses in a folder, smallest first.
func find(ctx context.Context, folder string) (houses []grown, err error) {
	paths, err := filepath.Glob(filepath.Join(folder, "*", archive.DBFile))
	if err != nil {
		return nil, err
	}
	for _, path := range paths {
		h, err := house.Open(filepath.Dir(path))
		if err != nil {
			return nil, err
		}
		db, err := h.Registry()
		if err != nil {
			return nil, err
		}
		known, err := db.Summary(ctx)
		if err != nil {
			return nil, err
		}
		if err := db.Close(); err != nil {
			return nil, err
		}
		houses = append(houses,
			grown{h.Dir, known.Machines, registry.NewTag(h.Config.House.Letters, known.Machines/2), path})
	}
	if len(houses) == 0 {
		return nil, registry.Errorf(registry.NotFound, "there is no grown house in %s: make one", folder).
			Then(registry.Next(registry.DoGrow, "").With("dir", folder+"/10000").With("number", "10000"))
	}
	slices.SortFunc(houses, func(a, b grown) int { return int(a.machines - b.machines) })
	return houses, nil
}

// Enough runs for the shortest to be what the machine can do; only a few where they take long.
const (
	maxRuns    = 25
	fewestRuns = 3
	patience   = 6 * time.Second
)

// race runs several commands in turn, so that what disturbs one disturbs all, and gives the shortest time of
// each.
func race(n int, command func(i int) *exec.Cmd) ([]time.Duration, error) {
	best := slices.Repeat([]time.Duration{math.MaxInt64}, n)
	begin := time.Now()
	for run := 0; run < fewestRuns || run < maxRuns && time.Since(begin) < patience*time.Duration(n); run++ {
		for i := range n {
			cmd := command(i)
			var said bytes.Buffer // in a house of a million machines, that its clock is decades ahead
			cmd.Stderr = &said
			start := time.Now()
			if err := cmd.Run(); err != nil {
				return nil, fmt.Errorf("%w: %s", err, said.Bytes())
			}
			best[i] = min(best[i], time.Since(start))
		}
	}
	return best, nil
}

// ratio tells a time as a multiple of another.
func ratio(d, of time.Duration) string {
	r := float64(d) / float64(of)
	if r >= 9.95 {
		return strconv.FormatFloat(r, 'f', 0, 64)
	}
	return strconv.FormatFloat(r, 'f', 1, 64)
}

func thousands(n int64) string {
	s := strconv.FormatInt(n, 10)
	for i := len(s) - 3; i > 0; i -= 3 {
		s = s[:i] + " " + s[i:]
	}
	return s
}
