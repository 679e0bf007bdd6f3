package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"
	"sync"

	"github.com/spf13/cobra"

	"pitman/cmd/pitman/meanwhile"
	"pitman/registry"
	"pitman/registry/exchange"
	"pitman/registry/stock"
	"pitman/registry/whole"
)

// exported are the names of what can be exported, worked out once: the tests make the commands of the program
// thousands of times.
var exported = sync.OnceValue(func() (names []string) {
	for _, k := range exchange.Kinds() {
		names = append(names, k.Name)
	}
	return names
})

func (a *app) exportCommand() *cobra.Command {
	var to string
	cmd := &cobra.Command{
		Use:   "export " + strings.Join(exported(), "|"),
		Short: "Write machines or other records to a file for a spreadsheet",
		Long: `Writes every record of a kind to a file: .csv or .xlsx for a spreadsheet, .jsonl (one JSON
object a line) for a program; - writes CSV, or with --json JSON lines, to the screen or the next
program.

Times are UTC in ISO 8601. Several values in one cell stand with semicolons between them. A cell
that a spreadsheet would run as a formula (it begins with = + - or @) leaves with an apostrophe
before it, and pitman import takes that one away again. The file is readable by you alone: it may
hold names of donors.`,
		Example: `  pitman export machines -o machines.csv
  pitman export history -o - | less`,
		Args:      cobra.ExactArgs(1),
		ValidArgs: exported(),
		RunE: func(cmd *cobra.Command, args []string) error {
			kind, err := exchange.KindNamed(args[0])
			if err != nil {
				return err
			}
			if to == "" {
				return registry.Errorf(registry.Invalid,
					"the file is missing: give it with -o, such as -o %s.csv, or -o - for the screen",
					kind.Name)
			}
			return a.with(func(d *workplace) error { return a.export(cmd.Context(), d, kind, to) })
		},
	}
	cmd.Flags().StringVarP(&to, "output", "o", "",
		"the `FILE.csv, .xlsx or .jsonl` to write; - is the screen")
	return cmd
}

func (a *app) export(ctx context.Context, d *workplace, kind exchange.Kind, to string) error {
	if to == "-" {
		form := ".csv"
		if a.json {
			form = ".jsonl"
		}
		_, err := a.exportTo(ctx, d, kind, a.out, form)
		return err
	}
	form := strings.ToLower(filepath.Ext(to))
	if !slices.Contains([]string{".csv", ".xlsx", ".jsonl"}, form) {
		return registry.Errorf(registry.Invalid,
			"output %q: let the file's name end in .csv, .xlsx or .jsonl",
			to)
	}
	var n int
	err := writeFile(to, func(w io.Writer) (err error) {
		n, err = a.exportTo(ctx, d, kind, w, form)
		return err
	})
	if err != nil {
		return err
	}
	result := struct {
		File    string `json:"file"`
		Kind    string `json:"kind"`
		Records int    `json:"records"`
	}{to, kind.Name, n}
	return a.print(result, func(w io.Writer) { fmt.Fprintf(w, "wrote %s to %s\n", plural(n, "row"), to) })
}

func (a *app) exportTo(ctx context.Context, d *workplace, kind exchange.Kind, to io.Writer,
	form string) (n int, err error) {
	out := bufio.NewWriterSize(to, 1<<16)
	w := exchange.NewLines(out)
	if form != ".jsonl" {
		if w, err = exchange.NewSheet(out, form, kind.Header); err != nil {
			return 0, err
		}
	}
	bar := meanwhile.NewProgress(a.stderr, "writing "+kind.Name, 0)
	defer bar.Done()
	err = d.Store.View(ctx, func(r stock.Reader) error {
		return kind.Each(r, func(v any, cells []string) error {
			n++
			bar.At(int64(n))
			return w.Record(v, cells)
		})
	})
	if err != nil {
		return n, err
	}
	if err := w.Flush(); err != nil {
		return n, err
	}
	return n, out.Flush()
}

// writeFile writes a file that its owner alone may read.
func writeFile(path string, fn func(io.Writer) error) error { return replaceFile(path, 0o600, fn) }

// replaceFile writes a file beside its place and moves it there once it is whole, so that no half file is
// ever found.
func replaceFile(path string, mode fs.FileMode, fn func(io.Writer) error) error {
	f, err := whole.Create(path, "", mode)
	if err != nil {
		return registry.Errorf(registry.Invalid,
			"%s cannot be written (%v): name a file in a folder that is there", path, withoutPath(err))
	}
	defer f.Cleanup()
	if err := fn(f); err != nil {
		var failed *fs.PathError
		if errors.As(err, &failed) && failed.Path == f.Name() { // not what was to be written
			return registry.Errorf(registry.Conflict,
				"%s cannot be written (%v): make room there, or name another "+
					"place; nothing was written", path, withoutPath(failed))
		}
		return err
	}
	return errors.Join(f.CloseAtomicallyReplace(), whole.SyncFolder(filepath.Dir(path)))
}
