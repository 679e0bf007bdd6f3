// Package lists reads the tables that a house keeps for itself in a spreadsheet: bench jobs, test points,
// parts, reasons and whatever else is a list and not a rule. Each is one CSV file in the folder lists of the
// house, with a header and saved in any of the ways of package delimited; lines that begin with # are
// comments. A file counts at the next command. Where the house has none, the list that the program carries is
// used, so a house needs to write only what it wants to differ.
//
// A list is read whole or not at all: half a job list would hide work. Every fault in it is reported at once,
// each with file and line and what to do. The row types stand beside the rules that use them; a row with a
// Check method is asked whether it is right, and one with a Key method may stand only once.
package lists

import (
	"bytes"
	"embed"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/jszwec/csvutil"

	"pitman/registry"
	"pitman/serials/delimited"
)

// Folder is the folder of a house in which its lists lie.
const Folder = "lists"

// Largest is how big a list may be: far more than people edit by hand, little enough to read at once.
const Largest = 8 << 20

// maxFaults keeps the report of a file that is no list at all readable.
const maxFaults = 50

//go:embed defaults/*.csv
var defaults embed.FS

// Defaults returns the lists that the program carries, by file name.
func Defaults() fs.FS {
	sub, err := fs.Sub(defaults, "defaults")
	if err != nil {
		panic(err) // the folder is compiled in
	}
	return sub
}

// Load reads a list of the house by its file name, such as jobs.csv, or the one that the program carries
// where the house has none.
func Load[T any](house, name string) ([]T, error) {
	file, err := os.Open(filepath.Join(house, Folder, name))
	if errors.Is(err, fs.ErrNotExist) {
		return BuiltIn[T](name)
	}
	if err != nil {
		return nil, fmt.Errorf("open list %s: %w", name, err)
	}
	defer file.Close()
	return Read[T](path.Join(Folder, name), file)
}

// BuiltIn reads a list that the program carries.
func BuiltIn[T any](name string) ([]T, error) {
	file, err := Defaults().Open(name)
	if err != nil {
		return nil, fmt.Errorf("open list %s: %w", name, err)
	}
	defer file.Close()
	return Read[T](name+" (built in)", file)
}

// Read reads a list. The error names every fault, one a line.
func Read[T any](name string, from io.Reader) ([]T, error) {
	var into rowsOf[T]
	if err := read(name, from, &into); err != nil {
		return nil, err
	}
	return into.rows, nil
}

// rowsOf are the rows that are read, of any type, so that reading them is compiled once and not for each.
type rowsOf[T any] struct {
	row  T
	rows []T
}

type rows interface {
	next() any // points to an empty row, to be filled
	last() any // is that row
	keep()
}

func (r *rowsOf[T]) next() any {
	r.row = *new(T)
	return &r.row
}
func (r *rowsOf[T]) last() any { return r.row }
func (r *rowsOf[T]) keep()     { r.rows = append(r.rows, r.row) }

func read(name string, from io.Reader, into rows) error {
	text, err := io.ReadAll(io.LimitReader(from, Largest+1))
	if err != nil {
		return fmt.Errorf("read list %s: %w", name, err)
	}
	r := reader{name: name}
	if len(text) > Largest {
		r.fault(1, "is larger than %d MB: this is not a list, save the spreadsheet as CSV", Largest>>20)
		return r.err()
	}
	in, err := delimited.Open(bytes.NewReader(text), delimited.OrComments)
	if err == nil {
		text, err = io.ReadAll(in)
	}
	switch {
	case errors.Is(err, delimited.ErrNotText):
		r.fault(1, "%v", err)
		return r.err()
	case err != nil:
		return fmt.Errorf("read list %s: %w", name, err)
	case !r.readable(text):
		return r.err()
	}
	in.Reset(bytes.NewReader(text))
	r.csv, r.separator = in.CSV(), in.Separator()
	r.readRows(into)
	return r.err()
}

// A reader hands cells to the decoder and collects the faults.
type reader struct {
	name      string
	csv       *csv.Reader
	separator string
	header    []string
	line      int // line of the last record
	faults    []Fault
}

// A Fault is one of a list, where a person finds it.
type Fault struct {
	File    string `json:"file"`
	Line    int    `json:"line"` // 0: of the list as a whole
	Message string `json:"message"`
}

func (f Fault) String() string {
	switch {
	case f.File == "":
		return f.Message
	case f.Line == 0:
		return f.File + ": " + f.Message
	}
	return fmt.Sprintf("%s:%d: %s", f.File, f.Line, f.Message)
}

// Faulty is the refusal of a list for its faults.
type Faulty struct {
	Faults []Fault
	err    error
}

func (f *Faulty) Error() string { return f.err.Error() }
func (f *Faulty) Unwrap() error { return f.err }

// FaultsOf tells an error of one list or of several as faults.
func FaultsOf(err error) []Fault {
	if several, ok := err.(interface{ Unwrap() []error }); ok {
		var faults []Fault
		for _, err := range several.Unwrap() {
			faults = append(faults, FaultsOf(err)...)
		}
		return faults
	}
	if faulty, ok := errors.AsType[*Faulty](err); ok {
		return faulty.Faults
	}
	if err == nil {
		return nil
	}
	return []Fault{{Message: err.Error()}}
}

func (r *reader) fault(line int, format string, args ...any) {
	r.faults = append(r.faults, Fault{File: r.name, Line: line, Message: fmt.Sprintf(format, args...)})
}

