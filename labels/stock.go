package labels

import (
	"bytes"
	_ "embed"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"sync"

	"github.com/jszwec/csvutil"

	"pitman/serials/delimited"
)

// Stock is a sheet or roll of labels, as it lies in the printer. Lengths are in millimetres.
type Stock struct {
	Name        string  `csv:"name" json:"name"`
	PageWidth   float64 `csv:"page_width" json:"page_width"`
	PageHeight  float64 `csv:"page_height" json:"page_height"`
	Columns     int     `csv:"columns" json:"columns"`
	Rows        int     `csv:"rows" json:"rows"`
	LabelWidth  float64 `csv:"label_width" json:"label_width"`
	LabelHeight float64 `csv:"label_height" json:"label_height"`
	GapX        float64 `csv:"gap_x,omitempty" json:"gap_x"`
	GapY        float64 `csv:"gap_y,omitempty" json:"gap_y"`
	MarginLeft  float64 `csv:"margin_left,omitempty" json:"margin_left"`
	MarginTop   float64 `csv:"margin_top,omitempty" json:"margin_top"`
	Hole        float64 `csv:"hole,omitempty" json:"hole"` // diameter of a tie-on tag's hole; 0 for a sticker
	HoleX       float64 `csv:"hole_x,omitempty" json:"hole_x"`
	HoleY       float64 `csv:"hole_y,omitempty" json:"hole_y"`
	Cut         yesNo   `csv:"cut,omitempty" json:"cut"` // plain card: cut lines are always printed
	// dots per inch of the printer that takes it; 0 where it is not known
	DPI  int    `csv:"dpi,omitempty" json:"dpi"`
	Mono yesNo  `csv:"mono,omitempty" json:"mono"` // a thermal printer's: black or nothing
	Note string `csv:"note,omitempty" json:"note"`
}

// newerColumns are those that tables of earlier houses lack.
var newerColumns = []string{"dpi", "mono"}

// Device is the printer that takes the stock, as far as the table knows it.
func (s Stock) Device() Device { return Device{DPI: s.DPI, Mono: bool(s.Mono)} }

// clear is the largest part of a label's area that keeps off its hole and what reinforces that.
func (s Stock) clear(area box) box {
	if s.Hole == 0 {
		return area
	}
	off := s.Hole/2 + holeClear
	right, bottom := area.x+area.w, area.y+area.h
	best := box{}
	for _, b := range []box{
		{max(area.x, s.HoleX+off), area.y, right - max(area.x, s.HoleX+off), area.h},
		{area.x, area.y, min(right, s.HoleX-off) - area.x, area.h},
		{area.x, max(area.y, s.HoleY+off), area.w, bottom - max(area.y, s.HoleY+off)},
		{area.x, area.y, area.w, min(bottom, s.HoleY-off) - area.y},
	} {
		if b.w > 0 && b.h > 0 && b.w*b.h > best.w*best.h {
			best = b
		}
	}
	return best
}

type yesNo bool

// UnmarshalCSV reads yes, no or nothing.
func (y *yesNo) UnmarshalCSV(text []byte) error {
	switch strings.ToLower(strings.TrimSpace(string(text))) {
	case "yes":
		*y = true
	case "no", "":
		*y = false
	default:
		return fmt.Errorf("%q is neither yes nor no", text)
	}
	return nil
}

// DefaultStockCSV is the table that a new house starts with.
//
//go:embed stocks.csv
var DefaultStockCSV []byte

// DefaultStock is the table of DefaultStockCSV.
var DefaultStock = sync.OnceValue(func() []Stock {
	table, err := ReadStock("stocks.csv", bytes.NewReader(DefaultStockCSV))
	if err != nil {
		panic(err) // compiled in and tested
	}
	return table
})

// maxStock bounds a table, and maxSide a page, so that a slip of the finger is a clear error and not a
// picture of gigabytes.
const (
	maxStockFile = 1 << 20 // bytes
	maxStock     = 1000
	maxSide      = 1200
)

