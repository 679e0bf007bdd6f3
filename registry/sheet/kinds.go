package sheet

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"path"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"
)

// kind is what a cell of a workbook says of its value: how it is typed (ECMA-376 part 1, 18.18.11) and by
// which style it is shown.
type kind struct {
	of    string
	style int
}

// kinds reads them row by row beside the values. Asked of the library cell by cell, the whole sheet would
// stand in memory at a kilobyte a cell: a file of a hundred kilobytes could take all there is.
type kinds struct {
	in    *xml.Decoder
	row   int
	cells map[int]kind
	ended bool
}

// kindsOf finds the part of a workbook that holds a sheet.
func kindsOf(file *excelize.File, name string) (*kinds, error) {
	var book struct {
		Sheets []struct {
			Name string `xml:"name,attr"`
			ID   string `xml:"http://schemas.openxmlformats.org/officeDocument/2006/relationships id,attr"`
			Also string `xml:"http://purl.oclc.org/ooxml/officeDocument/relationships id,attr"`
		} `xml:"sheets>sheet"`
	}
	var links struct {
		All []struct {
			ID     string `xml:"Id,attr"`
			Target string `xml:"Target,attr"`
		} `xml:"Relationship"`
	}
	main := "xl/workbook.xml"
	file.Pkg.Range(func(part, _ any) bool { // some programs number it
		if name, _ := part.(string); path.Dir(name) == "xl" &&
			strings.HasPrefix(path.Base(name), "workbook") &&
			path.Ext(name) == ".xml" {
			main = name
		}
		return true
	})
	for part, into := range map[string]any{main: &book, "xl/_rels/" + path.Base(main) + ".rels": &links} {
		if err := xml.Unmarshal(partOf(file, part), into); err != nil {
			return nil, err
		}
	}
	for _, s := range book.Sheets {
		for _, l := range links.All {
			if s.Name != name || l.ID != s.ID && l.ID != s.Also {
				continue
			}
			part := strings.TrimPrefix(l.Target, "/")
			if !strings.HasPrefix(part, "xl/") {
				part = path.Join("xl", part)
			}
			if text := partOf(file, part); text != nil {
				return &kinds{in: xml.NewDecoder(bytes.NewReader(text))}, nil
			}
		}
	}
	return nil, fmt.Errorf("no part of the workbook is its sheet %q", name)
}

func partOf(file *excelize.File, name string) []byte {
	part, _ := file.Pkg.Load(name)
	text, _ := part.([]byte)
	return text
}

// of returns the kinds of the cells of a row, by column; rows are asked for in their order.
func (k *kinds) of(row int) (map[int]kind, error) {
	for k.row < row && !k.ended {
		if err := k.next(); err != nil {
			return nil, err
		}
	}
	if k.row != row || k.ended {
		return nil, nil
	}
	return k.cells, nil
}

// end reads what is left, where the rows have ended.
func (k *kinds) end() error {
	for row := k.row; !k.ended; row = k.row {
		if err := k.next(); err != nil {
			return err
		}
		if !k.ended && k.row > row && len(k.cells) > 0 {
			return fmt.Errorf("row %d is behind the last", k.row)
		}
	}
	return nil
}

func (k *kinds) next() error {
	column := 0
	for {
		token, err := k.in.Token()
		if errors.Is(err, io.EOF) {
			k.ended = true
			return nil
		}
		if err != nil {
			return err
		}
		switch t := token.(type) {
		case xml.EndElement:
			if t.Name.Local == "row" {
				return nil
			}
		case xml.StartElement:
			switch at := attributes(t); t.Name.Local {
			case "row":
				k.row, k.cells, column = k.row+1, map[int]kind{}, 0
				if n, err := strconv.Atoi(at["r"]); err == nil {
					if n < k.row {
						return fmt.Errorf("row %d stands behind a later one, or twice", n)
					}
					k.row = n
				}
			case "c":
				column++
				if n, _, err := excelize.CellNameToCoordinates(at["r"]); err == nil {
					column = n
				}
				if column <= MaxColumns && k.cells != nil {
					style, _ := strconv.Atoi(at["s"])
					k.cells[column-1] = kind{at["t"], style}
				}
			}
		}
	}
}

func attributes(t xml.StartElement) map[string]string {
	all := map[string]string{}
	for _, a := range t.Attr {
		all[a.Name.Local] = a.Value
	}
	return all
}