func (r *reader) err() error {
	if len(r.faults) == 0 {
		return nil
	}
	shown := r.faults
	if more := len(shown) - maxFaults; more > 0 {
		shown = append(slices.Clone(shown[:maxFaults]),
			Fault{File: r.name, Message: fmt.Sprintf("and %d more", more)})
	}
	var lines []string
	for _, fault := range shown {
		lines = append(lines, fault.String())
	}
	return &Faulty{shown, registry.Errorf(registry.Invalid, "%s", strings.Join(lines, "\n"))}
}

// readable refuses what no spreadsheet saves as CSV.
func (r *reader) readable(text []byte) bool {
	line := 1
	for row := range bytes.Lines(text) {
		if !utf8.Valid(row) {
			r.fault(line, "has a letter that cannot be read: save the spreadsheet as \"CSV UTF-8\"")
			return false
		}
		if i := bytes.IndexFunc(row,
			func(c rune) bool {
				return c < ' ' && c != '\t' && c != '\r' && c != '\n' ||
					c == 0x7f
			}); i >= 0 {
			r.fault(line, "has the control character %q: delete it", row[i])
			return false
		}
		line++
	}
	return true
}

func (r *reader) readRows(into rows) {
	columns, err := csvutil.Header(into.last(), "csv")
	if err != nil {
		panic(err) // a row type that is no struct
	}
	needed := columns[:1]
	if n, ok := into.last().(interface{ Needs() string }); ok {
		needed = append(slices.Clone(needed), n.Needs())
	}
	if !r.readHeader(columns, needed) {
		return
	}
	decoder, err := csvutil.NewDecoder(r, r.header...)
	if err != nil {
		r.fault(1, "%v", err)
		return
	}
	seen := map[string]int{}
	for {
		err := decoder.Decode(into.next())
		if errors.Is(err, io.EOF) {
			return
		}
		if err != nil {
			if !r.decodeFault(err, decoder.Record()) {
				return
			}
			continue
		}
		row := into.last()
		if c, ok := row.(interface{ Check() error }); ok {
			if err := c.Check(); err != nil {
				r.fault(r.line, "%v", err)
				continue
			}
		}
		if k, ok := row.(interface{ Key() string }); ok {
			if first, twice := seen[k.Key()]; twice {
				r.fault(r.line, "%q stands in line %d already: delete one of them", k.Key(), first)
				continue
			}
			seen[k.Key()] = r.line
		}
		into.keep()
	}
}

// readHeader finds the columns. Those that are not needed may be left out, so that a list written for an
// older program still reads.
func (r *reader) readHeader(columns, needed []string) bool {
	header, err := r.Read()
	if err != nil {
		if errors.Is(err, io.EOF) {
			r.fault(1, "is empty: the first line names the columns %s", strings.Join(columns, ","))
		} else {
			r.decodeFault(err, nil)
		}
		return false
	}
	known, seen := true, map[string]bool{}
	for i, column := range header {
		header[i] = strings.ToLower(column)
		switch {
		case !slices.Contains(columns, header[i]):
			r.fault(r.line, "column %q is not known: the columns are %s", column, strings.Join(columns, ","))
			known = false
		case seen[header[i]]:
			r.fault(r.line, "column %q stands twice: delete one of them", column)
			known = false
		}
		seen[header[i]] = true
	}
	for _, column := range needed {
		if known && !seen[column] {
			r.fault(r.line, "column %q is missing: the columns are %s", column, strings.Join(columns, ","))
			known = false
		}
	}
	r.header = header
	return known
}

// decodeFault turns an error of the CSV reader or the decoder into a fault, and says whether reading can go
// on.
func (r *reader) decodeFault(err error, record []string) bool {
	var parse *csv.ParseError
	var decode *csvutil.DecodeError
	var refused *registry.Error
	switch {
	case errors.As(err, &parse):
		r.fault(parse.StartLine,
			"has a quotation mark out of place: write \"\" for each one inside a quoted cell")
		return false
	case errors.Is(err, csvutil.ErrFieldCount):
		r.fault(r.line, "the header has %s and this row %d: put cells with %s in quotation marks",
			registry.Counted(len(r.header), "cell"), len(record), r.separator)
	case errors.As(err, &refused):
		if errors.As(err, &decode) {
			r.fault(r.line, "column %s: %v", decode.Field, refused)
		} else {
			r.fault(r.line, "%v", refused)
		}
	case errors.As(err, &decode):
		r.fault(r.line,
			"column %s has a value that is not a number it can hold: type it in figures, such as 12",
			decode.Field)
	default:
		r.fault(r.line, "%v", err)
	}
	return true
}

// Read hands one record to the decoder, its cells trimmed; rows without any content are passed over, as
// spreadsheets leave them.
func (r *reader) Read() ([]string, error) {
	for {
		record, err := r.csv.Read()
		if err != nil {
			return nil, err
		}
		r.line, _ = r.csv.FieldPos(0)
		cells := strings.Join(record[1:], "")
		// as a spreadsheet saves one: a row like any other
		comment := strings.HasPrefix(record[0], "#") && cells == "" && len(record) > 1
		for i := range record {
			record[i] = strings.TrimSpace(record[i])
		}
		if !comment && strings.TrimSpace(cells)+record[0] != "" {
			return record, nil
		}
	}
}
