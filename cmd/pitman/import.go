package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/google/renameio/v2"
	"github.com/spf13/cobra"

	"pitman/registry"
	"pitman/registry/exchange"
	"pitman/registry/lists"
	"pitman/registry/sheet"
	"pitman/serials/delimited"
)

const columnsFile = "columns.csv"

func (a *app) importCommand() *cobra.Command {
	var job importJob
	cmd := &cobra.Command{
		Use:   "import FILE.csv",
		Short: "Log the machines of a spreadsheet, all or none",
		Long: `Logs the machines of a spreadsheet that was saved as CSV. Its first row names the columns; these are known:

  ` + strings.Join(exchange.ImportFields(), ", ") + `

and whatever the list lists/columns.csv of the house says. Where a column is not known, pitman asks on a terminal and remembers the
answer; in a script, say it with --map.

A row is a machine of the house already when its tag or its id is known here, or else its maker and serial number: so the same file
can be imported again, and adds nothing. With --update such a machine takes over the filled cells that differ.

Every fault is listed as "row N, column C: ...", where rows are counted as the spreadsheet counts them, the header being row 1.
With any fault nothing at all is changed.`,
		Example: `  pitman import donations.csv --preview
  pitman import donations.csv --by QX
  pitman import theirs.csv --by QX --map "Made by=maker" --map "Colour=-"`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			job.path = args[0]
			if job.preview {
				return a.with(func(d *desk) error { return a.runImport(cmd.Context(), d, "", &job) })
			}
			return a.withActor(func(d *desk, by registry.Initials) error { return a.runImport(cmd.Context(), d, by, &job) })
		},
	}
	flags := cmd.Flags()
	flags.BoolVar(&job.preview, "preview", false, "show what each row would do, and change nothing")
	flags.BoolVar(&job.update, "update", false, "let machines that are in the house already take over the filled cells that differ")
	flags.StringArrayVar(&job.maps, "map", nil, "what a column of theirs holds, as `\"HEADING=field\"`; field - leaves it out (repeatable)")
	return cmd
}

type importJob struct {
	path            string
	preview, update bool
	maps            []string
}

func (a *app) runImport(ctx context.Context, d *desk, by registry.Initials, job *importJob) error {
	given, err := exchange.ParseMap(job.maps)
	if err != nil {
		return err
	}
	file, err := openFile(job.path)
	if err != nil {
		return err
	}
	defer file.Close()
	in := &exchange.Import{}
	var result exchange.Result
	name := filepath.Base(job.path)
	if in.Sheet, in.Columns, err = a.openSheet(d, file, given, &result); err != nil {
		return err
	}
	if result.Faulty == 0 {
		info, err := file.Stat()
		if err != nil {
			return err
		}
		bar := a.progress("reading "+name, info.Size())
		in.Tick = bar.at
		rows := func(intake *exchange.Intake) error { return in.Run(ctx, intake, &result) }
		if job.preview {
			err = d.Preview(ctx, job.update, rows)
		} else {
			err = d.Import(ctx, by, name, job.update, rows)
		}
		bar.done()
		if err != nil && !errors.Is(err, exchange.ErrFaults) {
			return err
		}
	}
	return a.printImport(name, job, &result)
}

