package main

import (
	"bytes"
	"encoding/csv"
	"errors"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"pitman/registry/exchange"
	"pitman/registry/house"
	"pitman/registry/lists"
	"pitman/registry/sheet"
	"pitman/registry/whole"
	"pitman/serials/delimited"
)

const columnsFile = "columns.csv"

// forgetColumns takes the answers of this file's columns out of the house's own list.
func forgetColumns(d *workplace, file *os.File) error {
	known, err := d.Lists.Exchange.Columns()
	if err != nil {
		return err
	}
	r, err := sheet.Open(file, exchange.KnownHeading(nil, known))
	if err != nil {
		return nil // it is told when the file is read
	}
	given, err := builtInHeadings()
	if err != nil {
		return err
	}
	path := filepath.Join(d.house.Dir, lists.Folder, columnsFile)
	text, err := os.ReadFile(path)
	if errors.Is(err, os.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	var kept strings.Builder
	for line := range strings.Lines(string(text)) {
		cells, err := csv.NewReader(strings.NewReader(line)).Read()
		if err == nil && len(cells) > 1 && !given[exchange.ColumnKey(cells[0])] &&
			slices.ContainsFunc(r.Header(),
				func(h string) bool {
					return exchange.ColumnKey(h) == exchange.ColumnKey(strings.TrimSpace(cells[0]))
				}) {
			continue
		}
		kept.WriteString(line)
	}
	if err := whole.Write(path, []byte(kept.String()), 0o600); err != nil {
		return err
	}
	again, err := house.Open(d.house.Dir)
	if err == nil {
		d.Lists = again.Lists
	}
	return err
}

// builtInHeadings are the headings that the program's own list knows.
func builtInHeadings() (map[string]bool, error) {
	f, err := lists.Defaults().Open(columnsFile)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	in := csv.NewReader(f)
	in.FieldsPerRecord, in.Comment = -1, '#'
	rows, err := in.ReadAll()
	headings := map[string]bool{}
	for _, row := range rows {
		headings[exchange.ColumnKey(row[0])] = true
	}
	return headings, err
}

// rememberColumns adds the answers to the house's own list.
func rememberColumns(dir string, answers []exchange.ColumnName) error {
	path := filepath.Join(dir, lists.Folder, columnsFile)
	text, err := os.ReadFile(path)
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
	for _, answer := range answers {
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
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return err
	}
	return whole.Write(path, []byte(b.String()), 0o600)
}