// ReadStock reads a table of label stock, saved in any of the ways of package delimited; lines beginning with
// # are left out. An error names the file and line.
func ReadStock(name string, r io.Reader) ([]Stock, error) {
	text, err := io.ReadAll(io.LimitReader(r, maxStockFile+1))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	if len(text) > maxStockFile {
		return nil, fmt.Errorf("%s: the table is larger than %d MiB: keep the stock you have", name,
			maxStockFile>>20)
	}
	in, err := delimited.Open(bytes.NewReader(text), delimited.OrComments)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	rows := in.CSV()
	rows.FieldsPerRecord = 0 // as many as the header has
	rows.TrimLeadingSpace = in.Comma != '\t'
	decoder, err := csvutil.NewDecoder(rows)
	if errors.Is(err, io.EOF) {
		return nil, fmt.Errorf("%s: the table is empty: give it a header and one row for each sheet or roll",
			name)
	}
	if err != nil {
		return nil, stockFault(name, in.Separator(), err)
	}
	if err := hasColumns(decoder.Header()); err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	var table []Stock
	seen := make(map[string]int)
	for {
		var s Stock
		err := decoder.Decode(&s)
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, stockFault(name, in.Separator(), err)
		}
		line, _ := rows.FieldPos(0)
		if err := s.validate(); err != nil {
			return nil, fmt.Errorf("%s:%d: %w", name, line, err)
		}
		key := strings.ToLower(s.Name) // as FindStock looks for it
		if first, ok := seen[key]; ok {
			return nil, fmt.Errorf("%s:%d: name %q stands in line %d already: give this row another name",
				name, line, s.Name, first)
		}
		if len(table) == maxStock {
			return nil, fmt.Errorf("%s:%d: more than %d rows: keep the stock you have", name, line, maxStock)
		}
		seen[key] = line
		table = append(table, s)
	}
	if len(table) == 0 {
		return nil, fmt.Errorf("%s: the table is empty: give it one row for each sheet or roll", name)
	}
	return table, nil
}

// stockFault says what the CSV reader or the decoder could not read, in the words of the table.
func stockFault(name, separator string, err error) error {
	var parse *csv.ParseError
	var cell *csvutil.DecodeError
	switch {
	case errors.As(err, &parse) && errors.Is(parse.Err, csv.ErrFieldCount):
		return fmt.Errorf("%s:%d: the row has more or fewer fields than the header: put double quotes "+
			"round a field that has %s in it", name, parse.Line, separator)
	case errors.As(err, &parse):
		return fmt.Errorf("%s:%d: a quotation mark is out of place: put the whole field in double quotes "+
			"and write a double quote inside it twice", name, parse.StartLine)
	case errors.As(err, &cell) && (cell.Field == "cut" || cell.Field == "mono"):
		return fmt.Errorf("%s:%d: %s %w: type one of them", name, cell.Line, cell.Field, cell.Err)
	case errors.As(err, &cell):
		return fmt.Errorf("%s:%d: %s is not a number that it can be: type digits, and a point where a "+
			"length has a fraction", name, cell.Line, cell.Field)
	}
	return fmt.Errorf("%s: %w", name, err)
}

// hasColumns refuses a header without what every table has.
func hasColumns(header []string) error {
	columns, err := csvutil.Header(Stock{}, "csv")
	if err != nil {
		return err
	}
	var lacks []string
	for _, c := range columns {
		if !slices.Contains(header, c) && !slices.Contains(newerColumns, c) {
			lacks = append(lacks, c)
		}
	}
	if len(lacks) > 0 {
		return fmt.Errorf("the header lacks %s: the first line must be %s", strings.Join(lacks, ", "),
			strings.Join(columns, ","))
	}
	return nil
}

