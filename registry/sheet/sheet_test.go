package sheet

import (
	"bytes"
	"io"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

type row struct {
	n     int
	cells []string
}

func readAll(t *testing.T, text string) (header []string, rows []row, faults []string) {
	t.Helper()
	r, err := NewReader(strings.NewReader(text))
	if err != nil {
		return nil, nil, []string{err.Error()}
	}
	for {
		cells, found, err := r.Read()
		if err == io.EOF {
			return r.Header(), rows, faults
		}
		require.NoError(t, err)
		for _, f := range found {
			faults = append(faults, f.Error())
		}
		if cells != nil {
			rows = append(rows, row{r.Row(), append([]string(nil), cells...)})
		}
	}
}

func TestWhatSpreadsheetsSave(t *testing.T) {
	for _, c := range []struct{ name, text string }{
		{"commas", "maker,serial\nA,1\nB,2\n"},
		{"CRLF and a byte-order mark", "\ufeffmaker,serial\r\nA,1\r\nB,2\r\n"},
		{"semicolons", "maker;serial\nA;1\nB;2"},
		{"tabs", "maker\tserial\nA\t1\nB\t2"},
		{"quotation marks", "\"maker\",\"serial\"\n\"A\",\"1\"\n\"B\",\"2\"\n"},
		{"blanks round the names", " maker , serial\nA,1\nB,2\n"},
	} {
		t.Run(c.name, func(t *testing.T) {
			header, rows, faults := readAll(t, c.text)
			assert.Empty(t, faults)
			assert.Equal(t, []string{"maker", "serial"}, header)
			assert.Equal(t, []row{{2, []string{"A", "1"}}, {3, []string{"B", "2"}}}, rows)
		})
	}
}

// What stands in quotation marks parts no cells, and between two as frequent ones the comma does.
func TestTheHeaderSaysWhatPartsItsCells(t *testing.T) {
	for text, want := range map[string][]string{
		"\"serial; with; prefix\",maker\n": {"serial; with; prefix", "maker"},
		"maker,place;shelf\n":              {"maker", "place;shelf"},
		"maker\n":                          {"maker"},
		"a,b;c;d\n":                        {"a,b", "c", "d"},
		"a;b\n1,2,3,4;5\n":                 {"a", "b"},
	} {
		header, _, faults := readAll(t, text)
		assert.Empty(t, faults, "%q", text)
		assert.Equal(t, want, header, "%q", text)
	}
}

// Two long headings may differ only at their ends, and --map names them as they stand in the file.
func TestLongHeadingsStayWhole(t *testing.T) {
	question := "What stands on the bed or on the badge of the machine, if you can read it"
	header, _, faults := readAll(t, "\""+question+" (maker)\",\""+question+" (model)\"\n")
	assert.Empty(t, faults)
	assert.Equal(t, []string{question + " (maker)", question + " (model)"}, header)
}

func TestFaultsShowWholeLetters(t *testing.T) {
	_, _, faults := readAll(t, "maker\nA,x"+strings.Repeat("名", 20)+"\n")
	require.Len(t, faults, 1)
	assert.Contains(t, faults[0], `"x`+strings.Repeat("名", 13)+`…" stands behind`)
}

func TestRowsCountAsTheSpreadsheetCountsThem(t *testing.T) {
	_, rows, faults := readAll(t, "maker,note\nA,\"two\nlines\"\n\n,\nB,\"x\r\ny\r\nz\"\nC,1\n")
	assert.Empty(t, faults)
	var n []int
	for _, r := range rows {
		n = append(n, r.n)
	}
	assert.Equal(t, []int{2, 5, 6}, n, "a cell of several lines is one row; empty rows count")
}

func TestFaultsNameRowAndColumn(t *testing.T) {
	for _, c := range []struct {
		name, text string
		want       []string
	}{
		{"nothing", "", []string{"row 1, column 1: the file is empty"}},
		{"UTF-16", "\xff\xfem\x00", []string{"row 1, column 1: the file is UTF-16"}},
		{"not UTF-8", "maker,serial\nM\xfcller,1\n", []string{`row 2, column maker: "M\xfcller" is not UTF-8`}},
		{"a cell too many", "maker,serial\nA,1,x\nB,2,\n", []string{`row 2, column 3: "x" stands behind the last column`}},
		{"quotation marks, twice", "maker,serial\nA,14\" bed\nB,2\n\"C\"D,3\n",
			[]string{"row 2, column serial: a quotation mark", "row 4, column maker: a quotation mark"}},
		{"an open quotation mark", "maker,serial\nA,\"1\nB,2\n", []string{"row 2, column serial: a quotation mark"}},
		{"a huge cell", "maker,serial\n" + strings.Repeat("A", MaxCell+1) + ",1\n", []string{"row 2, column maker: the cell is 10001 bytes long"}},
		{"a row without end", "maker,serial\nA,\"" + strings.Repeat("x\n", MaxRow), []string{"row 2, column "}},
		{"ten million columns", strings.Repeat("x,", 10_000_000), []string{"row 1, column "}},
		{"too many columns", strings.Repeat("x,", MaxColumns) + "x\n", []string{"row 1, column 501: there are 501 columns"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, _, faults := readAll(t, c.text)
			require.Len(t, faults, len(c.want), faults)
			for i := range c.want {
				assert.Contains(t, faults[i], c.want[i])
				assert.Less(t, len(faults[i]), 300)
			}
		})
	}
}

func TestFormulasAreMadeHarmlessAndComeBack(t *testing.T) {
	for text, cell := range map[string]string{
		"=1+1": "'=1+1", "+49 30": "'+49 30", "-": "'-", "@home": "'@home", "\tx": "'\tx", "\rx": "'\rx",
		"'=1": "''=1", "''@": "'''@", "'quoted'": "'quoted'", "'": "'", "": "", "plain": "plain", "a=b": "a=b",
	} {
		assert.Equal(t, cell, Harmless(text), "%q", text)
		assert.Equal(t, text, Plain(cell), "%q", cell)
	}
}

// Whatever the texts are, a sheet gives them back. The characters that CSV and spreadsheets treat in a way of their own are thrown often.
// CR LF inside a cell is left out: CSV readers take it for one line end.
func TestRoundTrip(t *testing.T) {
	dice := rand.New(rand.NewPCG(3, 1415))
	letters := []rune("=+-@\t\r\"',;\n ab7ß名\U0001f9f5")
	text := func() string {
		var b strings.Builder
		for range dice.IntN(6) {
			b.WriteRune(letters[dice.IntN(len(letters))])
		}
		return strings.ReplaceAll(b.String(), "\r\n", "x\n")
	}
	for range 2000 {
		rows := make([][]string, 1+dice.IntN(4))
		for i := range rows {
			rows[i] = []string{"x", text(), text(), text()}
		}
		var file bytes.Buffer
		w, err := NewWriter(&file, []string{"key", "a", "b", "c"})
		require.NoError(t, err)
		for _, r := range rows {
			require.NoError(t, w.Write(r))
		}
		require.NoError(t, w.Flush())
		_, back, faults := readAll(t, file.String())
		require.Empty(t, faults)
		require.Len(t, back, len(rows))
		for i := range rows {
			require.Equal(t, rows[i], back[i].cells)
		}
	}
}

func FuzzReader(f *testing.F) {
	f.Add([]byte("maker,serial\nA,1\n"))
	f.Add([]byte("\ufeffmaker;serial\r\n\"A;\"\"\";1\r\n\r\n'=x;2"))
	f.Add([]byte("a\tb\n\x00\t\xff\n\"\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		r, err := NewReader(bytes.NewReader(text))
		if err != nil {
			var fault *Fault
			require.ErrorAs(t, err, &fault)
			return
		}
		last := r.Row()
		for {
			cells, faults, err := r.Read()
			if err == io.EOF {
				return
			}
			require.NoError(t, err)
			require.Greater(t, r.Row(), last, "each row has a number of its own")
			last = r.Row()
			require.True(t, cells != nil || len(faults) > 0)
		}
	})
}

func FuzzHarmless(f *testing.F) {
	f.Add("'=1")
	f.Fuzz(func(t *testing.T, text string) {
		require.Equal(t, text, Plain(Harmless(text)))
		require.False(t, Harmless(text) != "" && strings.ContainsRune(formula, rune(Harmless(text)[0])))
	})
}
