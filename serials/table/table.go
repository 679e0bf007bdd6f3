// Package table reads the files that people edit: what each row may say, and what is wrong with one that
// cannot be read. It draws no conclusion from them.
package table

import (
	"encoding/csv"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"pitman/serials/years"
)

// Columns are the columns of a table file, in the order in which the project writes them.
var Columns = []string{"maker", "prefix", "first", "last", "from", "to", "model", "works", "source", "note"}

// Row is one line of a table: the maker stamped the numbers First to Last behind Prefix in the years From to
// To.
type Row struct {
	Maker  string     `json:"maker"`
	Prefix string     `json:"prefix"`
	First  uint64     `json:"first"`
	Last   Number     `json:"last"` // unknown in an open row: it ends where the next row begins
	From   years.Year `json:"from"`
	To     years.Year `json:"to"`
	Model  string     `json:"model"`
	Works  string     `json:"works"`
	Source string     `json:"source"`
	Note   string     `json:"note"`
	File   string     `json:"file"`
	Line   int        `json:"line"`

	// how often such a row is right, by whoever keeps the table; 0 where nobody says. It bears on what is
	// likely, and never on what is possible
	Confidence float64 `json:"confidence,omitempty"`

	Padded    bool   `json:"-"` // the file writes the number with leading zeros
	ModelOnly bool   `json:"-"` // no numbers: the row only says when a model was made
	Written   string `json:"-"` // the prefix as the file has it
}

// Allotted says that the row's numbers were allotted in a block ahead of making.
func (r Row) Allotted() bool { return strings.Contains(strings.ToLower(r.Note), "allot") }

// Numbers is the row's range as people write it.
func (r Row) Numbers() string {
	if r.ModelOnly {
		return "any"
	}
	if !r.Last.Known {
		return fmt.Sprintf("%s%d onwards", r.Prefix, r.First)
	}
	if r.First == r.Last.N {
		return fmt.Sprintf("%s%d", r.Prefix, r.First)
	}
	return fmt.Sprintf("%s%d–%s%d", r.Prefix, r.First, r.Prefix, r.Last.N)
}

// Years is the row's year, or its first and last.
func (r Row) Years() string {
	if r.From == r.To {
		return r.From.String()
	}
	return r.From.String() + "–" + r.To.String()
}

// Number is a serial number without its prefix, or not known.
type Number struct {
	N     uint64
	Known bool
}

// MarshalJSON writes the number, or null when it is not known.
func (n Number) MarshalJSON() ([]byte, error) {
	if !n.Known {
		return []byte("null"), nil
	}
	return strconv.AppendUint(nil, n.N, 10), nil
}

func Known(n uint64) Number { return Number{N: n, Known: true} }

// Table is one file: the rows that could be read, in the order of the file.
type Table struct {
	Name      string
	Rows      []Row
	Patents   []PatentRow
	Clues     []Clue
	Registers []Register
	Spellings []Spelling
	Forms     []Form

	withheld int  // rows that could not be read
	cut      bool // there is more in the file than was read
}

// Len is how many rows the file has, of whatever kind.
func (t *Table) Len() int {
	return len(t.Rows) + len(t.Patents) + len(t.Clues) + len(t.Registers) + len(t.Spellings) + len(t.Forms)
}

// Kind sorts faults.
type Kind string

const (
	Unreadable    Kind = "unreadable"
	UnknownColumn Kind = "unknown column"
	MissingColumn Kind = "missing column"
	BadNumber     Kind = "bad number"
	BadPrefix     Kind = "bad prefix"
	BadYear       Kind = "bad year"
	Missing       Kind = "missing value"
	Reversed      Kind = "reversed range"
	Repeated      Kind = "repeated range"
	Duplicate     Kind = "duplicate row"
	Overlapping   Kind = "overlap"
	Gap           Kind = "gap"
	Backwards     Kind = "years run backwards"
	SpeltTwice    Kind = "maker spelt two ways"
	Disagree      Kind = "tables disagree"
	BadForm       Kind = "bad form"
	AgainstForm   Kind = "against the form"
)

// Fault is something wrong in a table: the message says what, and what to do about it.
type Fault struct {
	File    string `json:"file"`
	Line    int    `json:"line"`
	Kind    Kind   `json:"kind"`
	Message string `json:"message"`
}

func (f Fault) String() string {
	return fmt.Sprintf("%s:%d: %s: %s", f.File, f.Line, f.Kind, f.Message)
}

// CSV is the row as a table file writes it, without a line end.
func (r Row) CSV() string { return r.csv(false) }

func (r Row) csv(padded bool) string {
	first, last := "", ""
	if !r.ModelOnly {
		first = strconv.FormatUint(r.First, 10)
		if r.Last.Known {
			last = strconv.FormatUint(r.Last.N, 10)
		}
	}
	if padded && !r.ModelOnly { // as wide as each other, and with a zero in front at all
		width := max(len(first), len(last))
		if len(first) == width {
			width++
		}
		first = strings.Repeat("0", width-len(first)) + first
	}
	prefix := r.Written
	if prefix == "" {
		prefix = r.Prefix
	}
	var b strings.Builder
	w := csv.NewWriter(&b)
	// A strings.Builder takes whatever is written to it.
	_ = w.Write([]string{r.Maker, prefix, first, last, r.From.String(), r.To.String(), r.Model, r.Works,
		r.Source, r.Note})
	w.Flush()
	return strings.TrimSuffix(b.String(), "\n")
}

// File is the rows as a table file; the confidence stands in it where any row has one.
func File(rows []Row) string {
	said := slices.ContainsFunc(rows, func(r Row) bool { return r.Confidence != 0 })
	header := strings.Join(Columns, ",")
	if said {
		header += ",confidence"
	}
	var b strings.Builder
	b.WriteString(header + "\n")
	for _, r := range rows {
		b.WriteString(r.csv(r.Padded))
		if said {
			b.WriteByte(',')
			if r.Confidence != 0 {
				b.WriteString(strconv.FormatFloat(r.Confidence, 'g', -1, 64))
			}
		}
		b.WriteByte('\n')
	}
	return b.String()
}

// ReadRow reads one row as CSV writes it; ok is false when it cannot be read.
func ReadRow(line string) (r Row, ok bool) {
	table, _ := Read("", strings.NewReader(strings.Join(Columns, ",")+"\n"+line+"\n"))
	if table == nil || len(table.Rows) != 1 {
		return Row{}, false
	}
	return table.Rows[0], true
}
