package table

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strings"
	"unicode/utf8"

	"pitman/serials/delimited"
	"pitman/serials/names"
	"pitman/serials/stamp"
	"pitman/serials/years"
)

// The limits keep a hostile or mistaken file from filling the memory; a table of every maker known is far
// below them.
const (
	maxFile    = 16 << 20 // bytes
	MaxRows    = 200_000
	maxFaults  = 1000 // told per file; the rest are counted
	maxRereads = 20   // times that reading starts anew behind a broken quotation mark
	MaxText    = 1000 // bytes in one field
)

// ReadTable reads one table file. Rows that cannot be read are withheld, each named by a fault; all others
// are served. The table is nil when nothing in the file can be used.
func Read(name string, r io.Reader) (*Table, []Fault) {
	p := &reader{table: &Table{Name: name}}
	text := &delimited.Text{}
	data, err := io.ReadAll(io.LimitReader(r, maxFile+1))
	if err == nil && len(data) <= maxFile {
		if text, err = delimited.Open(bytes.NewReader(data), delimited.OrComments); err == nil {
			data, err = io.ReadAll(text)
		}
	}
	switch {
	case errors.Is(err, delimited.ErrNotText), err == nil && bytes.IndexByte(data, 0) >= 0:
		p.fault(1, Unreadable, "%v", delimited.ErrNotText)
	case err != nil:
		p.fault(1, Unreadable,
			"the file cannot be read (%v): check that it is a file and that you may open it", err)
	case text.Reader == nil:
		p.fault(1, Unreadable, "the file is larger than %d MiB: split it in two", maxFile>>20)
	default:
		p.text = text
		if p.read(data) {
			return p.table, p.told()
		}
	}
	return nil, p.told()
}

type reader struct {
	table   *Table
	text    *delimited.Text
	faults  []Fault
	untold  int
	form    *form
	columns []int // for each field of a record, its place among the form's columns, or -1
}

func (p *reader) fault(line int, kind Kind, format string, args ...any) {
	if len(p.faults) == maxFaults {
		p.untold++
		return
	}
	p.faults = append(p.faults,
		Fault{File: p.table.Name, Line: line, Kind: kind, Message: fmt.Sprintf(format, args...)})
}

func (p *reader) told() []Fault {
	if p.untold > 0 {
		p.faults = append(p.faults,
			Fault{File: p.table.Name, Line: p.faults[len(p.faults)-1].Line, Kind: Unreadable,
				Message: fmt.Sprintf("%d more faults follow in this file: mend those above first", p.untold)})
	}
	return p.faults
}

// read goes through the records. A quotation mark left open makes the CSV reader swallow the rest of the
// file, so reading starts anew on the line behind it.
func (p *reader) read(data []byte) bool {
	above := 0 // lines before data
	for reread := 0; ; reread++ {
		p.text.Reset(bytes.NewReader(data))
		c := p.text.CSV()
		c.ReuseRecord = true
		for {
			record, err := c.Read()
			if err == io.EOF {
				return p.finish()
			}
			if broken := (*csv.ParseError)(nil); errors.As(err, &broken) {
				line := above + broken.StartLine
				p.fault(line, Unreadable,
					"a quotation mark is out of place: put the whole field in double quotes and write a "+
						"double quote inside it twice")
				if p.columns == nil {
					return false
				}
				p.table.withheld++
				if broken.Line == broken.StartLine {
					continue // nothing but this line was swallowed
				}
				if reread == maxRereads {
					p.fault(line, Unreadable,
						"too many broken quotation marks: the rest of the file is not read")
					p.table.cut = true
					return p.finish()
				}
				data, above = skipLines(data, broken.StartLine), line
				break
			}
			line, _ := c.FieldPos(0)
			if blank(record) || strings.HasPrefix(record[0], "#") {
				// a spreadsheet writes empty rows as commas, and quotes a comment that has a comma in it
				continue
			}
			if p.columns == nil {
				if !p.header(above+line, record) {
					return false
				}
				continue
			}
			if p.table.Len() == MaxRows {
				p.fault(above+line, Unreadable, "the file has more than %d rows: split it in two", MaxRows)
				p.table.cut = true
				return true
			}
			if !p.row(above+line, record) {
				p.table.withheld++
			}
		}
	}
}

func (p *reader) finish() bool {
	if p.columns == nil {
		p.fault(1, MissingColumn, "the file has no header: begin it with the line %s",
			strings.Join(Columns, ","))
		return false
	}
	return true
}

