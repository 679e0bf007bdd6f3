package sheet

import (
	"bytes"
	"errors"
	"io"
	"math/rand/v2"
	"strings"
	"testing"
	"testing/iotest"

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
		{"UTF-16", "\xff\xfem\x00a\x00k\x00e\x00r\x00\t\x00s\x00e\x00r\x00i\x00a\x00l\x00\n\x00A\x00\t\x001\x00\n\x00B\x00\t\x002\x00\n\x00"},
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
		"\"a\nb\";c;d\n":                   {"a b", "c", "d"},
		"\"a;;b;;c\",d,e\n":                {"a;;b;;c", "d", "e"},
		"\"a;b;;c;d\",e\n":                 {"a;b;;c;d", "e"},
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
	for text, want := range map[string]string{
		"x" + strings.Repeat("名", 20):  `"x` + strings.Repeat("名", 13) + `…" stands behind`,
		"xx" + strings.Repeat("名", 20): `"xx` + strings.Repeat("名", 12) + `…" stands behind`,
		strings.Repeat("x", 40):        `"` + strings.Repeat("x", 40) + `" stands behind`,
		strings.Repeat("\x81", 60):     `\xff\xff…" is text that cannot be read`,
	} {
		_, _, faults := readAll(t, "maker\nA,"+text+"\n")
		require.Len(t, faults, 1)
		assert.Contains(t, faults[0], want)
	}
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
		{"no text", "PK\x03\x04\x00\x00", []string{"row 1, column 1: the file is not plain text"}},
		{"a column without a name", "maker,é\nA,\n,,\nä,\xff\n",
			[]string{`row 4, column é: "\xff" is text that cannot be read`}},
		{"a damaged letter", "maker,serial\nMüller,1\nM\xfcller,1\n",
			[]string{`row 3, column maker: "M\xfcller" is text that cannot be read`}},
		{"a cell too many", "maker,serial\nA,1,x\nB,2,\n",
			[]string{`row 2, column 3: "x" stands behind the last column`}},
		{"quotation marks, twice", "maker,serial\nA,14\" bed\nB,2\n\"C\"D,3\n",
			[]string{"row 2, column serial: a quotation mark", "row 4, column maker: a quotation mark"}},
		{"an open quotation mark", "maker,serial\nA,\"1\nB,2\n",
			[]string{"row 2, column serial: a quotation mark"}},
		{"a huge cell", "maker,serial\n" + strings.Repeat("A", MaxCell+1) + ",1\n",
			[]string{"row 2, column maker: the cell is 10001 bytes long"}},
		{"a row without end", "maker,serial\nA,\"" + strings.Repeat("x\n", MaxRow),
			[]string{"row 2, column serial: the row is longer than 1048576 bytes"}},
		{"ten million columns", strings.Repeat("x,", 10_000_000),
			[]string{"row 1, column 501: the row is longer than 1048576 bytes"}},
		{"too many columns", strings.Repeat("x,", MaxColumns) + "x\n",
			[]string{"row 1, column 501: there are 501 columns"}},
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

// What a sheet may measure, it may measure whole: the bounds are for one cell, row or header and not for the
// file.
func TestWhatIsWithinTheBounds(t *testing.T) {
	header, _, faults := readAll(t, strings.Repeat("x,", MaxColumns-1)+"x\n")
	assert.Empty(t, faults)
	assert.Len(t, header, MaxColumns)

	cell := strings.Repeat("A", MaxCell)
	text := "maker\n" + strings.Repeat(cell+"\n", 3*MaxRow/MaxCell)
	r, err := NewReader(strings.NewReader(text))
	require.NoError(t, err)
	for range 3 * MaxRow / MaxCell {
		cells, faults, err := r.Read()
		require.NoError(t, err)
		require.Empty(t, faults)
		require.Equal(t, []string{cell}, cells)
	}
	assert.EqualValues(t, len(text), r.Bytes())

	_, rows, faults := readAll(t, "maker\n"+strings.Repeat("x,", 5000)+"\nB\n")
	assert.Len(t, faults, MaxColumns+1, "enough to know what is wrong")
	assert.Equal(t, []string{"B"}, rows[len(rows)-1].cells)
}

// A faulty cell is read as empty, so that it gives no second fault for what it says; behind a row without end
// nothing is read.
func TestWhatIsFaultyIsNotReadOn(t *testing.T) {
	_, rows, faults := readAll(t, "maker,serial\nM\x81ller,1\nA,"+strings.Repeat("1", MaxCell+1)+"\n")
	assert.Len(t, faults, 2)
	assert.Equal(t, []row{{2, []string{"", "1"}}, {3, []string{"A", ""}}}, rows)

	_, rows, faults = readAll(t, "maker,serial\nA,\""+strings.Repeat("x\n", MaxRow))
	assert.Len(t, faults, 1)
	assert.Empty(t, rows)
}

func TestAFaultOfTheDiskIsNoFaultOfTheSheet(t *testing.T) {
	broken := errors.New("disk")
	_, err := NewReader(iotest.ErrReader(broken))
	assert.ErrorIs(t, err, broken)
	rows := strings.Repeat("A\n", 1<<16)
	r, err := NewReader(io.MultiReader(strings.NewReader("maker\n"+rows), iotest.ErrReader(broken)))
	require.NoError(t, err)
	for range len(rows) {
		if _, _, err = r.Read(); err != nil {
			break
		}
	}
	assert.ErrorIs(t, err, broken)
}

// A sheet from elsewhere may hold what begins like a formula without having been made harmless.
func TestPlainTakesNothingFromOtherSheets(t *testing.T) {
	for _, text := range []string{"=1+1", "-5", "+49", "@home"} {
		assert.Equal(t, text, Plain(text))
	}
}

func TestFormulasAreMadeHarmlessAndComeBack(t *testing.T) {
	for text, cell := range map[string]string{
		"=1+1": "'=1+1", "+49 30": "'+49 30", "-": "'-", "@home": "'@home", "\tx": "'\tx", "\rx": "'\rx",
		"y;=cmd|' /C calc'!A0;z": "y;'=cmd|' /C calc'!A0;z", "a,\"=1\"": "a,'\"=1\"", "a|@b": "a|'@b",
		"1\n=2": "1\n'=2", "a; - b": "a; - b",
		"'=1": "''=1", "''@": "'''@", "'quoted'": "'quoted'", "'": "'", "": "", "plain": "plain",
		"a=b": "a=b",
	} {
		assert.Equal(t, cell, Harmless(text), "%q", text)
		assert.Equal(t, text, Plain(cell), "%q", cell)
	}
}

// Whatever the texts are, a sheet gives them back. The characters that CSV and spreadsheets treat in a way of
// their own are thrown often. CR LF inside a cell is left out: CSV readers take it for one line end.
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
	f.Add("y;=cmd|' /C calc'!A0;z")
	f.Add("a,'\"=1;\t-")
	f.Fuzz(func(t *testing.T, text string) {
		require.Equal(t, text, Plain(Harmless(text)))
		for _, piece := range strings.FieldsFunc(Harmless(text),
			func(r rune) bool { return strings.ContainsRune(separators, r) }) {
			piece = strings.TrimLeft(piece, `"`)
			require.False(t, piece != "" && strings.ContainsRune("=+-@", rune(piece[0])), "%q", text)
		}
	})
}
