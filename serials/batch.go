package serials

import (
	"bufio"
	"bytes"
	"cmp"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"pitman/serials/delimited"
	"pitman/serials/stamp"
	"pitman/serials/table"
	"pitman/serials/years"
)

const (
	maxRecord = 1 << 20 // bytes in one row of a list; a broken quotation mark shall not swallow the memory
	chunk     = 1 << 16 // bytes that are read and written at a time
)

// Batch dates a list: CSV in, saved in any of the ways of package delimited, with the columns maker and
// serial wherever they stand, and the same rows out in UTF-8, with from, to, best and basis behind them. The
// columns model, patent, patent-date, seen and clue are evidence; a cell may hold several, parted by
// semicolons. Rows are passed on as they come, so a list may be longer than the memory. A serial that cannot
// be read gets the basis none, one for which no year remains contradicted; only CSV that cannot be read ends
// the list, with an *InputError. Rows that lost evidence are told, since nothing in the list shows it.
func Batch(r io.Reader, w io.Writer, t *Tables) (Undated, error) {
	text, err := delimited.Open(r, delimited.Rows)
	switch {
	case errors.Is(err, delimited.ErrNotText):
		return Undated{}, stamp.Unreadable("%v", err)
	case err != nil:
		return Undated{}, fmt.Errorf("the list could not be read: %w", err)
	}
	b := &batch{tables: t, in: text, comma: byte(text.Comma), makers: map[string]*maker{}}
	err = b.run(w)
	if len(b.out) > 0 { // also behind a broken row: what was dated before it is right
		_, late := w.Write(b.out)
		return b.undated, errors.Join(err, late)
	}
	return b.undated, err
}

// Undated tells of the rows that have evidence beside the serial and yet no year, since something in them
// cannot be read.
type Undated struct {
	Rows int
	Line int   // of the first
	Why  error // what is wrong in it
}

// String is empty where there are none.
func (u Undated) String() string {
	switch u.Rows {
	case 0:
		return ""
	case 1:
		return fmt.Sprintf("line %d of the list is not dated: %v", u.Line, u.Why)
	}
	return fmt.Sprintf("%d rows of the list are not dated, the first being line %d: %v", u.Rows, u.Line,
		u.Why)
}

type batch struct {
	tables *Tables
	in     *delimited.Text
	comma  byte
	line   int    // of the record read last
	next   int    // lines read
	record []byte // holds a record that does not lie in one piece in the buffer
	fields [][]byte
	width  int
	maker  int
	serial int
	others []evidenceColumn
	makers map[string]*maker // by the spelling in the list
	out    []byte            // whole rows that wait to be written

	undated Undated
}

func (b *batch) run(w io.Writer) error {
	header, end, err := b.read()
	if err == io.EOF {
		return stamp.Unreadable("the list is empty: its first line must name the columns maker and serial")
	}
	if err != nil {
		return err
	}
	if err := b.split(header); err != nil {
		return err
	}
	b.width, b.maker, b.serial = len(b.fields), -1, -1
	for i, f := range b.fields {
		switch strings.ToLower(string(bytes.TrimSpace(f))) {
		case "maker":
			b.maker = i
		case "serial":
			b.serial = i
		default:
			if add := evidenceOf(string(bytes.TrimSpace(f))); add != nil {
				b.others = append(b.others, evidenceColumn{i, add})
			}
		}
	}
	if b.maker < 0 || b.serial < 0 {
		return stamp.Unreadable("line %d of the list does not name the columns maker and serial: put them "+
			"into the first line, separated by commas, semicolons or tabs", b.line)
	}
	b.out = append(append(append(b.out, header...), b.parted("from", "to", "best", "basis")...), end...)

	for {
		record, end, err := b.read()
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return err
		}
		if len(record) == 0 {
			continue
		}
		if err := b.split(record); err != nil {
			return err
		}
		if len(b.fields) > b.width {
			return stamp.Unreadable("line %d of the list has %d fields and its first line %d: put double "+
				"quotes round a field that has %s in it", b.line, len(b.fields), b.width, b.in.Separator())
		}
		b.out = append(b.out, record...)
		for i := len(b.fields); i < b.width; i++ {
			b.out = append(b.out, b.comma)
		}
		b.out = append(b.appendEstimate(b.out, b.date()), end...)
		if len(b.out) >= chunk {
			_, err := w.Write(b.out)
			b.out = b.out[:0]
			if err != nil {
				return err
			}
		}
	}
}

func (b *batch) date() years.Estimate {
	if b.maker >= len(b.fields) || b.serial >= len(b.fields) {
		return years.Estimate{Basis: years.NoBasis}
	}
	name, serial := b.fields[b.maker], b.fields[b.serial]
	if q, some, err := b.evidence(); some {
		q.Maker, q.Serial = string(name), string(serial)
		var a Answer
		if err == nil {
			a, err = b.tables.date(q, yearsAlone)
		}
		if err != nil { // a year without that evidence would be another one than the row gives
			if b.undated.Rows++; b.undated.Rows == 1 {
				b.undated.Line, b.undated.Why = b.line, err
			}
			return years.Estimate{Basis: years.NoBasis}
		}
		return a.Estimate
	}
	m, ok := b.makers[string(name)]
	if !ok {
		m = b.tables.maker(string(name))
		if len(b.makers) < 10_000 {
			b.makers[string(name)] = m
		}
	}
	if m == nil {
		return years.Estimate{Basis: years.NoBasis}
	}
	if e, ok := quick(m, serial); ok {
		return e
	}
	e, err := b.tables.slow(string(name), string(serial))
	if err != nil {
		return years.Estimate{Basis: years.NoBasis}
	}
	return e
}

