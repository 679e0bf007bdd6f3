// Package sheet reads and writes the CSV of spreadsheets; how such a file may be saved stands in package
// delimited.
//
// Every fault has the place where a person finds it: the row, counted as the spreadsheet counts it, with the
// header as row 1 and empty rows included, and the name of the column. A fault in one row does not hide those
// in the next.
//
// A spreadsheet takes a cell that begins with = + - @, a tab or a carriage return for a formula and runs it.
// Such a cell leaves with an apostrophe before it, which the spreadsheet takes as "this is text", and loses
// exactly that one on the way in. So that nothing is lost for a text that has apostrophes before such a
// character itself, it gets one more, too.
//
// A file may be hostile: one row takes at most [MaxRow] bytes of memory, the header has at most [MaxColumns]
// columns.
package sheet

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"pitman/serials/delimited"
)

// What a sheet may measure: far more than people fill in, little enough for any computer.
const (
	MaxRow     = 1 << 20 // bytes
	MaxColumns = 500
	MaxCell    = 10_000 // bytes
)

// Fault is one thing wrong with a sheet.
type Fault struct {
	Row     int    `json:"row"`
	Column  string `json:"column"`
	Message string `json:"message"`
	Err     error  `json:"-"` // what was refused, where somebody else judged the cell

	Value string `json:"-"` // a word that is none of its field's,
	Near  string `json:"-"` // and the one that it is a slip away from
}

// Unwrap is what was refused.
func (f *Fault) Unwrap() error { return f.Err }

func (f *Fault) Error() string {
	return fmt.Sprintf("row %d, column %s: %s", f.Row, f.Column, f.Message)
}

// Reader reads a sheet row by row.
type Reader struct {
	limit  *limiter
	text   *delimited.Text
	csv    *csv.Reader
	book   *workbook // instead of csv
	header []string
	row    int // of the record read last
	end    int // the line on which it ended
	broken bool

	headerRow int
	sure      bool      // that row names columns that are known
	ahead     []waiting // rows that were read already
	shown     int       // the row that was given away last
}

// NewReader reads the header. An error of type *Fault says what is wrong with it.
func NewReader(from io.Reader) (*Reader, error) {
	limit := &limiter{from: from, left: MaxRow}
	text, err := delimited.Open(limit, delimited.Rows)
	switch {
	case errors.Is(err, delimited.ErrNotText):
		return nil, &Fault{Row: 1, Column: "1", Message: err.Error()}
	case err != nil:
		return nil, err
	}
	r := &Reader{limit: limit, text: text, csv: text.CSV()}
	r.csv.ReuseRecord = true
	if err := r.readHeader(); err != nil {
		return nil, err
	}
	return r, nil
}

// readHeader takes the first row for the header.
func (r *Reader) readHeader() error {
	cells, faults, err := r.fetch()
	switch {
	case errors.Is(err, io.EOF):
		return &Fault{Row: 1, Column: "1",
			Message: "the file is empty: its first row names the columns, such as maker,serial,drive"}
	case err != nil:
		return err
	case len(faults) > 0:
		return faults[0]
	case len(cells) > MaxColumns:
		return &Fault{Row: r.row, Column: fmt.Sprint(MaxColumns + 1),
			Message: fmt.Sprintf("there are %d columns: leave at most %d", len(cells), MaxColumns)}
	}
	for _, name := range cells {
		r.header = append(r.header, named(name))
	}
	r.headerRow, r.shown = r.row, r.row
	return nil
}

// named is a heading without the blanks and line breaks in it that say nothing.
func named(heading string) string { return strings.Join(strings.Fields(heading), " ") }

// Header names the columns.
func (r *Reader) Header() []string { return r.header }

// Row is the number of the row read last.
func (r *Reader) Row() int { return r.shown }

// Bytes says how much of the file has been read.
func (r *Reader) Bytes() int64 { return r.limit.total }

