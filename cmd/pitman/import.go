package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"strings"

	"github.com/spf13/cobra"

	"pitman/cmd/pitman/meanwhile"
	"pitman/registry"
	"pitman/registry/imports"
	"pitman/registry/makers"
	"pitman/registry/misread"
)

func (a *app) importCommand() *cobra.Command {
	var job importJob
	cmd := &cobra.Command{
		Use:   "import FILE",
		Short: "Log the machines of a spreadsheet, all or none",
		Long: `Logs the machines of a spreadsheet: CSV, or a workbook (.xlsx), of which the first
sheet with anything on it is read. One of its first rows names the columns; rows above it are
titles. These columns are known:

  ` + strings.Join(imports.ImportFields(), ", ") + `

and whatever the list lists/columns.csv of the house says. Where a column is not known, pitman asks
on a terminal and remembers the answer once the file came in; < goes back to the question before.
In a script, say it with --map. An answer that was wrong is taken back with --forget, which asks again.

A row is a machine of the house already when its tag or its id is known here, or else its maker and
serial number: so the same file can be imported again, and adds nothing. With --update such a
machine takes over the filled cells that differ.

A workshop that ran before starts where it stands: the columns stage, received (a day, such as
2031-05-04), tested (a day) and tester (initials) tell it of each machine, and its history says "moved
in, as told by the old list". ready is kept of a hand or treadle machine whose test is told with its day
and its tester; whatever takes the mains comes in untested, to check at most; what was sold, scrapped,
shipped or stripped comes in as that. --preview says of each row what of it is not kept, and why.
pitman undo takes a whole import back, as long as nothing happened to its machines since.

With --as bases, --as partners or --as orders it takes those in, each from a list of its own; a row of
orders is a line, and rows of one order have its number in the column order. The same is asked of them as
of what is typed. pitman help spreadsheets names their columns.

A misspelt drive, stitch or stage is offered with the word that it is a slip away from, and read as that
if you agree; so are makers, models, donors and places that are almost one of the house, or almost one
that stands in more rows of the file. Off a terminal the typed ones count, and the near ones are named.

Every fault is listed as "row N, column C: ...", where rows are counted as the spreadsheet counts
them, the header being row 1.
With any fault nothing at all is changed.`,
		Example: `  pitman import donations.csv --preview
  pitman import donations.csv --by QX
  pitman import donations.csv --preview -o looked-through.xlsx
  pitman import donations.xlsx --by QX
  pitman import theirs.csv --by QX --map "Made by=maker" --map "Colour=-"`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			job.path = args[0]
			if err := job.check(); err != nil {
				return err
			}
			if job.as != "" {
				return a.importAlong(cmd.Context(), &job)
			}
			if job.preview {
				return a.with(func(d *workplace) error { return a.runImport(cmd.Context(), d, "", &job) })
			}
			return a.withActor(func(d *workplace,
				by registry.Initials) error {
				return a.runImport(cmd.Context(), d, by, &job)
			})
		},
	}
	flags := cmd.Flags()
	flags.BoolVar(&job.preview, "preview", false, "show what each row would do, and change nothing")
	flags.StringVar(&job.as, "as", "",
		"what the rows are, where they are no machines: `bases`, partners or orders")
	flags.IntVar(&job.headerRow, "header-row", 0, "the number of the `ROW` that names the columns")
	flags.StringVarP(&job.out, "output", "o", "",
		"write the preview to `FILE`: its rows with a column of remarks (.csv or .xlsx), or a page (.html)")
	flags.BoolVar(&job.update, "update", false,
		"let machines that are in the house already take over the filled cells that differ")
	flags.BoolVar(&job.forget, "forget", false,
		"take back what was answered of this file's columns before, and ask again")
	flags.StringArrayVar(&job.maps, "map", nil,
		"what a column of theirs holds, as `\"HEADING=field\"`; field - leaves it out (repeatable)")
	return cmd
}

func (job *importJob) check() error {
	switch {
	case job.headerRow < 0:
		return registry.Errorf(registry.Invalid, "header-row %d is no row: type its number, such as 3",
			job.headerRow)
	case job.out != "" && !job.preview:
		return registry.Errorf(registry.Invalid, "o is for a preview: give --preview, too, or leave it out")
	case job.out != "" && previewForm(job.out) == "":
		return registry.Errorf(registry.Invalid, "output %q: let the file's name end in .csv, .xlsx or .html",
			job.out)
	}
	return nil
}

type importJob struct {
	path            string
	preview, update bool
	forget          bool
	as              string
	headerRow       int    // in which the columns are named; 0 where it is to be found
	out             string // the file for a preview
	last            int    // row of the file, once it was read
	maps            []string
}