func skipLines(data []byte, n int) []byte {
	for ; n > 0; n-- {
		i := bytes.IndexByte(data, '\n')
		if i < 0 {
			return nil
		}
		data = data[i+1:]
	}
	return data
}

func blank(record []string) bool {
	for _, f := range record {
		if strings.TrimSpace(f) != "" {
			return false
		}
	}
	return true
}

func (p *reader) header(line int, record []string) bool {
	p.form = formOf(record)
	p.columns = make([]int, len(record))
	seen := map[string]bool{}
	for i, name := range record {
		p.columns[i] = -1
		name = strings.ToLower(strings.TrimSpace(name))
		for k, column := range append(slices.Clone(p.form.columns), p.form.more...) {
			if name == column && !seen[name] {
				p.columns[i] = k
			}
		}
		switch {
		case name == "":
		case seen[name]:
			p.fault(line, UnknownColumn, "column %s stands twice: delete one of the two", stamp.Quoted(name))
		case p.columns[i] < 0:
			p.fault(line, UnknownColumn, "column %s is not known and is not read: use %s", stamp.Quoted(name),
				strings.Join(p.form.columns, ", "))
		}
		seen[name] = true
	}
	ok := true
	for _, need := range p.form.needs {
		if !seen[need] {
			p.fault(line, MissingColumn, "column %q is missing: the first line must be %s", need,
				strings.Join(p.form.columns, ","))
			ok = false
		}
	}
	return ok
}

// row takes one row in, or names what keeps it out.
func (p *reader) row(line int, record []string) bool {
	f := make([]string, len(p.form.columns)+len(p.form.more))
	for i, v := range record {
		v = strings.TrimSpace(v)
		switch {
		case i >= len(p.columns):
			if v != "" {
				p.fault(line, Unreadable,
					"the row has %d fields and the header %d: put double quotes round a field that has %s "+
						"in it", len(record), len(p.columns), p.text.Separator())
				return false
			}
			continue
		case !utf8.ValidString(v):
			p.fault(line, Unreadable, "a letter in the row cannot be read: save the file as CSV in UTF-8")
			return false
		case len(v) > MaxText:
			p.fault(line, Unreadable,
				"a field is longer than %d bytes: shorten it, or close a quotation mark left open", MaxText)
			return false
		}
		if k := p.columns[i]; k >= 0 {
			f[k] = strings.Clone(v)
		}
	}
	before := p.table.Len()
	p.form.row(p, line, f)
	return p.table.Len() > before
}

// serialRow reads a row of serial numbers.
func serialRow(p *reader, line int, f []string) {
	row := Row{Maker: f[0], Model: f[6], Works: f[7], Source: f[8], Note: f[9], File: p.table.Name,
		Line: line}
	if names.MakerKey(row.Maker) == "" {
		p.fault(line, Missing, "the row has no maker: type the maker's name")
		return
	}
	row.Written = f[1]
	if row.Prefix = stamp.Clean(f[1]); !validPrefix(row.Prefix) {
		row.Prefix = MarkedPrefix(f[1], false)
	}
	if row.Prefix == "" && f[1] != "" {
		p.fault(line, BadPrefix,
			"prefix %s must be letters and digits and end in a letter, or in the - or / that parts it from "+
				"the number: move digits behind the last letter into first and last", stamp.Quoted(f[1]))
		return
	}
	row.ModelOnly = f[2] == "" && f[3] == "" && row.Model != ""
	if !row.ModelOnly && !p.numbers(line, &row, f[2], f[3]) {
		return
	}
	if !p.years(line, &row, f[4], f[5]) {
		return
	}
	if f[10] != "" {
		var ok bool
		if row.Confidence, ok = p.share(line, "confidence", f[10]); !ok {
			return
		}
	}
	p.table.Rows = append(p.table.Rows, row)
}

func (p *reader) numbers(line int, row *Row, first, last string) bool {
	var ok bool
	if first == "" {
		p.fault(line, Missing, "first is empty: type the first number of the range, digits only")
		return false
	}
	first, last = ungrouped(first), ungrouped(last)
	if row.First, ok = stamp.ParseNumber(first); !ok {
		p.badNumber(line, "first", first)
		return false
	}
	if last != "" {
		if row.Last.N, ok = stamp.ParseNumber(last); !ok {
			p.badNumber(line, "last", last)
			return false
		}
		row.Last.Known = true
	}
	if row.Last.Known && row.Last.N < row.First {
		p.fault(line, Reversed, "first %d is greater than last %d: swap them or mend the misprint", row.First,
			row.Last.N)
		return false
	}
	row.Padded = len(first) > 1 && first[0] == '0' || len(last) > 1 && last[0] == '0'
	return true
}

