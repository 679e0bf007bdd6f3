package sheet

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// forged is a workbook whose one sheet has these rows, with further parts. (The parts of a workbook: ECMA-376
// part 1, 12.3, and part 2, 7.)
func forged(t *testing.T, rows string, more map[string]string) []byte {
	t.Helper()
	const open = "http://schemas.openxmlformats.org/"
	parts := map[string]string{
		"[Content_Types].xml": `<Types xmlns="` + open + `package/2006/content-types">` +
			`<Default Extension="xml" ContentType="application/xml"/>` +
			`<Override PartName="/xl/workbook.xml" ContentType=` +
			`"application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/></Types>`,
		"_rels/.rels": `<Relationships xmlns="` + open +
			`package/2006/relationships"><Relationship Id="rId1" Type="` +
			open + `officeDocument/2006/relationships/officeDocument" Target="xl/workbook.xml"/></Relationships>`,
		"xl/workbook.xml": `<workbook xmlns="` + open + `spreadsheetml/2006/main" xmlns:r="` + open +
			`officeDocument/2006/relationships"><sheets><sheet name="S" sheetId="1" r:id="rId1"/></sheets></workbook>`,
		"xl/_rels/workbook.xml.rels": `<Relationships xmlns="` + open + `package/2006/relationships">` +
			`<Relationship Id="rId1" Type="` + open + `officeDocument/2006/relationships/worksheet" ` +
			`Target="worksheets/sheet1.xml"/></Relationships>`,
		"xl/worksheets/sheet1.xml": `<worksheet xmlns="` + open + `spreadsheetml/2006/main"><sheetData>` +
			rows +
			`</sheetData></worksheet>`,
	}
	for name, text := range more {
		parts[name] = text
	}
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for name, text := range parts {
		w, err := z.Create(name)
		require.NoError(t, err)
		_, err = io.WriteString(w, text)
		require.NoError(t, err)
	}
	require.NoError(t, z.Close())
	return b.Bytes()
}

func text(at, says string) string {
	return fmt.Sprintf(`<c r="%s" t="inlineStr"><is><t>%s</t></is></c>`, at, says)
}

const named1 = `<row r="1"><c r="A1" t="inlineStr"><is><t>maker</t></is></c></row>`

// What is forged to take all memory or hours is refused before the library takes it apart: a part of 2 MB, or
// of 64, that packs to next to nothing, and parts without number.
func TestCrowdedWorkbooksAreRefused(t *testing.T) {
	many := map[string]string{}
	for i := range maxParts {
		many[fmt.Sprint("p", i)] = ""
	}
	for name, forgery := range map[string][]byte{
		"styles": forged(t, named1, map[string]string{"xl/styles.xml": strings.Repeat("<", maxMarks+1)}),
		"cells":  forged(t, named1+strings.Repeat("<", maxSheetMarks+1), nil),
		"parts":  forged(t, named1, many),
		"elsewhere": forged(t, named1, map[string]string{"xl/a.xml": strings.Repeat("<", maxMarks/2),
			"xl/b.xml": strings.Repeat("<", maxMarks/2+1)}),
	} {
		_, err := openWorkbook(bytes.NewReader(forgery))
		require.ErrorContains(t, err, "more in it than a list needs", name)
	}
	w, err := openWorkbook(bytes.NewReader(forged(t, named1, nil)))
	require.NoError(t, err, "the same without it is read")
	cells, _, err := w.next()
	require.NoError(t, err)
	require.Equal(t, []string{"maker"}, cells)
}

// Where a sheet cannot be read any further, that is said of the row; nothing behind it is left out in
// silence.
func TestDamagedSheetsAreFaults(t *testing.T) {
	for name, rows := range map[string]string{
		"a row before the one above it": `<row r="5">` + text("A5", "x") + `</row><row r="3">` +
			text("A3", "y") + `</row>`,
		"a row twice": `<row r="2">` + text("A2", "x") + `</row><row r="2">` +
			text("A2", "y") + `</row>`,
		"a cell nowhere":   `<row r="2"><c r="A99999999999999999999"><v>1</v></c></row>`,
		"a mark left open": `<row r="2">` + text("A2", "x") + `</row><row r="3"><c r="A3"><v>1`,
		"a stray sign":     `<row r="2">` + text("A2", "Orlop & Sons") + `</row>`,
	} {
		r, err := Open(bytes.NewReader(forged(t, named1+rows, nil)), func(string) bool { return false })
		var fault *Fault
		if errors.As(err, &fault) {
			continue
		}
		require.NoError(t, err, name)
		var all []*Fault
		for {
			_, faults, err := r.Read()
			if errors.Is(err, io.EOF) {
				break
			}
			require.NoError(t, err, name)
			all = append(all, faults...)
		}
		require.NotEmpty(t, all, name)
		last := all[len(all)-1]
		require.Contains(t, last.Message, "cannot be read from here on", name)
		require.Positive(t, last.Row, name)
	}
}
