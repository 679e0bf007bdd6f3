package sqlite_test

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/binary"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/registrytest"
	"pitman/registry/sqlite"
	"pitman/registry/stock"
)

// dump is all that a registry file holds, as text; an error if it cannot be read through.
func dump(path string) (string, error) {
	db, err := sql.Open("sqlite3", "file:"+path+"?mode=ro&immutable=1")
	if err != nil {
		return "", err
	}
	defer db.Close()
	var out strings.Builder
	tables, err := column(db,
		"SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'machine\\_text%' "+
			"ESCAPE '\\' ORDER BY name")
	if err != nil {
		return "", err
	}
	for _, table := range append([]string{"sqlite_schema"}, tables...) {
		rows, err := db.Query("SELECT * FROM " + table)
		if err != nil {
			return "", err
		}
		names, err := rows.Columns()
		if err != nil {
			return "", err
		}
		var lines []string
		for rows.Next() {
			cells := make([]any, len(names))
			for i := range cells {
				cells[i] = new(any)
			}
			if err := rows.Scan(cells...); err != nil {
				return "", err
			}
			var line strings.Builder
			for i, c := range cells {
				if names[i] == "rootpage" {
					continue // where it stands in the file is no data
				}
				fmt.Fprintf(&line, "%v|", *c.(*any))
			}
			lines = append(lines, line.String())
		}
		if err := rows.Err(); err != nil {
			return "", err
		}
		slices.Sort(lines)
		fmt.Fprintf(&out, "%s\n%s\n", table, strings.Join(lines, "\n"))
	}
	return out.String(), nil
}

func column(db *sql.DB, query string) (out []string, err error) {
	rows, err := db.Query(query)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var s string
		if err := rows.Scan(&s); err != nil {
			return nil, err
		}
		out = append(out, s)
	}
	return out, rows.Err()
}

