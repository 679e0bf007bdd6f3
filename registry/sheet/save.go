package sheet

import (
	"io"

	"github.com/xuri/excelize/v2"
)

// Save writes a sheet as CSV, or as a workbook where the form is .xlsx. In a workbook every cell holds text,
// so that none is run and no number loses its zeros.
func Save(to io.Writer, form string, header []string, rows [][]string) error {
	if form != ".xlsx" {
		w, err := NewWriter(to, header)
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
	book := excelize.NewFile()
	defer book.Close()
	out, err := book.NewStreamWriter("Sheet1")
	if err != nil {
		return err
	}
	for i, cells := range append([][]string{header}, rows...) {
		at, err := excelize.CoordinatesToCellName(1, i+1)
		if err != nil {
			return err
		}
		row := make([]any, len(cells))
		for j, c := range cells {
			row[j] = c
		}
		if err := out.SetRow(at, row); err != nil {
			return err
		}
	}
	if err := out.Flush(); err != nil {
		return err
	}
	return book.Write(to)
}