// FindStock looks a stock up by name.
func FindStock(table []Stock, name string) (Stock, error) {
	var names []string
	for _, s := range table {
		if strings.EqualFold(s.Name, strings.TrimSpace(name)) {
			return s, nil
		}
		names = append(names, s.Name)
	}
	return Stock{},
		fmt.Errorf("stock %q is not in the table: type one of %s", name, strings.Join(names, ", "))
}

func (s Stock) validate() error {
	if s.Name == "" || strings.ContainsAny(s.Name, " \t\n/\\") {
		return fmt.Errorf("name %q must be a word without spaces, such as a4-3x7", s.Name)
	}
	for _, f := range []struct {
		name     string
		v, least float64
	}{
		{"page_width", s.PageWidth, 10}, {"page_height", s.PageHeight, 10}, {"label_width", s.LabelWidth, 10},
		{"label_height", s.LabelHeight, 10},
		{"gap_x", s.GapX, 0}, {"gap_y", s.GapY, 0}, {"margin_left", s.MarginLeft, 0},
		{"margin_top", s.MarginTop, 0},
		{"hole", s.Hole, 0}, {"hole_x", s.HoleX, 0}, {"hole_y", s.HoleY, 0},
	} {
		if math.IsNaN(f.v) || f.v < f.least || f.v > maxSide {
			return fmt.Errorf("%s: %s is %v: type millimetres from %v to %v", s.Name, f.name, f.v, f.least,
				maxSide)
		}
	}
	if s.Columns < 1 || s.Rows < 1 || s.Columns > 50 || s.Rows > 100 {
		return fmt.Errorf("%s: %d columns and %d rows: type 1 to 50 columns and 1 to 100 rows", s.Name,
			s.Columns, s.Rows)
	}
	const slack = 0.05 // tables round to a tenth
	if wide := s.MarginLeft + float64(s.Columns)*(s.LabelWidth+s.GapX) - s.GapX; wide > s.PageWidth+slack {
		return fmt.Errorf("%s: columns, gaps and margin_left come to %.1f mm, and the page is %.1f mm wide",
			s.Name, wide, s.PageWidth)
	}
	if high := s.MarginTop + float64(s.Rows)*(s.LabelHeight+s.GapY) - s.GapY; high > s.PageHeight+slack {
		return fmt.Errorf("%s: rows, gaps and margin_top come to %.1f mm, and the page is %.1f mm high",
			s.Name, high, s.PageHeight)
	}
	if s.DPI != 0 && (s.DPI < 72 || s.DPI > 600) {
		return fmt.Errorf("%s: dpi is %d: type 72 to 600, or 0 where it is not known", s.Name, s.DPI)
	}
	if r := s.Hole / 2; s.Hole > 0 &&
		(s.HoleX < r || s.HoleY < r || s.HoleX+r > s.LabelWidth || s.HoleY+r > s.LabelHeight ||
			!s.holeAtAnEdge()) {
		return fmt.Errorf("%s: the hole of %.1f mm at %.1f, %.1f must lie in the outer third of the label, "+
			"on any side", s.Name, s.Hole, s.HoleX, s.HoleY)
	}
	return nil
}

func (s Stock) holeAtAnEdge() bool {
	r := s.Hole / 2
	return s.HoleX+r <= s.LabelWidth/3 || s.HoleX-r >= s.LabelWidth*2/3 || s.HoleY+r <= s.LabelHeight/3 ||
		s.HoleY-r >= s.LabelHeight*2/3
}

// PerSheet is the number of labels on one sheet.
func (s Stock) PerSheet() int { return s.Columns * s.Rows }

// position is the top left corner of the i-th label of a sheet, counted from 0 along the rows.
func (s Stock) position(i int) (x, y float64) {
	return s.MarginLeft + float64(i%s.Columns)*(s.LabelWidth+s.GapX), s.MarginTop +
		float64(i/s.Columns)*(s.LabelHeight+s.GapY)
}
