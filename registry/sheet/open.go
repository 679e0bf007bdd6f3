package sheet

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"pitman/serials/delimited"
)

// samplesKept is how much of the rows below a header is shown beside its columns.
const samplesKept = 3

// waiting is a row that was read ahead.
type waiting struct {
	row    int
	cells  []string
	faults []*Fault
	err    error
}

// Open reads the header of a sheet: CSV, or a workbook (.xlsx). Above its header a sheet may have rows of
// titles. The header is the first row in which two columns have names that known knows; where there is none,
// it is the first row, unless that has one cell only and a row below has more.
func Open(from io.Reader, known func(heading string) bool) (*Reader, error) {
	return OpenAt(from, known, 0)
}

// OpenAt is Open where a person says in which row the columns are named; 0 leaves it to be found.
func OpenAt(from io.Reader, known func(heading string) bool, headerRow int) (*Reader, error) {
	in := bufio.NewReaderSize(from, 1<<16)
	start, err := in.Peek(len(workbookBegins))
	if err != nil && !errors.Is(err, io.EOF) {
		return nil, err
	}
	var r *Reader
	if string(start) == workbookBegins {
		book, err := openWorkbook(in)
		if err != nil {
			return nil, err
		}
		r = &Reader{book: book, limit: &limiter{}}
		if err := r.readHeader(); err != nil {
			return nil, err
		}
	} else if r, err = NewReader(in); err != nil {
		return nil, err
	}
	if r.findHeader(known, headerRow); headerRow > 0 && r.headerRow != headerRow {
		return nil, &Fault{Row: headerRow, Column: "1", Message: fmt.Sprintf(
			"row %d cannot name the columns: it is empty, or not one of the first %d that are filled: type "+
				"the number of the row that does", headerRow, delimited.MaxTitles+1)}
	}
	return r, nil
}

// findHeader looks below the first row for one that is rather the header, and reads a few rows ahead.
func (r *Reader) findHeader(known func(string) bool, said int) {
	score := func(cells []string) (n int) {
		for _, c := range cells {
			if c = named(c); c != "" && known(c) {
				n++
			}
		}
		return n
	}
	filled := func(cells []string) (n int) {
		for _, c := range cells {
			if strings.TrimSpace(c) != "" {
				n++
			}
		}
		return n
	}
	r.sure = true
	if said > 0 || score(r.header) < 2 {
		first := waiting{row: r.headerRow, cells: r.header}
		r.header = nil // the rows below may be wider
		rows := append([]waiting{first}, r.peek(delimited.MaxTitles)...)
		at := slices.IndexFunc(rows, func(w waiting) bool { return w.cells != nil && score(w.cells) >= 2 })
		if r.sure = at >= 0; said > 0 {
			at = slices.IndexFunc(rows, func(w waiting) bool { return w.row == said && filled(w.cells) > 0 })
			r.sure = true
		} else if at < 0 && filled(first.cells) == 1 {
			at = slices.IndexFunc(rows, func(w waiting) bool { return filled(w.cells) > 2 })
		}
		at = max(at, 0)
		r.header = nil
		for _, name := range rows[at].cells {
			r.header = append(r.header, named(name))
		}
		r.headerRow, r.ahead = rows[at].row, rows[at+1:]
		for i := range r.ahead {
			r.ahead[i].faults = append(r.ahead[i].faults, r.behind(r.ahead[i].row, r.ahead[i].cells)...)
		}
	}
	r.ahead = append(r.ahead, r.peek(samplesKept-len(r.ahead))...)
}

// peek reads rows ahead.
func (r *Reader) peek(n int) (rows []waiting) {
	for len(rows) < n {
		cells, faults, err := r.fetch()
		rows = append(rows, waiting{r.row, slices.Clone(cells), faults, err})
		if err != nil {
			break
		}
	}
	return rows
}

// behind finds what stands behind the last column of a row.
func (r *Reader) behind(row int, cells []string) (faults []*Fault) {
	for i := len(r.header); i < len(cells); i++ {
		if cells[i] != "" {
			faults = append(faults,
				&Fault{Row: row, Column: r.Column(i), Message: fmt.Sprintf(standsBehind, begin(cells[i]))})
		}
	}
	return faults
}

