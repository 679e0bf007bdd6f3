package sheet

import (
	"encoding/csv"
	"io"
	"strings"
)

// formula begins what a spreadsheet would run, and separators are where one may cut a line, whatever this
// sheet is separated by: quotes around a cell do not keep its middle together for whoever cuts elsewhere.
const (
	formula    = "=+-@\t\r"
	separators = ";,|\t\r\n"
)

// Harmless is how a text stands in a cell, so that a spreadsheet does not run it, nor any piece of it between
// separators.
func Harmless(text string) string {
	return pieces(text, func(piece string) string { return "'" + piece })
}

// Plain is the text that a cell stands for: Plain(Harmless(s)) is s.
func Plain(cell string) string {
	return pieces(cell, func(piece string) string { return strings.TrimPrefix(piece, "'") })
}

// pieces changes the text at each place where a cut would leave what runs. An apostrophe cuts nothing, so the
// places stay the same.
func pieces(text string, change func(string) string) string {
	if !strings.ContainsAny(text, formula) {
		return text
	}
	var out strings.Builder
	for {
		end := strings.IndexAny(text, separators) + 1
		if runs(text) {
			text = change(text)
			end = strings.IndexAny(text, separators) + 1
		}
		if end == 0 {
			out.WriteString(text)
			return out.String()
		}
		out.WriteString(text[:end])
		text = text[end:]
	}
}

// runs says whether the text begins like a formula once quotes before it are looked past.
func runs(text string) bool {
	rest := strings.TrimLeft(text, `'"`)
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