// evidenceColumn is a column of the list that tells something beside the serial number.
type evidenceColumn struct {
	at  int
	add func(q *Query, value string) error
}

func evidenceOf(column string) func(*Query, string) error {
	yearList := func(list func(*Query) *[]int) func(*Query, string) error {
		return func(q *Query, v string) error {
			n, ok := table.Year(v)
			if !ok {
				return stamp.Unreadable("%s %s is not a year: type four digits", column, stamp.Quoted(v))
			}
			*list(q) = append(*list(q), int(n))
			return nil
		}
	}
	switch strings.TrimSuffix(strings.ReplaceAll(strings.ToLower(column), "_", "-"), "s") {
	case "model":
		return func(q *Query, v string) error { q.Model = v; return nil }
	case "patent":
		return func(q *Query, v string) error { q.Patents = append(q.Patents, v); return nil }
	case "patent-date", "patent-year":
		return yearList(func(q *Query) *[]int { return &q.PatentDates })
	case "seen":
		return yearList(func(q *Query) *[]int { return &q.Seen })
	case "clue":
		return func(q *Query, v string) error { q.Clues = append(q.Clues, v); return nil }
	}
	return nil
}

// evidence reads what a row tells beside the serial; some is false when that is nothing.
func (b *batch) evidence() (q Query, some bool, err error) {
	for _, c := range b.others {
		if c.at >= len(b.fields) || len(bytes.TrimSpace(b.fields[c.at])) == 0 {
			continue
		}
		for _, v := range strings.Split(string(b.fields[c.at]), ";") {
			if v = strings.TrimSpace(v); v == "" {
				continue
			}
			some = true
			err = cmp.Or(err, c.add(&q, v))
		}
	}
	return q, some, err
}

// parted is columns behind those of the list.
func (b *batch) parted(columns ...string) string {
	comma := string(b.comma)
	return comma + strings.Join(columns, comma)
}

func (b *batch) appendEstimate(dst []byte, e years.Estimate) []byte {
	for _, y := range [...]years.Year{e.From, e.To, e.Best} {
		dst = append(dst, b.comma)
		if y != 0 {
			dst = strconv.AppendInt(dst, int64(y), 10)
		}
	}
	dst = append(dst, b.comma)
	if e.Contradicted() {
		return append(dst, "contradicted"...)
	}
	return append(dst, e.Basis...)
}

// read returns the next record and the line end behind it. A record is a line, or more when a quoted field
// has line breaks. The library's reader would hand over what the fields mean and not how they were written;
// here each row goes out byte for byte as it came, and without an allocation for each of its fields.
func (b *batch) read() (record, end []byte, err error) {
	b.line = b.next + 1
	b.record = b.record[:0]
	quotes := 0
	for {
		piece, err := b.in.ReadSlice('\n')
		quotes += bytes.Count(piece, []byte{'"'})
		switch {
		case err == bufio.ErrBufferFull, err == nil && quotes%2 == 1:
			b.record = append(b.record, piece...)
			if err == nil {
				b.next++
			}
			if len(b.record) > maxRecord {
				return nil, nil,
					stamp.Unreadable("line %d of the list is longer than %d bytes: close a quotation mark "+
						"left open",
						b.line, maxRecord)
			}
			continue
		case err == io.EOF && len(piece)+len(b.record) == 0:
			return nil, nil, io.EOF
		case err != nil && err != io.EOF:
			return nil, nil, fmt.Errorf("the list could not be read at line %d: %w", b.line, err)
		}
		b.next++
		if len(b.record) > 0 {
			b.record = append(b.record, piece...)
			piece = b.record
		}
		record = bytes.TrimSuffix(piece, []byte("\n"))
		record = bytes.TrimSuffix(record, []byte("\r"))
		if end = piece[len(record):]; len(end) == 0 {
			end = []byte("\n")
		}
		return record, end, nil
	}
}

// split takes a record apart. Without quotation marks the separators are all there is to it; with them the
// library reads it.
func (b *batch) split(record []byte) error {
	b.fields = b.fields[:0]
	if bytes.IndexByte(record, '"') < 0 {
		for {
			i := bytes.IndexByte(record, b.comma)
			if i < 0 {
				b.fields = append(b.fields, record)
				return nil
			}
			b.fields = append(b.fields, record[:i])
			record = record[i+1:]
		}
	}
	c := csv.NewReader(bytes.NewReader(record))
	c.Comma, c.FieldsPerRecord = rune(b.comma), -1
	fields, err := c.Read()
	if broken := (*csv.ParseError)(nil); errors.As(err, &broken) {
		return stamp.Unreadable("line %d of the list has a quotation mark out of place: put the whole "+
			"field in double quotes and write a double quote inside it twice", b.line)
	}
	for _, f := range fields {
		b.fields = append(b.fields, []byte(f))
	}
	return nil
}
