package table_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/serials/table"
)

const header = "maker,prefix,first,last,from,to,model,works,source,note\n"

func TestReadTable(t *testing.T) {
	want := []table.Row{
		{Maker: "Quill", Prefix: "K", First: 1, Last: table.Known(99), From: 1920, To: 1920, Source: "a, b",
			File: "t.csv"},
		{Maker: "Quill", First: 100, From: 1921, To: 1923, Model: "Dart", Works: "North", Note: "two\nlines",
			File: "t.csv"},
	}
	lines := header + "Quill,k,1,99,1920,,,,\"a, b\",\nQuill,,100,,1921,1923,Dart,North,,\"two\nlines\"\n"
	for name, text := range map[string]string{
		"LF":   lines,
		"CRLF": strings.ReplaceAll(lines, "\n", "\r\n"),
		"BOM":  "\xef\xbb\xbf" + lines,
		"comments": "# one\n" +
			strings.Replace(lines, "Quill", "# two, with \"marks\nQuill", 1),
		"comment from a spreadsheet": "\"# one, two\",,,,,,,,,\n" + lines + ",,,,,,,,,\n",
		"no newline at the end":      strings.TrimSuffix(lines, "\n"),
		"columns in another order": "note,SOURCE, works,model,to,from,last,first,prefix,maker\n,\"a, " +
			"b\",,,,1920,99,1,K,Quill\n\"two\nlines\",,North,Dart,1923,1921,,100,,Quill",
		"blanks round values, short row": header +
			" Quill , k , 1 , 99 , 1920 , ,,,\"a, b\"\nQuill,,100,,1921,1923,Dart,North,,\"two\nlines\"\n",
	} {
		got, faults := table.Read("t.csv", strings.NewReader(text))
		require.Empty(t, faults, name)
		require.NotNil(t, got, name)
		for i := range got.Rows {
			assert.NotZero(t, got.Rows[i].Line, name)
			got.Rows[i].Line, got.Rows[i].Written = 0, ""
		}
		assert.Equal(t, want, got.Rows, name)
	}
}

func TestRowsThatCannotBeReadAreWithheldAndNamed(t *testing.T) {
	for row, want := range map[string]string{
		"Quill,,x,9,1920,1920,,,,":        `bad number: first "x" is not a number: type digits only, at most 15, without the prefix`,
		"Quill,,\"1,00\",9,1920,1920,,,,": `bad number: first "1,00" is not a number: type digits only, at most 15, without the prefix`,
		"Quill,,1.000,9,1920,1920,,,,":    `bad number: first "1.000" is not a number: type digits only, at most 15, without the prefix`,
		"Quill,,1,1.2E+06,1920,1920,,,,":  `bad number: last "1.2E+06" is not a number: type digits only, at most 15, without the prefix`,
		"Quill,,1,-9,1920,1920,,,,":       `bad number: last "-9" is not a number: type digits only, at most 15, without the prefix`,
		"Quill,,,9,1920,1920,,,,":         `missing value: first is empty: type the first number of the range, digits only`,
		"Quill,,9,1,1920,1920,,,,":        `reversed range: first 9 is greater than last 1: swap them or mend the misprint`,
		"Quill,,1,9,1921,1920,,,,":        `reversed range: from 1921 is later than to 1920: swap them or mend the misprint`,
		"Quill,,1,9,20,1920,,,,":          `bad year: from "20" is not a year: type four digits, 1700 to 2100`,
		"Quill,,1,9,,1920,,,,":            `bad year: from "" is not a year: type four digits, 1700 to 2100`,
		"Quill,,1,9,1920,c1921,,,,":       `bad year: to "c1921" is only about a year, and the row is not read: type the first year that it can be in from and the last in to`,
		"Quill,,1,9,c.1909,,,,,":          `bad year: from "c.1909" is only about a year, and the row is not read: type the first year that it can be in from and the last in to`,
		"Quill,,1,9,1909,cat,,,,":         `bad year: to "cat" is not a year: type four digits, 1700 to 2100, or leave it empty`,
		"Quill,K1,1,9,1920,1920,,,,":      `bad prefix: prefix "K1" must be letters and digits and end in a letter, or in the - or / that parts it from the number: move digits behind the last letter into first and last`,
		"Quill,K?,1,9,1920,1920,,,,":      `bad prefix: prefix "K?" must be letters and digits and end in a letter, or in the - or / that parts it from the number: move digits behind the last letter into first and last`,
		",,1,9,1920,1920,,,,":             `missing value: the row has no maker: type the maker's name`,
		"Quill,,1,9,1920,1920,,,a,b,c":    `unreadable: the row has 11 fields and the header 10: put double quotes round a field that has a comma in it`,
		"Quill,,1,9,1920,1920,,,a \"b\",": `unreadable: a quotation mark is out of place: put the whole field in double quotes and write a double quote inside it twice`,
		"Quill,,1,9,1920,1920,,,\"a,":     `unreadable: a quotation mark is out of place: put the whole field in double quotes and write a double quote inside it twice`,
		"Müller\xfc,,1,9,1920,1920,,,,":   `unreadable: a letter in the row cannot be read: save the file as CSV in UTF-8`,
		"Quill,,1,9,1920,1920,,,," +
			strings.Repeat("x",
				1001): `unreadable: a field is longer than 1000 bytes: shorten it, or close a quotation mark left open`,
	} {
		got, faults := table.Read("t.csv",
			strings.NewReader("# a comment\n"+header+"Quill,,10,19,1930,1930,,,,\n"+row+
				"\nQuill,,20,29,1931,1931,,,,\n"))
		require.NotNil(t, got, row)
		if assert.Len(t, faults, 1, row) {
			assert.Equal(t, "t.csv:4: "+want, faults[0].String())
		}
		if assert.Len(t, got.Rows, 2, "the rows round it are served: %s", row) {
			assert.Equal(t, []int{3, 5}, []int{got.Rows[0].Line, got.Rows[1].Line})
		}
	}
}