func (a *app) runImport(ctx context.Context, d *workplace, by registry.Initials, job *importJob) error {
	// Rows come and go, and little stays: at the usual setting a fifth of the time goes into looking for what
	// can be freed.
	defer debug.SetGCPercent(debug.SetGCPercent(200))
	// Whoever is within SQLite holds a place among those that run, and has to wait for it when they come back.
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(runtime.NumCPU() + 1))
	given, err := imports.ParseMap(job.maps, imports.ImportFields())
	if err != nil {
		return err
	}
	file, err := openFile(job.path)
	if err != nil {
		return err
	}
	defer file.Close()
	if job.forget {
		if err := forgetColumns(d, file, job.headerRow); err != nil {
			return err
		}
	}
	read, rows := map[misread.Word]string{}, map[int]imports.Decided{}
	var near []string
	r, columns, answers, err := a.openSheet(d, file, job, given, nil, &imports.Result{})
	headerRow := 0
	if err == nil && r != nil { // before a row is written
		headerRow = r.HeaderRow()
		near, err = a.settleWordsOf(ctx, d, r, columns, makers.Asked, nil, read)
		job.last = r.Row()
	}
	if err != nil {
		return err
	}
	for {
		if _, err := file.Seek(0, io.SeekStart); err != nil {
			return err
		}
		result, fresh, err := a.readImport(ctx, d, by, job, file, given, answers, read, rows)
		if err != nil {
			return err
		}
		answers = append(answers, fresh...)
		if result.Faulty > 0 && len(result.Near) > 0 && a.onTerminal() {
			if again, err := a.askNear(result.Near, read); err != nil {
				return err
			} else if again {
				continue
			}
		}
		if len(result.Twins) > 0 && len(result.Twins) == result.Faulty && a.onTerminal() {
			decided, again, err := a.askTwins(file, headerRow, result.Twins, columns, rows)
			if err != nil {
				return err
			}
			if rows = decided; again {
				continue
			}
		}
		if result.Faulty == 0 && len(answers) > 0 {
			if err := imports.Remember(d.house.Dir, answers); err != nil {
				return err
			}
		}
		said := previewed{near: near, faults: result.Faults}
		for _, o := range result.Rows {
			said.of(o.Row, o.String(), o.Remark)
		}
		if err := a.finishPreview(file, job, headerRow, said); err != nil {
			return err
		}
		return a.printImport(filepath.Base(job.path), job, result)
	}
}

// readImport reads the file once. What it asks of the columns it returns, beside what is known already.
func (a *app) readImport(ctx context.Context, d *workplace, by registry.Initials, job *importJob,
	file *os.File,
	given map[string]string,
	answers []imports.ColumnName, read map[misread.Word]string,
	decided map[int]imports.Decided) (result *imports.Result,
	fresh []imports.ColumnName, err error) {
	in := &imports.Import{Read: read, Rows: decided, File: file, Last: job.last}
	result = &imports.Result{Near: []imports.NearMiss{}}
	if in.Sheet, in.Columns, fresh, err = a.openSheet(d, file, job, given, answers, result); err != nil ||
		result.Faulty > 0 {
		return result, nil, err
	}
	if !in.Sheet.IsPlain() {
		fmt.Fprintf(a.err, "%s: %s\n", filepath.Base(job.path), in.Sheet.Found())
	}
	info, err := file.Stat()
	if err != nil {
		return nil, nil, err
	}
	name := filepath.Base(job.path)
	bar := meanwhile.NewProgress(a.stderr, "reading "+name, info.Size())
	in.Tick = bar.At
	in.Looked = func() {
		bar.Done()
		bar = meanwhile.NewProgress(a.stderr, "taking in "+name, info.Size())
		in.Tick = bar.At
	}
	if job.preview {
		err = d.Look(ctx, job.update, in, result)
	} else {
		err = d.TakeIn(ctx, by, name, job.update, in, result)
	}
	bar.Done()
	if errors.Is(err, imports.ErrFaults) {
		err = nil
	}
	return result, fresh, err
}

// openFile opens a file that somebody named.
func openFile(path string) (*os.File, error) {
	file, err := os.Open(path)
	if err != nil {
		return nil, registry.Errorf(registry.NotFound,
			"file %q cannot be opened (%v): name one that is there", path, withoutPath(err))
	}
	if info, err := file.Stat(); err == nil && info.IsDir() {
		file.Close()
		return nil, registry.Errorf(registry.Invalid, "%s is a folder: name a file in it", path)
	}
	return file, nil
}

// withoutPath is what an error says of a file, for a sentence that names the file as the person did.
func withoutPath(err error) error {
	var at *fs.PathError
	if errors.As(err, &at) {
		return at.Err
	}
	return err
}
