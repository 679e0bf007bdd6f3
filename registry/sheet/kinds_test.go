package sheet

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
	"testing"

	"github.com/stretchr/testify/require"
)

// A workbook as other programs write them: cells and rows that do not say where they stand, a number as text,
// a formula's text, and one cell behind the last column that may be.
func TestKindsOfCells(t *testing.T) {
	const main = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
	const doc = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
	const pkg = "http://schemas.openxmlformats.org/package/2006/"
	link := func(kind, target string) string {
		return fmt.Sprintf(`<Relationships xmlns="%srelationships"><Relationship Id="r1" Type="%s/%s" Target="%s"/></Relationships>`,
			pkg, doc, kind, target)
	}
	text := func(s string) string { return `<c t="inlineStr"><is><t>` + s + `</t></is></c>` }
	var file bytes.Buffer
	z := zip.NewWriter(&file)
	for name, part := range map[string]string{
		"[Content_Types].xml": fmt.Sprintf(`<Types xmlns="%scontent-types"><Default Extension="xml" `+
			`ContentType="application/xml"/><Override PartName="/xl/workbook.xml" ContentType="application/`+
			`vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/></Types>`, pkg),
		"_rels/.rels": link("officeDocument", "xl/workbook.xml"),
		"xl/workbook.xml": fmt.Sprintf(`<workbook xmlns="%s" xmlns:r="%s"><sheets><sheet name="S" sheetId="1" `+
			`r:id="r1"/></sheets></workbook>`, main, doc),
		"xl/_rels/workbook.xml.rels": link("worksheet", "/xl/worksheets/sheet1.xml"),
		"xl/worksheets/sheet1.xml": fmt.Sprintf(`<worksheet xmlns="%s"><sheetData><row>%s</row>`+
			`<row><c t="str"><f>A1</f><v>7</v></c>%s<c t="b"><v>1</v></c></row>`+
			`<row r="9"><c r="A9"><v>12</v></c><c r="XFD9"><v>3</v></c></row></sheetData></worksheet>`, main,
			text("maker")+text("serial")+text("drive"), text("0012")),
	} {
		w, err := z.Create(name)
		require.NoError(t, err)
		_, err = io.WriteString(w, part)
		require.NoError(t, err)
	}
	require.NoError(t, z.Close())
	r, err := Open(&file, func(string) bool { return true })
	require.NoError(t, err)
	cells, faults, err := r.Read()
	require.NoError(t, err)
	require.Empty(t, faults)
	require.Equal(t, []string{"7", "0012", "yes"}, cells)
	_, faults, err = r.Read()
	require.NoError(t, err)
	require.Equal(t, 9, r.Row())
	require.Contains(t, faults[len(faults)-1].Message, "columns: leave at most 500")
	_, _, err = r.Read()
	require.Equal(t, io.EOF, err)
}
