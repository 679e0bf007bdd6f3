package sheet

import (
	"encoding/csv"
	"io"
	"strings"
)

// formula begins what a spreadsheet would run.
const formula = "=+-@\t\r"

// Harmless is how a text stands in a cell, so that a spreadsheet does not run it.
func Harmless(text string) string {
	if runs(text) {
		return "'" + text
	}
	return text
}

// Plain is the text that a cell stands for: Plain(Harmless(s)) is s.
func Plain(cell string) string {
	if strings.HasPrefix(cell, "'") && runs(cell) {
		return cell[1:]
	}
	return cell
}

// runs says whether the text begins like a formula once apostrophes before it are looked past.
func runs(text string) bool {
	rest := strings.TrimLeft(text, "'")
	return rest != "" && strings.IndexByte(formula, rest[0]) >= 0
}

// Writer writes a sheet.
type Writer struct {
	csv   *csv.Writer
	cells []string
}

// NewWriter writes the header.
func NewWriter(to io.Writer, header []string) (*Writer, error) {
	w := &Writer{csv: csv.NewWriter(to)}
	return w, w.Write(header)
}

// Write writes one row.
func (w *Writer) Write(cells []string) error {
	w.cells = w.cells[:0]
	for _, c := range cells {
		w.cells = append(w.cells, Harmless(c))
	}
	return w.csv.Write(w.cells)
}

// Flush writes out what is buffered.
func (w *Writer) Flush() error {
	w.csv.Flush()
	return w.csv.Error()
}
