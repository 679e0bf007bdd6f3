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

	"github.com/spf13/cobra"

	"pitman/registry"
	"pitman/registry/exchange"
	"pitman/registry/house"
	"pitman/registry/lists"
	"pitman/registry/makers"
	"pitman/registry/sheet"
	"pitman/registry/whole"
	"pitman/serials/delimited"
)

const columnsFile = "columns.csv"

func (a *app) importCommand() *cobra.Command {
	var job importJob
	cmd := &cobra.Command{
		Use:   "import FILE",
		Short: "Log the machines of a spreadsheet, all or none",
		Long: `Logs the machines of a spreadsheet: CSV, or a workbook (.xlsx), of which the first
sheet with anything on it is read. One of its first rows names the columns; rows above it are
titles. These columns are known:

  ` + strings.Join(exchange.ImportFields(), ", ") + `

and whatever the list lists/columns.csv of the house says. Where a column is not known, pitman asks
on a terminal and remembers the answer once the file came in; < goes back to the question before.
In a script, say it with --map. An answer that was wrong is taken back with --forget, which asks again.

A row is a machine of the house already when its tag or its id is known here, or else its maker and
serial number: so the same file can be imported again, and adds nothing. With --update such a
machine takes over the filled cells that differ.

A misspelt drive or stitch is offered with the word that it is a slip away from, and read as that
if you agree.

Every fault is listed as "row N, column C: ...", where rows are counted as the spreadsheet counts
them, the header being row 1.
With any fault nothing at all is changed.`,
		Example: `  pitman import donations.csv --preview
  pitman import donations.csv --by QX
  pitman import donations.xlsx --by QX
  pitman import theirs.csv --by QX --map "Made by=maker" --map "Colour=-"`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			job.path = args[0]
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
	flags.BoolVar(&job.update, "update", false,
		"let machines that are in the house already take over the filled cells that differ")
	flags.BoolVar(&job.forget, "forget", false,
		"take back what was answered of this file's columns before, and ask again")
	flags.StringArrayVar(&job.maps, "map", nil,
		"what a column of theirs holds, as `\"HEADING=field\"`; field - leaves it out (repeatable)")
	return cmd
}

type importJob struct {
	path            string
	preview, update bool
	forget          bool
	maps            []string
}

func (a *app) runImport(ctx context.Context, d *workplace, by registry.Initials, job *importJob) error {
	given, err := exchange.ParseMap(job.maps)
	if err != nil {
		return err
	}
	file, err := openFile(job.path)
	if err != nil {
		return err
	}
	defer file.Close()
	if job.forget {
		if err := forgetColumns(d, file); err != nil {
			return err
		}
	}
	hint, err := d.Hinting(ctx)
	if err != nil {
		return err
	}
	var answers []exchange.ColumnName
	read := map[exchange.Misread]string{}
	asked := !a.onTerminal()
	for {
		if _, err := file.Seek(0, io.SeekStart); err != nil {
			return err
		}
		if !asked { // before a row is written
			asked = true
			fresh, err := a.settleMakersOf(d, file, given, read, hint)
			if err != nil {
				return err
			}
			answers = append(answers, fresh...)
			continue
		}
		result, fresh, err := a.readImport(ctx, d, by, job, file, given, answers, read)
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
		if result.Faulty == 0 && len(answers) > 0 {
			if err := rememberColumns(d.house.Dir, answers); err != nil {
				return err
			}
		}
		a.nameNear(hint, result.Rows)
		return a.printImport(filepath.Base(job.path), job, result)
	}
}

// readImport reads the file once. What it asks of the columns it returns, beside what is known already.
func (a *app) readImport(ctx context.Context, d *workplace, by registry.Initials, job *importJob,
	file *os.File,
	given map[string]string,
	answers []exchange.ColumnName, read map[exchange.Misread]string) (result *exchange.Result,
	fresh []exchange.ColumnName, err error) {
	in := &exchange.Import{Read: read}
	result = &exchange.Result{Near: []exchange.NearMiss{}}
	if in.Sheet, in.Columns, fresh, err = a.openSheet(d, file, given, answers, result); err != nil ||
		result.Faulty > 0 {
		return result, nil, err
	}
	if found := in.Sheet.Found(); in.Sheet.HeaderRow() > 1 || in.Sheet.IsWorkbook() {
		fmt.Fprintf(a.err, "%s: %s\n", filepath.Base(job.path), found)
	}
	info, err := file.Stat()
	if err != nil {
		return nil, nil, err
	}
	name := filepath.Base(job.path)
	bar := a.progress("reading "+name, info.Size())
	in.Tick = bar.at
	rows := func(intake *exchange.Intake) error { return in.Run(ctx, intake, result) }
	if job.preview {
		err = d.Preview(ctx, job.update, rows)
	} else {
		err = d.Import(ctx, by, name, job.update, rows)
	}
	bar.done()
	if errors.Is(err, exchange.ErrFaults) {
		err = nil
	}
	return result, fresh, err
}

// askNear offers to read misspelt words as what they are a slip away from; it says whether anything was
// agreed.
func (a *app) askNear(misses []exchange.NearMiss, read map[exchange.Misread]string) (again bool, err error) {
	q := a.asker()
	for _, n := range misses {
		yes, err := q.yes(fmt.Sprintf("%s: read %q as %s, in %s?", n.Field, n.Value, n.Near,
			plural(n.Rows, "row")))
		if err != nil {
			return false, err
		}
		if yes {
			read[exchange.Misread{Field: n.Field, Value: n.Value}] = n.Near
			again = true
		}
	}
	return again, nil
}

// settleMakersOf asks of each maker in the file that is probably another; the answers go into read. What it
// asks of the columns it returns.
func (a *app) settleMakersOf(d *workplace, file *os.File, given map[string]string,
	read map[exchange.Misread]string, hint func(string) (makers.Hint, bool)) ([]exchange.ColumnName, error) {
	r, columns, fresh, err := a.openSheet(d, file, given, nil, &exchange.Result{})
	if err != nil || r == nil {
		return fresh, err
	}
	q := a.asker()
	for _, maker := range exchange.Makers(r, columns) {
		meant, err := a.settleMaker(q, hint, maker)
		if err != nil {
			return nil, err
		}
		if meant != maker {
			read[exchange.Misread{Field: "maker", Value: maker}] = meant
		}
	}
	return fresh, nil
}

// nameNear names the makers of new machines that are probably others; what was typed counts. On a terminal
// they were asked already.
func (a *app) nameNear(hint func(string) (makers.Hint, bool), rows []exchange.Outcome) {
	if a.onTerminal() {
		return
	}
	counts := map[string]int{}
	var typed []string
	for _, o := range rows {
		if o.Does != exchange.RowNew {
			continue
		}
		if counts[o.Maker]++; counts[o.Maker] == 1 {
			typed = append(typed, o.Maker)
		}
	}
	for _, name := range typed {
		if h, ask := hint(name); ask {
			fmt.Fprintf(a.err, "%s (%s)\n", h.Says(), plural(counts[name], "row"))
		}
	}
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

// openSheet reads the header and finds out what its columns are, by asking if need be. What is wrong with it
// goes into the result.
func (a *app) openSheet(d *workplace, file *os.File, given map[string]string, answers []exchange.ColumnName,
	result *exchange.Result) (
	*sheet.Reader, exchange.Columns, []exchange.ColumnName, error) {
	fault := func(f *sheet.Fault) {
		result.Faults = append(result.Faults, f)
		result.Faulty++
	}
	known, err := d.Lists.Exchange.Columns()
	if err != nil {
		return nil, nil, nil, err
	}
	known = append(known, answers...)
	r, err := sheet.Open(file, exchange.KnownHeading(given, known))
	var wrong *sheet.Fault
	if errors.As(err, &wrong) {
		fault(wrong)
		return nil, nil, nil, nil
	}
	if err != nil {
		return nil, nil, nil, err
	}
	columns, unknown, faults := exchange.MatchColumns(r.Header(), given, known)
	var fresh []exchange.ColumnName
	if len(unknown) > 0 && a.onTerminal() {
		if fresh, err = a.askColumns(r, unknown); err != nil {
			return nil, nil, nil, err
		}
		columns, unknown, faults = exchange.MatchColumns(r.Header(), given, append(known, fresh...))
	}
	for _, i := range unknown {
		fault(exchange.Unknown(r.Header()[i]))
	}
	for _, f := range faults {
		fault(f)
	}
	if len(faults)+len(unknown) == 0 {
		for _, f := range columns.Missing(r.HeaderRow()) {
			fault(f)
		}
	}
	for _, f := range result.Faults {
		if f.Row == 1 {
			f.Row = r.HeaderRow()
		}
	}
	return r, columns, fresh, nil
}

// back goes to the question before.
const back = "<"

// askColumns asks what columns hold, with the first cells of each beside it.
func (a *app) askColumns(r *sheet.Reader, unknown []int) ([]exchange.ColumnName, error) {
	q := a.asker()
	fmt.Fprintf(q.out,
		"Columns can be: %s.\nThe first letters will do; Enter leaves a column out; %s goes back to the "+
			"column before. The answers are remembered.\n", strings.Join(exchange.ImportFields(), ", "), back)
	header := r.Header()
	var asked []int // one of each name: a list that named it twice could not be read again
	for _, i := range unknown {
		if !slices.ContainsFunc(asked,
			func(j int) bool { return exchange.ColumnKey(header[j]) == exchange.ColumnKey(header[i]) }) {
			asked = append(asked, i)
		}
	}
	answers := make([]exchange.ColumnName, len(asked))
	for at := 0; at < len(asked); {
		i := asked[at]
		question := fmt.Sprintf("What is in column %q?", header[i])
		if samples := r.Samples(i); len(samples) > 0 {
			fmt.Fprintf(q.out, "%s: %s\n", header[i], strings.Join(samples, "; "))
		}
		err := q.until(question, func(answer string) error {
			if answer == back {
				at = max(at-1, 0)
				return nil
			}
			if found := closest(exchange.ImportFields(), answer); answer != "" && len(found) == 1 {
				answer = found[0]
			} else if answer == "" {
				answer = exchange.ColumnLeftOut
			}
			answers[at] = exchange.ColumnName{Column: header[i], Field: answer}
			if err := answers[at].Check(); err != nil {
				return err
			}
			at++
			return nil
		})
		if err != nil {
			return nil, err
		}
	}
	return answers, nil
}

// forgetColumns takes the answers of this file's columns out of the house's own list.
func forgetColumns(d *workplace, file *os.File) error {
	known, err := d.Lists.Exchange.Columns()
	if err != nil {
		return err
	}
	r, err := sheet.Open(file, exchange.KnownHeading(nil, known))
	if err != nil {
		return nil // it is told when the file is read
	}
	given, err := builtInHeadings()
	if err != nil {
		return err
	}
	path := filepath.Join(d.house.Dir, lists.Folder, columnsFile)
	text, err := os.ReadFile(path)
	if errors.Is(err, os.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	var kept strings.Builder
	for line := range strings.Lines(string(text)) {
		cells, err := csv.NewReader(strings.NewReader(line)).Read()
		if err == nil && len(cells) > 1 && !given[exchange.ColumnKey(cells[0])] &&
			slices.ContainsFunc(r.Header(),
				func(h string) bool {
					return exchange.ColumnKey(h) == exchange.ColumnKey(strings.TrimSpace(cells[0]))
				}) {
			continue
		}
		kept.WriteString(line)
	}
	if err := whole.Write(path, []byte(kept.String()), 0o600); err != nil {
		return err
	}
	again, err := house.Open(d.house.Dir)
	if err == nil {
		d.Lists = again.Lists
	}
	return err
}

// builtInHeadings are the headings that the program's own list knows.
func builtInHeadings() (map[string]bool, error) {
	f, err := lists.Defaults().Open(columnsFile)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	in := csv.NewReader(f)
	in.FieldsPerRecord, in.Comment = -1, '#'
	rows, err := in.ReadAll()
	headings := map[string]bool{}
	for _, row := range rows {
		headings[exchange.ColumnKey(row[0])] = true
	}
	return headings, err
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
	// what is added must go on as the list was saved
	saved, err := delimited.Open(bytes.NewReader(text), delimited.OrComments)
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
			// the blank counts for nothing, and has the heading quoted: else its line were a comment
			column = " " + column
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
	return whole.Write(path, []byte(b.String()), 0o600)
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
			fmt.Fprintf(w, "%s: %d new, %d the same, %d changed", name, result.New, result.Same,
				result.Changed)
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
		return registry.Errorf(registry.Invalid,
			"%s in %s: nothing was imported; correct the rows named above and import the file again",
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
