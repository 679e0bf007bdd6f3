package sheet

import (
	"bytes"
	"errors"
	"io"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"
)

// saved makes a workbook with these cells on its first sheet.
func saved(t *testing.T, cells map[string]any, more ...func(*excelize.File)) *bytes.Buffer {
	t.Helper()
	f := excelize.NewFile()
	for at, v := range cells {
		require.NoError(t, f.SetCellValue("Sheet1", at, v))
	}
	for _, fn := range more {
		fn(f)
	}
	var b bytes.Buffer
	_, err := f.WriteTo(&b)
	require.NoError(t, err)
	return &b
}

func TestCellsByTheirType(t *testing.T) {
	custom := "000000"
	w, err := openWorkbook(saved(t,
		map[string]any{"A1": "serial", "A2": 20417, "B2": "0042",
			"C2": time.Date(2031, 5, 4, 0, 0, 0, 0, time.UTC),
			"D2": "=1+1", "E2": 123456789012345, "F2": 1.5, "G2": "rust\non the bed", "H2": true,
			"A3": 1234567890123456, "B3": 417, "C3": "Ødegård",
			"D3": time.Date(2031, 5, 4, 13, 30, 0, 0, time.UTC), "E3": 0.1 + 0.2, "A5": "after an empty row"},
		func(f *excelize.File) {
			id, err := f.NewStyle(&excelize.Style{CustomNumFmt: &custom})
			require.NoError(t, err)
			require.NoError(t, f.SetCellStyle("Sheet1", "B3", "B3", id))
			_, err = f.NewSheet("Notes")
			require.NoError(t, err)
			require.NoError(t, f.SetCellValue("Notes", "A1", "x"))
			_, err = f.NewSheet("Empty")
			require.NoError(t, err)
		}))
	require.NoError(t, err)
	require.Equal(t, "Sheet1", w.name)
	require.Equal(t, []string{"Notes"}, w.others)
	var rows [][]string
	faults := map[int]string{}
	for {
		cells, wrong, err := w.next()
		if errors.Is(err, io.EOF) {
			break
		}
		require.NoError(t, err)
		rows = append(rows, cells)
		for i, f := range wrong {
			faults[i] = f
		}
	}
	require.Equal(t, [][]string{{"serial"},
		{"20417", "0042", "2031-05-04", "=1+1", "123456789012345", "1.5", "rust\non the bed", "yes"},
		{"", "000417", "Ødegård", "2031-05-04 13:30", "0.3"}, nil, {"after an empty row"}}, rows)
	require.Len(t, faults, 1)
	require.Contains(t, faults[0], "1234567890123456 has more than 15 digits")
}

// Number formats by ECMA-376 part 1, 18.8.30 and 18.8.31.
func TestWhichFormatsAreDays(t *testing.T) {
	for _, n := range []int{14, 17, 22, 45, 57} {
		require.True(t, styleOf(n, "").date, n)
	}
	for _, n := range []int{0, 1, 2, 9, 11, 37, 49} {
		require.False(t, styleOf(n, "").date, n)
	}
	for code, date := range map[string]bool{"yyyy\\-mm\\-dd": true, "dd/mm/yy;@": true,
		"[$-407]d. mmmm yyyy": true, "h:mm": true, `0" days"`: false,
		"[Red]0.00": false, "#,##0": false, "General": false, "@": false, "0.00E+00": false, `"y"0`: false} {
		require.Equal(t, date, styleOf(0, code).date, code)
	}
}

func TestWorkbooksThatAreNone(t *testing.T) {
	for name, text := range map[string]string{"cut short": saved(t, map[string]any{"A1": "x"}).String()[:300],
		"a zip of something else": workbookBegins +
			strings.Repeat("x", 100)} {
		_, err := openWorkbook(strings.NewReader(text))
		var fault *Fault
		require.ErrorAs(t, err, &fault, name)
		require.Contains(t, fault.Message, "none that can be read")
	}
	_, err := openWorkbook(saved(t, nil))
	require.ErrorContains(t, err, "the workbook is empty")
}

// A small file that unpacks to more than a workbook may hold.
func TestWorkbookBomb(t *testing.T) {
	if testing.Short() {
		t.Skip("it packs 80 MB")
	}
	long := strings.Repeat("=", 32_000)
	b := saved(t, nil, func(f *excelize.File) {
		sw, err := f.NewStreamWriter("Sheet1")
		require.NoError(t, err)
		for i := range 2600 {
			at, _ := excelize.CoordinatesToCellName(1, i+1)
			require.NoError(t, sw.SetRow(at, []any{long}))
		}
		require.NoError(t, sw.Flush())
	})
	require.Less(t, b.Len(), 4<<20)
	_, err := openWorkbook(b)
	require.ErrorContains(t, err, "larger than 64 MB unpacked")
}

// What a cell of a workbook has no room for is refused, not cut; the rest comes back as it was, with what
// would run.
func TestWorkbooksAreWrittenWhole(t *testing.T) {
	var b bytes.Buffer
	rows := [][]string{{"007", "=1+1", "two\nlines"}, {"'+x", " Łowe ", ""}, {"1", "a;=b", "2031-05-04"}}
	require.NoError(t, Save(&b, ".xlsx", []string{"serial", "note", "day"}, rows))
	r, err := Open(&b, func(string) bool { return true })
	require.NoError(t, err)
	for _, want := range rows {
		cells, faults, err := r.Read()
		require.NoError(t, err)
		require.Empty(t, faults)
		require.Equal(t, want, append(cells, make([]string, len(want)-len(cells))...))
	}
	err = Save(io.Discard, ".xlsx", []string{"note"},
		[][]string{{strings.Repeat("x", excelize.TotalCellChars+1)}})
	require.ErrorContains(t, err, "too long for the cell of a workbook")
}