// Each of 400 flipped bits, 120 of them on each change, that changes what the file holds is noticed: it cannot
// be opened, or verify names it.
func TestFlippedBitsAreNoticed(t *testing.T) {
	flips := 400
	if os.Getenv("NIGHTLY") == "" {
		flips = 120
	}
	w := registrytest.Workshop(t)
	for i := range 40 {
		m := stock.Machine{Maker: "Tamarisk", Serial: fmt.Sprint("T", i), Drive: registry.Hand,
			Donor: "Ines Vale",
			Place: fmt.Sprint("bay ", i%7), Note: strings.Repeat("drawer key inside ", i%5)}
		require.NoError(t, w.Log(registrytest.Ctx, "QX", &m, false))
		_, err := w.Amend(registrytest.Ctx, "MB", m.Tag, "", func(m *stock.Machine) error {
			m.Condition = "runs freely"
			return nil
		})
		require.NoError(t, err)
	}
	_, err := w.Undo(registrytest.Ctx, "MB")
	require.NoError(t, err)
	path := filepath.Join(t.TempDir(), "whole.db")
	require.NoError(t, w.Store.(*sqlite.DB).CopyTo(registrytest.Ctx, path))
	leaveFreePages(t, path)
	whole, err := os.ReadFile(path)
	require.NoError(t, err)
	before, err := dump(path)
	require.NoError(t, err)
	dice := rand.New(rand.NewPCG(18, 400))
	changed, always := 0, false
	flip := func(what string, at int, bit byte) {
		hurt := slices.Clone(whole)
		hurt[at] ^= bit
		flipped := filepath.Join(t.TempDir(), "flipped.db")
		require.NoError(t, os.WriteFile(flipped, hurt, 0o600))
		after, err := dump(flipped)
		if err == nil && after == before && !always {
			return
		}
		changed++
		db, err := sqlite.Inspect(flipped)
		if err != nil {
			return
		}
		faults, err := db.Verify(context.Background(), "PM", nil)
		require.NoError(t, db.Close())
		if err == nil && len(faults) == 0 {
			assert.Fail(t, "not noticed", "%s, byte %d, bit %x: %s", what, at, bit, difference(before, after))
		}
	}
	for n := range flips {
		flip(fmt.Sprint("flip ", n), dice.IntN(len(whole)), byte(1)<<dice.IntN(8))
	}
	t.Logf("%d of %d flips changed what the file holds", changed, flips)
	assert.GreaterOrEqual(t, changed, flips/30, "most of a file is pages without data")

	// What chance may leave out: https://www.sqlite.org/fileformat2.html parts a file so.
	size := int(binary.BigEndian.Uint16(whole[16:]))
	for at := 16; at < 100; at += 12 {
		flip("the file's header", at, 1<<dice.IntN(8))
	}
	each := max(1, len(whole)/size/8)
	if os.Getenv("NIGHTLY") != "" {
		each = 1
	}
	for page := 1; page < len(whole)/size; page += each {
		flip("a page's header", page*size+dice.IntN(8), 1<<dice.IntN(8))
		flip("a page's cell pointers", page*size+8+dice.IntN(8), 1<<dice.IntN(8))
	}
	// What is written next goes to a page that is free, so a flip in the list of those is noticed though no
	// data is changed yet.
	trunk := int(binary.BigEndian.Uint32(whole[32:])) - 1
	require.Greater(t, trunk, 0, "no page is free")
	leaves := int(binary.BigEndian.Uint32(whole[trunk*size+4:]))
	require.Greater(t, leaves, 0)
	always = true
	for at := 32; at < 40; at++ {
		flip("where the list of free pages begins, and how many there are", at, 1<<dice.IntN(8))
	}
	for at := range 8 + 4*leaves {
		// the lower half of a number may lead to another page, which SQLite does not tell
		if at < 8 || at%4 < 2 {
			flip("the list of free pages", trunk*size+at, 1<<dice.IntN(8))
		}
	}
	always = false
	flip("a free page", int(binary.BigEndian.Uint32(whole[trunk*size+8:])-1)*size+dice.IntN(size),
		1<<dice.IntN(8))
	// The action that undoes another has its number between why, which is empty, and where it was done.
	row := bytes.Index(whole, []byte("MBundo")) + len("MBundo")
	require.Greater(t, row, 6)
	was := changed
	for bit := range 8 {
		flip("what an action undoes", row, 1<<bit)
	}
	assert.Equal(t, was+8, changed, "each bit of the number is data")
	for _, text := range []string{"CREATE TRIGGER", "INTEGER", "QXlog", "MBamend", "QX2031"} {
		before, from := changed, 0
		for changed == before { // what was there once may still lie in a page's unused part
			at := bytes.Index(whole[from:], []byte(text))
			if !assert.GreaterOrEqual(t, at, 0, "no flip of %q changed anything", text) {
				break
			}
			at += from
			from = at + len(text)
			for i := -6; i < len(text); i += 3 { // the serial types of the row stand before its first text
				flip(fmt.Sprintf("%q", text), at+i, 1<<dice.IntN(8))
			}
		}
	}
}

// leaveFreePages makes some pages of the file free, the first of which lists the others.
func leaveFreePages(t *testing.T, path string) {
	t.Helper()
	db := registrytest.Raw(t, path)
	for _, text := range []string{"PRAGMA journal_mode = DELETE", "CREATE TABLE gone (x)",
		"INSERT INTO gone VALUES (zeroblob (50000))", "DROP TABLE gone"} {
		_, err := db.Exec(text)
		require.NoError(t, err)
	}
	require.NoError(t, db.Close())
}

// difference is the first line that is another.
func difference(a, b string) string {
	there := strings.Split(b, "\n")
	for i, line := range strings.Split(a, "\n") {
		if i >= len(there) || there[i] != line {
			return fmt.Sprintf("%q, not %q", there[min(i, len(there)-1)], line)
		}
	}
	return "more lines"
}