func (p *reader) badNumber(line int, column, value string) {
	p.fault(line, BadNumber, "%s %s is not a number: type digits only, at most %d, without the prefix",
		column, stamp.Quoted(value), stamp.MaxDigits)
}

func (p *reader) years(line int, row *Row, from, to string) bool {
	var ok bool
	if row.From, ok = Year(from); !ok {
		p.badYear(line, "from", from, "")
		return false
	}
	row.To = row.From
	if to != "" {
		if row.To, ok = Year(to); !ok {
			p.badYear(line, "to", to, ", or leave it empty")
			return false
		}
	}
	if row.To < row.From {
		p.fault(line, Reversed, "from %d is later than to %d: swap them or mend the misprint", row.From,
			row.To)
		return false
	}
	return true
}

// about is a year that the source itself gives only as near: c. 1909, ca 1909, circa 1909, about 1909, 1909?,
// ~1909.
var about = regexp.MustCompile(`(?i)^(?:(?:c|ca|circa|about|abt)\b\.? ?[0-9]{4}|` +
	`~ ?[0-9]{4}|[0-9]{4} ?\?|c[0-9]{4})$`)

// badYear names what is no year. A row has no place for "about": how far about reaches is for the one who
// knows the source to say, and to take it for exactly that year would claim more than the source does.
func (p *reader) badYear(line int, column, value, or string) {
	if about.MatchString(value) {
		p.fault(line, BadYear,
			"%s %s is only about a year, and the row is not read: type the first year that it can be in "+
				"from and the last in to",
			column, stamp.Quoted(value))
		return
	}
	p.fault(line, BadYear, "%s %s is not a year: type four digits, %d to %d%s", column, stamp.Quoted(value),
		years.First,
		years.Last, or)
}

func Year(s string) (years.Year, bool) {
	if n, ok := stamp.ParseNumber(s); ok && len(s) == 4 && years.First <= n && n <= years.Last {
		return years.Year(n), true
	}
	return 0, false
}

// grouped is a number as spreadsheets show it, its digits in threes behind commas, apostrophes or blanks. A
// point is left out, since it begins the fraction in other countries.
var grouped = regexp.MustCompile(`^[0-9]{1,3}(?:(?:,[0-9]{3})+|(?:'[0-9]{3})+|` +
	`(?:’[0-9]{3})+|(?:[ \x{a0}\x{202f}][0-9]{3})+)$`)

// ungrouped is the number without what parts its digits.
func ungrouped(s string) string {
	if number, _ := stamp.ParseNumber(s); number != 0 || !grouped.MatchString(s) {
		return s
	}
	return strings.Map(func(r rune) rune {
		if r < '0' || r > '9' {
			return -1
		}
		return r
	}, s)
}

// validPrefix says whether a prefix is one that no grammar is needed for.
func validPrefix(p string) bool {
	if len(p) > stamp.MaxSerial/2 {
		return false
	}
	for i := 0; i < len(p); i++ {
		if !stamp.IsLetter(p[i]) && !stamp.IsDigit(p[i]) {
			return false
		}
	}
	return p == "" || stamp.IsLetter(p[len(p)-1])
}

// marked is a prefix of any alphabet, with separators, and with * for the number where letters stand behind
// it.
var marked = regexp.MustCompile(`^(?:[\p{L}0-9]+(?:-[\p{L}0-9]+)*-?)?(?:\*\p{L}+(?:-\p{L}+)*)?$`)

// MarkedPrefix is the prefix as package grammar has it, or empty where it is none.
func MarkedPrefix(written string, keepCase bool) string {
	p := stamp.WithMarks(written, keepCase)
	if r := []rune(strings.TrimSpace(written)); p != "" && len(r) > 0 && stamp.Separator(r[len(r)-1]) {
		p += "-"
	}
	end := strings.TrimSuffix(p, "-")
	switch {
	case p == "" || len(p) > stamp.MaxSerial/2 || !marked.MatchString(p):
		return ""
	case !strings.Contains(p, "*") && end == p && '0' <= p[len(p)-1] && p[len(p)-1] <= '9':
		return ""
	}
	return p
}