// Read returns the cells of the next row that has any, with the faults in it, if any; the cells are the
// reader's own and change with the next call. At the end, or where no row can be told from the next any more,
// the error is io.EOF.
func (r *Reader) Read() ([]string, []*Fault, error) {
	if len(r.ahead) > 0 {
		next := r.ahead[0]
		r.ahead, r.shown = r.ahead[1:], next.row
		return next.cells, next.faults, next.err
	}
	cells, faults, err := r.fetch()
	r.shown = r.row
	return cells, faults, err
}

// standsBehind is said of a cell that no column names.
const standsBehind = "%q stands behind the last column: put a cell that has a separator in it in quotation " +
	"marks"

func (r *Reader) fetch() ([]string, []*Fault, error) {
	if r.book != nil {
		return r.fromBook()
	}
	for !r.broken {
		r.limit.left = MaxRow
		cells, err := r.csv.Read()
		if err != nil {
			return r.damaged(cells, err)
		}
		start, _ := r.csv.FieldPos(0)
		r.row += start - r.end
		r.end = start
		for _, c := range cells {
			r.end += strings.Count(c, "\n")
		}
		if strings.Join(cells, "") == "" {
			continue
		}
		var faults []*Fault
		for i, c := range cells {
			switch {
			case len(c) > MaxCell:
				faults = append(faults, r.fault(i, "the cell is %d bytes long: shorten it", len(c)))
				cells[i] = ""
			case !utf8.ValidString(c):
				faults = append(faults,
					r.fault(i, "%q is text that cannot be read: save the spreadsheet as \"CSV UTF-8\"",
						begin(c)))
				cells[i] = ""
			case i >= len(r.header) && r.header != nil && c != "":
				faults = append(faults, r.fault(i, standsBehind, begin(c)))
			default:
				cells[i] = Plain(c)
			}
			if len(faults) > MaxColumns {
				break
			}
		}
		return cells, faults, nil
	}
	return nil, nil, io.EOF
}

// damaged names the place of what the CSV reader could not take apart; the end of the file and faults of the
// disk go to the caller.
func (r *Reader) damaged(cells []string, err error) ([]string, []*Fault, error) {
	var parse *csv.ParseError
	switch {
	case errors.Is(err, errTooLong):
		r.broken = true
		r.row++
		last := max(len(cells)-1, 0) // as much of it as was read
		return nil, []*Fault{r.fault(min(last, MaxColumns),
			"the row is longer than %d bytes: close a quotation mark left open, or shorten it", MaxRow)}, nil
	case errors.As(err, &parse):
		r.row += parse.StartLine - r.end
		r.end = parse.Line
		return nil, []*Fault{r.fault(len(cells),
			"a quotation mark is out of place: put the whole cell in quotation marks and write each one "+
				"inside it twice")}, nil
	}
	return nil, nil, err
}

func (r *Reader) fault(column int, format string, args ...any) *Fault {
	return &Fault{Row: r.row, Column: r.Column(column), Message: fmt.Sprintf(format, args...)}
}

// Column is the name of a column, or its number where it has none.
func (r *Reader) Column(i int) string {
	if i < len(r.header) && r.header[i] != "" {
		return r.header[i]
	}
	return fmt.Sprint(i + 1)
}

// begin is as much of a cell as fits in a sentence.
func begin(cell string) string {
	const most = 40
	if len(cell) <= most {
		return cell
	}
	cut := most
	for cut > most-utf8.UTFMax && !utf8.RuneStart(cell[cut]) { // half a letter would be a fault of our own
		cut--
	}
	return cell[:cut] + "…"
}

var errTooLong = errors.New("row too long")

// limiter keeps one row from filling the memory. What the buffers read ahead counts for the row that asked,
// which is near enough.
type limiter struct {
	from  io.Reader
	left  int
	total int64
}

func (l *limiter) Read(b []byte) (int, error) {
	if l.left <= 0 {
		return 0, errTooLong
	}
	n, err := l.from.Read(b)
	l.left -= n
	l.total += int64(n)
	return n, err
}