// fromBook reads the next row of a workbook that has any cells.
func (r *Reader) fromBook() ([]string, []*Fault, error) {
	for !r.broken {
		cells, wrong, err := r.book.next()
		if errors.Is(err, io.EOF) {
			return nil, nil, err
		}
		r.row = max(r.book.row, 1)
		if err != nil {
			r.broken = true
			return nil, []*Fault{r.fault(0,
				"the workbook cannot be read from here on: open it in a spreadsheet, "+
					"and save the sheet as \"CSV UTF-8\"")}, nil
		}
		if strings.Join(cells, "") == "" && len(wrong) == 0 {
			continue
		}
		for i, message := range wrong {
			if i < len(cells) {
				cells[i] = ""
			}
			wrong[i] = message
		}
		var faults []*Fault
		for i, c := range cells {
			switch {
			case wrong[i] != "":
				faults = append(faults, &Fault{Row: r.row, Column: r.Column(i), Message: wrong[i]})
			case len(c) > MaxCell:
				faults = append(faults, r.fault(i, "the cell is %d bytes long: shorten it", len(c)))
				cells[i] = ""
			case r.header != nil && i >= len(r.header) && c != "":
				faults = append(faults, r.fault(i, standsBehind, begin(c)))
			default:
				cells[i] = Plain(strings.ReplaceAll(c, "\r\n", "\n"))
			}
		}
		return cells, faults, nil
	}
	return nil, nil, io.EOF
}

// HeaderRow is the row in which the columns are named.
func (r *Reader) HeaderRow() int { return r.headerRow }

// Sure says that the row which names the columns names some that are known, or that a person said which row
// it is.
func (r *Reader) Sure() bool { return r.sure }

// Ahead are the first rows, as far as they were read to find the header, in words.
func (r *Reader) Ahead() (rows []string) {
	say := func(row int, cells []string) {
		var filled []string
		for _, c := range cells {
			if c = named(c); c != "" {
				filled = append(filled, begin(c))
			}
		}
		rows = append(rows, fmt.Sprintf("row %d: %s", row, strings.Join(filled, " | ")))
	}
	say(r.headerRow, r.header)
	for _, w := range r.ahead {
		if len(w.cells) > 0 {
			say(w.row, w.cells)
		}
	}
	return rows
}

// IsPlain says that the sheet is saved as programs do: commas, UTF-8, the columns named in its first row.
func (r *Reader) IsPlain() bool {
	return r.book == nil && r.headerRow == 1 && r.csv.Comma == ',' && r.text.Encoding() == "UTF-8"
}

// Samples are the first cells of a column that have anything in them.
func (r *Reader) Samples(column int) (cells []string) {
	for _, w := range r.ahead {
		if column < len(w.cells) && strings.TrimSpace(w.cells[column]) != "" {
			cells = append(cells, begin(strings.Join(strings.Fields(w.cells[column]), " ")))
		}
	}
	return cells
}

// IsWorkbook says whether the sheet is one of a workbook.
func (r *Reader) IsWorkbook() bool { return r.book != nil }

// Found says how the file was saved, as far as was found out by looking, where it is not as programs do.
func (r *Reader) Found() string { return r.looked(false) }

// Looked says all that was found out by looking, the usual things, too.
func (r *Reader) Looked() string { return r.looked(true) }

func (r *Reader) looked(all bool) string {
	var found []string
	if r.book != nil {
		found = append(found, fmt.Sprintf("a workbook, its sheet %q", r.book.name))
		if n := len(r.book.others); n > 0 {
			found = append(found, fmt.Sprintf("not read: %s", strings.Join(r.book.others[:min(n, 5)], ", ")))
		}
	} else {
		found = append(found, "cells parted by "+
			map[rune]string{',': "commas", ';': "semicolons", '\t': "tabs",
				'|': "upright strokes"}[r.csv.Comma])
		if encoding := r.text.Encoding(); all || encoding != "UTF-8" {
			found = append(found, "saved as "+encoding)
		}
	}
	if all || r.headerRow > 1 {
		found = append(found, fmt.Sprintf("the columns are named in row %d", r.headerRow))
	}
	return strings.Join(found, "; ")
}
