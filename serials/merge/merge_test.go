package merge_test

import (
	"fmt"
	"math/rand"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/serials"
	"pitman/serials/merge"
	"pitman/serials/table"
	"pitman/serials/years"
)

func read(t *testing.T, name string, lines ...string) *table.Table {
	t.Helper()
	one, faults := table.Read(name,
		strings.NewReader(strings.Join(table.Columns, ",")+"\n"+strings.Join(lines, "\n")+"\n"))
	require.Empty(t, faults)
	return one
}

func said(rows []table.Row) (lines []string) {
	for _, r := range rows {
		lines = append(lines, r.CSV())
	}
	return lines
}

func TestMerge(t *testing.T) {
	a := read(t, "a.csv", "Quill & Sons,,1,1000,1900,1901,,,one book,",
		"Quill & Sons,,1001,2000,1902,1902,,,one book,")
	b := read(t, "b.csv", "quill and sons,,1,500,1900,1900,,,another,",
		"quill and sons,,1501,2500,1903,1903,,,another,rough")
	rows, differ, _ := merge.Tables(a, b, "")
	assert.Equal(t, []string{
		`Quill & Sons,,1,500,1900,1900,,,one book; another,"a.csv:2 says 1900–1901, b.csv:2 says 1900"`,
		"Quill & Sons,,501,1000,1900,1901,,,one book,",
		"Quill & Sons,,1001,1500,1902,1902,,,one book,",
		"Quill & Sons,,1501,2000,1902,1902,,,one book,",
		"Quill & Sons,,1501,2000,1903,1903,,,another,rough",
		"Quill & Sons,,2001,2500,1903,1903,,,another,rough",
	}, said(rows))
	var says []string
	for _, d := range differ {
		says = append(says, d.Says())
	}
	assert.Equal(t, []string{
		"Quill & Sons 1–500: 1900–1901 (a.csv:2), 1900 (b.csv:2): they agree on 1900",
		"Quill & Sons 1501–2000: 1902 (a.csv:3), 1903 (b.csv:3): no year agrees with both, and both are " +
			"kept",
	}, says)

	rows, differ, _ = merge.Tables(a, b, "b.csv")
	assert.Equal(t,
		`Quill & Sons,,1501,2000,1903,1903,,,another,"rough; a.csv:3 says 1902, b.csv:3 says 1903"`,
		rows[3].CSV())
	assert.Contains(t, differ[1].Says(), "no year agrees with both; the merged row says 1903")
}

// Rows without a last number, without numbers, of several works and models, and a table beside itself.
func TestMergeOfOddRows(t *testing.T) {
	a := read(t, "a.csv", "Fenn,K,1,,1900,1900,,,x,", "Fenn,K,500,,1905,1905,,,x,",
		"Fenn,,,,1890,1899,Dart,,x,",
		"Fenn,Q,1,99,1901,1901,,North,x,", "Fenn,Q,1,99,1907,1907,,South,x,", "Fenn,Z,1,99,1908,1908,,,x,")
	b := read(t, "b.csv", "Fenn,K,400,600,1904,1904,,,y,", "Fenn,,,,1892,1902,Dart,,y,",
		"Fenn,Z,1,99,1908,1908,Dart,,y,",
		"Fenn,K,1,,1900,1900,,,x,")
	rows, differ, _ := merge.Tables(a, b, "")
	assert.Equal(t, []string{
		`Fenn,,,,1892,1899,Dart,,x; y,"a.csv:4 says 1890–1899, b.csv:3 says 1892–1902"`,
		"Fenn,K,1,,1900,1900,,,x,",
		"Fenn,K,400,600,1904,1904,,,y,",
		"Fenn,Q,1,99,1901,1901,,North,x,",
		"Fenn,Q,1,99,1907,1907,,South,x,",
		"Fenn,Z,1,99,1908,1908,Dart,,x; y,",
	}, said(rows))
	require.Len(t, differ, 2)
	assert.Equal(t, "Fenn K500 onwards: 1905 (a.csv:3), 1904 (b.csv:2): an open row, left out for rows that "+
		"hold its first number", differ[0].Says())

	rows, differ, _ = merge.Tables(a, a, "")
	assert.ElementsMatch(t, said(a.Rows), said(rows))
	assert.Empty(t, differ)
}

// The merged table leaves to each number the years that the two leave together, in whichever order they are
// merged and however their rows are shuffled; the check finds no number in two rows of it.
func TestMergedSaysWhatBothSay(t *testing.T) {
	rnd := rand.New(rand.NewSource(5))
	random := func(name string) *table.Table {
		var lines []string
		first, year := 1, 1900
		for range 1 + rnd.Intn(6) {
			last := first + rnd.Intn(20)
			lines = append(lines,
				fmt.Sprintf("Fenn,,%d,%d,%d,%d,,,%s,", first, last, year, year+rnd.Intn(3), name))
			first, year = last+1+rnd.Intn(2)*rnd.Intn(9), year+1+rnd.Intn(2)
		}
		rnd.Shuffle(len(lines), func(i, j int) { lines[i], lines[j] = lines[j], lines[i] })
		return read(t, name, lines...)
	}
	for range 20 {
		a, b := random("a.csv"), random("b.csv")
		rows, differ, _ := merge.Tables(a, b, "")
		back, again, _ := merge.Tables(b, a, "")
		for i := range rows {
			assert.Equal(t, [...]any{rows[i].Numbers(), rows[i].Years()},
				[...]any{back[i].Numbers(), back[i].Years()})
		}
		require.Len(t, again, len(differ))
		both, one := serials.NewTables(a, b), serials.NewTables(&table.Table{Name: "m.csv", Rows: rows})
		for n := range 160 {
			want, err := both.Estimate("Fenn", fmt.Sprint(n))
			require.NoError(t, err)
			got, err := one.Estimate("Fenn", fmt.Sprint(n))
			require.NoError(t, err)
			require.Equal(t, years.Span{From: want.From, To: want.To}, years.Span{From: got.From, To: got.To},
				"%d of %v and %v", n, said(a.Rows), said(b.Rows))
		}
		clash := slices.ContainsFunc(differ, func(d merge.Difference) bool { return d.Clash })
		believed, _, _ := merge.Tables(a, b, "b.csv")
		for i, m := range [][]table.Row{rows, believed} {
			for _, f := range serials.NewTables(&table.Table{Name: "m.csv", Rows: m}).Check() {
				require.True(t, i == 0 && clash && f.Kind == table.Repeated || f.Kind == table.Gap ||
					f.Kind == table.Backwards, f.String())
			}
		}
	}
}

func TestALongCellIsCut(t *testing.T) {
	long := strings.Repeat("é", 400)
	rows, _, _ := merge.Tables(read(t, "a.csv", "Fenn,,1,9,1900,1900,,,x,"+long), read(t, "b.csv",
		"Fenn,,1,9,1900,1900,,,x,b"+long), "")
	require.Len(t, rows, 1)
	_, ok := table.ReadRow(rows[0].CSV())
	assert.True(t, ok)
}

func TestNestedRowsDoNotFillTheMemory(t *testing.T) {
	var nested []string
	for i := range 2000 {
		nested = append(nested, fmt.Sprintf("Fenn,,%d,%d,%d,,,,s%d,", i+1, 10_000-i, 1850+i%90, i))
	}
	_, _, ok := merge.Tables(read(t, "a.csv", nested...), read(t, "b.csv", "Fenn,,1,9,1900,1900,,,x,"), "")
	assert.False(t, ok)
}
