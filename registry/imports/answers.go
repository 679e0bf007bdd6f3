package imports

import (
	"bytes"
	"encoding/csv"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"

	"pitman/registry/lists"
	"pitman/registry/sheet"
	"pitman/registry/whole"
	"pitman/serials/delimited"
)

// columnsFile is the house's list of what columns of other people's spreadsheets hold.
const columnsFile = "columns.csv"

// Forget takes what was answered of these columns out of the list of a house; what the program knows by
// itself stays.
func Forget(house string, header []string) error {
	text, err := ownColumns(house)
	if errors.Is(err, os.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	if text, err = without(text, header); err != nil {
		return err
	}
	return whole.Write(columnsPath(house), text, 0o600)
}

// Remember adds answers to the list of a house, in place of what was answered of the same columns before.
func Remember(house string, answers []ColumnName) error {
	text, err := ownColumns(house)
	if errors.Is(err, os.ErrNotExist) {
		f, openErr := lists.Defaults().Open(columnsFile)
		if openErr != nil {
			return openErr
		}
		defer f.Close()
		text, err = io.ReadAll(f)
	}
	if err != nil {
		return err
	}
	last := map[string]int{} // of each column
	var header []string
	for i, answer := range answers {
		last[answer.Key()] = i
		header = append(header, answer.Column)
	}
	if text, err = without(text, header); err != nil {
		return err
	}
	// what is added must go on as the list was saved
	saved, err := delimited.Open(bytes.NewReader(text), delimited.OrComments)
	if err != nil {
		return err
	}
	if text, err = io.ReadAll(saved); err != nil {
		return err
	}
	var b strings.Builder
	b.Write(text)
	if len(text) > 0 && text[len(text)-1] != '\n' {
		b.WriteByte('\n')
	}
	w := csv.NewWriter(&b)
	w.Comma = saved.Comma
	for i, answer := range answers {
		if last[answer.Key()] != i {
			continue
		}
		column := answer.Column
		if strings.HasPrefix(column, "#") {
			// the blank counts for nothing, and has the heading quoted: else its line were a comment
			column = " " + column
		}
		if err := w.Write([]string{column, answer.Field}); err != nil {
			return err
		}
	}
	if w.Flush(); w.Error() != nil {
		return w.Error()
	}
	if err := os.MkdirAll(filepath.Dir(columnsPath(house)), 0o700); err != nil {
		return err
	}
	return whole.Write(columnsPath(house), []byte(b.String()), 0o600)
}

func columnsPath(house string) string { return filepath.Join(house, lists.Folder, columnsFile) }

func ownColumns(house string) ([]byte, error) { return os.ReadFile(columnsPath(house)) }

// without leaves out the lines of these columns, unless the program has them by itself.
func without(text []byte, header []string) ([]byte, error) {
	builtIn, err := lists.BuiltIn[ColumnName](columnsFile)
	if err != nil {
		return nil, err
	}
	drop := map[string]bool{}
	for _, heading := range header {
		drop[sheet.ColumnKey(heading)] = true
	}
	for _, own := range builtIn {
		delete(drop, own.Key())
	}
	return delimited.Keep(text, func(cells []string) bool {
		return len(cells) < 2 || !drop[sheet.ColumnKey(strings.TrimSpace(cells[0]))]
	})
}
