package serials_test

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/serials"
	"pitman/serials/table"
	"pitman/serials/years"
)

func TestAFileThatCannotBeReadDoesNotStopTheOthers(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600))
	}
	write("good.csv", firstLine+"Quill,,1,9,1920,1920,,,,\n")
	write("bad.csv", "\x00")
	write("notes.txt", "not a table")
	write(".~lock.good.csv", "a spreadsheet's lock")
	write("UPPER.CSV", firstLine+"Fenn,,1,9,1930,1930,,,,\n")
	require.NoError(t, os.Mkdir(filepath.Join(dir, "folder.csv"), 0o700))
	require.NoError(t, os.Symlink("nowhere", filepath.Join(dir, "link.csv")))
	tables, err := serials.LoadDir(dir)
	require.NoError(t, err)
	assert.Equal(t, []string{"Fenn", "Quill"}, tables.Makers())
	var wrong []string
	for _, f := range tables.Check() {
		wrong = append(wrong, f.File)
	}
	assert.Equal(t, []string{"bad.csv", "folder.csv", "link.csv"}, wrong)

	write("rows.csv", firstLine+"Fenn,,1,9,c.1930,,,,,\nFenn,,10,19,1931,1931,,,,\n")
	write("none.csv", firstLine+"Fenn,,1,9,c.1930,,,,,\n")
	write("colour.csv", strings.TrimSpace(firstLine)+",colour\nFenn,,1,9,1930,1930,,,,,red\n")
	tables, err = serials.LoadDir(dir)
	require.NoError(t, err)
	var unread []string
	for _, u := range tables.Unread() {
		unread = append(unread, fmt.Sprint(u.File, " ", u.Whole, " ", u.Rows))
	}
	assert.Equal(t,
		[]string{"bad.csv true 0", "folder.csv true 0", "link.csv true 0", "none.csv true 1",
			"rows.csv false 1"}, unread)
	assert.Contains(t, tables.Unread()[4].String(),
		`the table rows.csv is read without line 2: from "c.1930" is only about a year`)

	_, err = serials.LoadDir(filepath.Join(dir, "missing"))
	assert.ErrorIs(t, err, os.ErrNotExist)
}

// A house's own file stands for the starter of that name: nothing of the embedded one shines through.
func TestTheFolderWinsOverTheStarters(t *testing.T) {
	mine := fstest.MapFS{"cooper-1968.csv": {Data: []byte(firstLine +
		"Bartholf,,101,235,1899,1899,,,my own,\n")}}
	tables, err := serials.LoadFS(mine)
	require.NoError(t, err)
	assert.Equal(t, years.Year(1899), date(t, tables, serials.Query{Maker: "Bartholf", Serial: "128"}).Best)
	assert.Equal(t, []string{"Bartholf"}, tables.Makers())
}

// For every row of every published table: both ends and the middle lie in its years, whatever else holds
// them.
func TestEveryPublishedRow(t *testing.T) {
	tables := starterTables(t)
	rows := 0
	for _, file := range tables.Files() {
		for _, r := range file.Rows {
			rows++
			numbers := []uint64{r.First}
			if r.Last.Known {
				numbers = append(numbers, r.First+(r.Last.N-r.First)/2, r.Last.N)
			}
			for _, n := range numbers {
				serial := r.Prefix + strconv.FormatUint(n, 10)
				a := date(t, tables, serials.Query{Maker: r.Maker, Serial: serial})
				assert.True(t, a.From <= r.From && r.To <= a.To, "%s %s: %+v, row %s", r.Maker, serial,
					a.Estimate, r.Years())
				at := slices.IndexFunc(a.Rows, func(h serials.Hit) bool { return h.Row() == r })
				require.GreaterOrEqual(t, at, 0, "%s %s: row %s", r.Maker, serial, r.Years())
				h := a.Rows[at]
				assert.Equal(t, []any{r.File, r.Line, r.First, r.Last, r.From, r.To, r.Source},
					[]any{h.File, h.Line, h.First, h.Last, h.From, h.To, h.Source})
			}
		}
	}
	assert.Equal(t, 102+47, rows)
}

// Files of older spreadsheets end their lines in a carriage return alone.
func TestATableOfCarriageReturns(t *testing.T) {
	rows, faults := table.Read("t.csv",
		strings.NewReader(strings.NewReplacer(",", ";", "\n", "\r").Replace(firstLine+
			"Quill,,1,9,1920,1920,,,,\n")))
	require.Empty(t, faults)
	require.Len(t, rows.Rows, 1)
}