func TestFilesThatCannotBeReadAsATable(t *testing.T) {
	for text, want := range map[string]string{
		"": "t.csv:1: missing column: the file has no header: begin it with the line " +
			strings.TrimSpace(header),
		"# only a comment\n": "t.csv:1: missing column: the file has no header: begin it with the line " +
			strings.TrimSpace(header),
		"maker,\"pre\nfix,first,last": "t.csv:1: unreadable: a quotation mark is out of place: put the " +
			"whole field in double quotes and write a double quote inside it twice",
		"PK\x03\x04\x00\x00": "t.csv:1: unreadable: the file is not plain text: save it from the " +
			"spreadsheet as CSV",
		"maker,first,from\nA,1,1920": `t.csv:1: missing column: column "last" is missing: ` +
			"the first line must be " + strings.TrimSpace(header),
		strings.Repeat("x", 16<<20+1): "t.csv:1: unreadable: the file is larger than 16 MiB: split it in two",
	} {
		got, faults := table.Read("t.csv", strings.NewReader(text))
		assert.Nil(t, got)
		if assert.Len(t, faults, 1, want) {
			assert.Equal(t, want, faults[0].String())
		}
	}
	got, faults := table.Read("t.csv",
		strings.NewReader("maker,first,last,from,colour,first\nQuill,1,9,1920,red,2\n"))
	assert.Equal(t,
		[]table.Row{{Maker: "Quill", First: 1, Last: table.Known(9), From: 1920, To: 1920, File: "t.csv",
			Line: 2}},
		got.Rows)
	assert.Equal(t, []string{
		`t.csv:1: unknown column: column "colour" is not known and is not read: use maker, prefix, first, last, from, to, model, works, source, note`,
		`t.csv:1: unknown column: column "first" stands twice: delete one of the two`,
	}, texts(faults))
}

func texts(faults []table.Fault) (out []string) {
	for _, f := range faults {
		out = append(out, f.String())
	}
	return out
}

// However a spreadsheet saves it, a table says the same; a comment in it is one cell of a row, in quotation
// marks where it needs them.
func TestATableMayBeSavedAnyWay(t *testing.T) {
	want, faults := table.Read("t.csv",
		strings.NewReader("# ours, \n"+header+"Müller,K,1000,1234567,1920,1921,,,\"a; b\",\n"))
	require.Empty(t, faults)
	require.Len(t, want.Rows, 1)
	semicolons := "\"# ours; \";;;;;;;;;\n" + strings.ReplaceAll(header, ",", ";") +
		"Müller;K;1,000;1\u202f234\u202f567;1920;1921;;;\"a; b\";\n"
	latin := strings.NewReplacer("ü", "\xfc", "\u202f", "\xa0").Replace(semicolons)
	wide := "\xff\xfe"
	for _, r := range strings.ReplaceAll(semicolons, "1,000", "1'000") {
		wide += string([]byte{byte(r), byte(r >> 8)})
	}
	for name, text := range map[string]string{
		"semicolons": semicolons,
		"tabs": "# ours\n" + strings.ReplaceAll(header, ",", "\t") +
			"Müller\tK\t\"1,000\"\t1 234 567\t1920\t1921\t\t\ta; b\n",
		"Windows-1252": latin,
		"UTF-16":       wide,
	} {
		got, faults := table.Read("t.csv", strings.NewReader(text))
		require.Empty(t, faults, name)
		assert.Equal(t, want.Rows, got.Rows, name)
	}
}

func TestHostileFilesStayBounded(t *testing.T) {
	_, faults := table.Read("t.csv", strings.NewReader(header+strings.Repeat("x\n", 1_000_000)))
	require.Equal(t, 1000+1, len(faults), "and one that counts the rest")
	assert.Contains(t, faults[1000].Message, "999000 more faults follow in this file")
	got, faults := table.Read("t.csv", strings.NewReader(header+strings.Repeat("\"a\n\"b\n", 500_000)))
	assert.Equal(t, 20+2, len(faults), "one for each time that reading starts anew")
	assert.Empty(t, got.Rows)
	got, faults = table.Read("t.csv", strings.NewReader(header+strings.Repeat("A,,1,,1900\n",
		table.MaxRows+1)))
	assert.Equal(t, table.MaxRows, len(got.Rows))
	assert.Contains(t, faults[0].Message, "more than 200000 rows")
}

// A row that was read is written and read again as the same; in a file with its zeros, too.
func FuzzReadRow(f *testing.F) {
	f.Add("Quill,K,1,99,1920,,Dart,North,\"a, b\",note")
	f.Add("Quill,,100,,1921,1923,,,,\"two\nlines\"")
	f.Add("#,,,,,,,,,")
	f.Add("Quill,K,1,09,1920")
	f.Add("Quill,K,001,2000,1920")
	f.Fuzz(func(t *testing.T, line string) {
		row, ok := table.ReadRow(line)
		if !ok {
			return
		}
		again, ok := table.ReadRow(row.CSV())
		require.True(t, ok, "%q became %q", line, row.CSV())
		whole, faults := table.Read("", strings.NewReader(table.File([]table.Row{row})))
		require.Empty(t, faults, "%q", line)
		require.Len(t, whole.Rows, 1, "%q", line)
		row.Line, again.Line, whole.Rows[0].Line = 0, 0, 0
		require.Equal(t, row, whole.Rows[0], "%q", line)
		row.Padded, again.Padded = false, false
		require.Equal(t, row, again, "%q", line)
	})
}
