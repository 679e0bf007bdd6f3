package sheet

import (
	"io"

	"github.com/xuri/excelize/v2"

	"pitman/registry"
)

// Rows takes the rows of a sheet; nothing is sure to be written before Flush.
type Rows interface {
	Write(cells []string) error
	Flush() error
}

// NewRows writes the header of a sheet: CSV, or a workbook where the form is .xlsx.
func NewRows(to io.Writer, form string, header []string) (Rows, error) {
	if form != ".xlsx" {
		return NewWriter(to, header)
	}
	return newBook(to, header)
}

// Save writes a sheet of rows that are all here.
func Save(to io.Writer, form string, header []string, rows [][]string) error {
	w, err := NewRows(to, form, header)
	if err != nil {
		return err
	}
	for _, cells := range rows {
		if err := w.Write(cells); err != nil {
			return err
		}
	}
	return w.Flush()
}

// book writes a workbook. Every cell holds text, so that none is run and no number loses its zeros; what
// would run after somebody edits it stands as it does in CSV, and comes in again the same.
type book struct {
	to   io.Writer
	file *excelize.File
	out  *excelize.StreamWriter
	rows int
	row  []any
}

func newBook(to io.Writer, header []string) (*book, error) {
	b := &book{to: to, file: excelize.NewFile()}
	var err error
	if b.out, err = b.file.NewStreamWriter("Sheet1"); err != nil {
		return nil, err
	}
	return b, b.Write(header)
}

// Write writes one row.
func (b *book) Write(cells []string) error {
	if b.rows++; b.rows > excelize.TotalRows {
		return registry.Errorf(registry.Invalid, "a workbook has room for %d rows: write them as CSV",
			excelize.TotalRows)
	}
	at, err := excelize.CoordinatesToCellName(1, b.rows)
	if err != nil {
		return err
	}
	b.row = b.row[:0]
	for _, c := range cells {
		if c = Harmless(c); len(c) > excelize.TotalCellChars { // what is longer would be cut
			return registry.Errorf(registry.Invalid,
				"row %d has %q in it, too long for the cell of a workbook: "+
					"write them as CSV", b.rows, begin(c))
		}
		b.row = append(b.row, c)
	}
	return b.out.SetRow(at, b.row)
}

// Flush writes the file.
func (b *book) Flush() error {
	if err := b.out.Flush(); err != nil {
		return err
	}
	if err := b.file.Write(b.to); err != nil {
		return err
	}
	return b.file.Close()
}
