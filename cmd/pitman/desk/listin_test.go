package desk

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/stock"
)

// listFile saves a list beside the house.
func (s *seat) listFile(name, text string) string {
	s.Helper()
	path := filepath.Join(filepath.Dir(s.dir), name)
	require.NoError(s, os.WriteFile(path, []byte(text), 0o600))
	return path
}

// held is how many machines the house has.
func (s *seat) held() (n int) {
	s.Helper()
	require.NoError(s, s.d.Store.View(s.d.ctx, func(r stock.Reader) error {
		return r.Machines(stock.MachineFilter{}, func(*stock.Machine) error { n++; return nil })
	}))
	return n
}

// paste puts text into the field at once, as a window does.
func (s *seat) paste(text string) *seat {
	s.d.Paste(true)
	s.typed(text, 0)
	s.d.Paste(false)
	return s
}

// A list comes in by the Enter of a page that says what will happen, and goes again by one undo.
func TestListComesIn(t *testing.T) {
	s := sit(t, "QX")
	s.add("Harrow & Finch", "K7", registry.Hand)
	// Semicolons, Windows-1252 and a title above the header
	path := s.listFile("their list.csv", "Caf\xe9 list 2031\n\nmaker;serial;drive\nHarrow & Finch;K7;hand\n"+
		"Ostermann;B12;treddle\nOstermann;B13;treddle\nOstermnn;B14;hand\n")
	s.press("m").paste("'" + path + "'").press("Enter")
	s.sees("Import their list.csv", "1 new, 1 the same, 0 changed, 2 faults", "Nothing of it can come in",
		`drive: read "treddle" as treadle, in 2 rows`, `maker: read "Ostermnn" as Ostermann, in 1 row`,
		"row 5, column drive", "cells parted by semicolons; saved as Windows-1252", "named in row 3",
		"Columns: maker, serial, drive")
	s.press("Enter").misses("Enter imports")
	s.press("2").sees("3 new, 1 the same, 0 changed, 0 faults", "Enter imports 3 new machines, as QX",
		`"treddle" is read as treadle`)
	s.press("1").sees(`"Ostermnn" is read as Ostermann`).press("1").sees(`read "Ostermnn" as`).press("1")
	s.typed("Enter", 100).enter(100)
	require.Equal(t, 1, s.held(), "that Enter ended a word")
	s.d.enter("QX")
	s.press("m").paste(path).press("Enter", "2", "1").press("Enter")
	s.sees("Write these on the labels", "PM24", "Ostermann B14  row 7",
		"3 machines of their list.csv came in")
	require.Equal(t, 4, s.held())
	s.press("Esc", "u").sees("It is this: import").press("Enter").sees("Undone: import")
	require.Equal(t, 1, s.held())
}

// What is not known of a list leads to the command that asks, and what changed meanwhile is looked at again.
func TestListThatCannotComeInYet(t *testing.T) {
	s := sit(t, "QX")
	path := s.listFile("odd.csv", "maker,serial,drive,Bunting\nOstermann,B12,hand,red\n")
	s.press("m").paste(path).press("Enter")
	s.sees(`column "Bunting" is not known; in it: red`, "In a terminal, this asks", "pitman import")
	path = s.listFile("fine.csv", "maker,serial,drive\nOstermann,B12,hand\n")
	s.press("Esc", "m").paste("file://" + path).press("Enter").sees("Enter imports 1 new machine")
	s.add("Ostermann", "B12", registry.Hand)
	s.press("Enter").sees("the house changed", "0 new, 1 the same", "in the house already")
	for typed, says := range map[string]string{"nowhere.csv": "cannot be opened", os.DevNull: "is no file",
		filepath.Dir(path): "is no file"} {
		s.d.enter("QX")
		s.press("m").paste(typed).press("Enter").sees(says)
	}
	require.Equal(t, 1, s.held())
}

// It is the same line by line.
func TestListLineByLine(t *testing.T) {
	s := sit(t, "QX")
	path := s.listFile("fine.csv", "maker,serial,drive\nOstermann,B12,hand\nOstermann,B13,treddle\n")
	out := s.linesOf("m", path, "1", "", "", "q")
	require.Contains(t, out, "1 new, 0 the same, 0 changed, 1 fault")
	require.Contains(t, out, "2 machines of fine.csv came in")
	require.Equal(t, 2, s.held())
}

// The commands that the page shows take a path as it is.
func TestPathsAsTheyAreTyped(t *testing.T) {
	for typed, path := range map[string]string{` "/a/b c.csv" `: "/a/b c.csv", "'/a/b.csv'": "/a/b.csv",
		"file:///a/b%20c.csv": "/a/b c.csv", "/a/b.csv": "/a/b.csv", `/a/b\ c.csv`: "/a/b c.csv"} {
		require.Equal(t, filepath.FromSlash(path), pathTyped(typed), typed)
	}
	require.Equal(t, `'/a/it'\''s $(x).csv'`, quotedPath("/a/it's $(x).csv"))
}