// openFile opens a file that somebody named.
func openFile(path string) (*os.File, error) {
	file, err := os.Open(path)
	if err != nil {
		return nil, registry.Errorf(registry.NotFound, "file %q cannot be opened (%v): name one that is there", path, withoutPath(err))
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

// openSheet reads the header and finds out what its columns are, by asking if need be. What is wrong with it goes into the result.
func (a *app) openSheet(d *desk, file *os.File, given map[string]string, result *exchange.Result) (*sheet.Reader, exchange.Columns, error) {
	fault := func(f *sheet.Fault) {
		result.Faults = append(result.Faults, f)
		result.Faulty++
	}
	r, err := sheet.NewReader(file)
	var wrong *sheet.Fault
	if errors.As(err, &wrong) {
		fault(wrong)
		return nil, nil, nil
	}
	if err != nil {
		return nil, nil, err
	}
	known, err := d.Lists.Exchange.Columns()
	if err != nil {
		return nil, nil, err
	}
	columns, unknown, faults := exchange.MatchColumns(r.Header(), given, known)
	if len(unknown) > 0 && a.onTerminal() {
		answers, err := a.askColumns(r.Header(), unknown)
		if err != nil {
			return nil, nil, err
		}
		if err := rememberColumns(d.house.Dir, answers); err != nil {
			return nil, nil, err
		}
		columns, unknown, faults = exchange.MatchColumns(r.Header(), given, append(known, answers...))
	}
	for _, i := range unknown {
		fault(exchange.Unknown(r.Header()[i]))
	}
	for _, f := range faults {
		fault(f)
	}
	if len(faults)+len(unknown) == 0 {
		for _, f := range columns.Missing() {
			fault(f)
		}
	}
	return r, columns, nil
}

// askColumns asks what columns hold.
func (a *app) askColumns(header []string, unknown []int) (answers []exchange.ColumnName, err error) {
	q := a.asker()
	fmt.Fprintf(q.out, "Columns can be: %s.\nThe first letters will do; Enter leaves a column out. The answers are remembered.\n",
		strings.Join(exchange.ImportFields(), ", "))
	for _, i := range unknown {
		known := func(name exchange.ColumnName) bool { return name.Key() == exchange.ColumnKey(header[i]) }
		if slices.ContainsFunc(answers, known) {
			continue // a list that named it twice could not be read again
		}
		err := q.until(fmt.Sprintf("What is in column %q?", header[i]), func(answer string) error {
			if found := closest(exchange.ImportFields(), answer); answer != "" && len(found) == 1 {
				answer = found[0]
			} else if answer == "" {
				answer = exchange.ColumnLeftOut
			}
			name := exchange.ColumnName{Column: header[i], Field: answer}
			if err := name.Check(); err != nil {
				return err
			}
			answers = append(answers, name)
			return nil
		})
		if err != nil {
			return nil, err
		}
	}
	return answers, nil
}

// rememberColumns adds the answers to the house's own list.
func rememberColumns(dir string, answers []exchange.ColumnName) error {
	path := filepath.Join(dir, lists.Folder, columnsFile)
	text, err := os.ReadFile(path)
	if errors.Is(err, os.ErrNotExist) {
		f, openErr := lists.Defaults().Open(columnsFile)
		if openErr != nil {
			return openErr
		}
		defer f.Close()
		text, err = io.ReadAll(f)
	}
	if err != nil {
		return err
	}
	saved, err := delimited.Open(bytes.NewReader(text), delimited.OrComments) // what is added must go on as the list was saved
	if err != nil {
		return err
	}
	if text, err = io.ReadAll(saved); err != nil {
		return err
	}
	var b strings.Builder
	b.Write(text)
	if len(text) > 0 && text[len(text)-1] != '\n' {
		b.WriteByte('\n')
	}
	w := csv.NewWriter(&b)
	w.Comma = saved.Comma
	for _, answer := range answers {
		column := answer.Column
		if strings.HasPrefix(column, "#") {
			column = " " + column // the blank counts for nothing, and has the heading quoted: else its line were a comment
		}
		if err := w.Write([]string{column, answer.Field}); err != nil {
			return err
		}
	}
	if w.Flush(); w.Error() != nil {
		return w.Error()
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return err
	}
	return renameio.WriteFile(path, []byte(b.String()), 0o600)
}

func (a *app) printImport(name string, job *importJob, result *exchange.Result) error {
	for _, f := range result.Faults {
		fmt.Fprintln(a.err, told(f, nil))
	}
	if more := result.Faulty - len(result.Faults); more > 0 {
		fmt.Fprintf(a.err, "and %d more faults\n", more)
	}
	if result.Faulty == 0 || job.preview && result.Rows != nil {
		err := a.print(result, func(w io.Writer) {
			if job.preview {
				columns(w, func(w io.Writer) {
					for _, o := range result.Rows {
						fmt.Fprintf(w, "row %d\t%s\t%s %s\t%s\n", o.Row, o, o.Maker, o.Serial, o.Year)
					}
				})
			} else {
				printNewTags(w, result.Rows)
			}
			fmt.Fprintf(w, "%s: %d new, %d the same, %d changed", name, result.New, result.Same, result.Changed)
			if job.preview {
				fmt.Fprint(w, "; a preview, nothing is written")
			}
			fmt.Fprintln(w)
		})
		if err != nil {
			return err
		}
	}
	if result.Faulty > 0 {
		return registry.Errorf(registry.Invalid, "%s in %s: nothing was imported; correct the rows named above and import the file again",
			plural(result.Faulty, "fault"), name)
	}
	return nil
}

// printNewTags says which label goes on which machine.
func printNewTags(w io.Writer, rows []exchange.Outcome) {
	columns(w, func(w io.Writer) {
		for _, o := range rows {
			if o.Does == exchange.RowNew {
				fmt.Fprintf(w, "%s\t%s %s\t%s\trow %d\n", o.Tag, o.Maker, o.Serial, o.Year, o.Row)
			}
		}
	})
}
