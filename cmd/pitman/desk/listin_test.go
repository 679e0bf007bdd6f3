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

// empty takes what stands in the field out of it.
func (s *seat) empty() *seat {
	for s.d.top().typing().text() != "" {
		s.press("Backspace")
	}
	return s
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

// What is not known of a list is asked, and what changed meanwhile is looked at again.
func TestListThatCannotComeInYet(t *testing.T) {
	s := sit(t, "QX")
	path := s.listFile("odd.csv", "maker,serial,drive,Bunting,Turned by\nOstermann,B12,hand,red,\n")
	s.press("m").paste(path).press("Enter")
	s.sees(`column "Bunting" is not known; in it: red`, "c   say what 2 columns hold").misses("Enter imports")
	s.press("c").sees(`In "Bunting": red`).press("Enter").sees("nothing in its first rows")
	s.press("Esc").sees(`In "Bunting": red`).typed("gold", 100).enter(600).sees(`field "gold" is not known`)
	s.empty().typed("cond", 100).enter(600).enter(600)
	s.sees("Enter imports 1 new machine", "Bunting is the condition", "Turned by is left")
	s.press("c").press("Enter").typed("note", 100).enter(600).sees("Turned by is the") // taken back
	s.press("Enter").sees("1 machine of odd.csv came in")
	path = s.listFile("odd2.csv", "maker,serial,drive,bunting\nOstermann,B14,hand,red\n")
	s.press("Esc", "m").paste(path).press("Enter").sees("bunting is the condition",
		"Enter imports 1 new machine")
	s.press("c").sees("condition").empty().press("Enter").sees("bunting is left out")
	s.press("Enter").sees("1 machine of odd2.csv came in")
	text, err := os.ReadFile(filepath.Join(s.dir, "lists", "columns.csv"))
	require.NoError(t, err)
	require.Contains(t, string(text), "\nbunting,-\n")
	require.NotContains(t, string(text), "Bunting,", "taken back")

	path = s.listFile("fine.csv", "maker,serial,drive\nOstermann,B15,hand\n")
	s.press("Esc", "m").paste("file://" + path).press("Enter").sees("Enter imports 1 new machine")
	s.add("Ostermann", "B15", registry.Hand)
	s.press("Enter").sees("the house changed", "0 new, 1 the same", "in the house already")
	for typed, says := range map[string]string{"nowhere.csv": "cannot be opened", os.DevNull: "is no file",
		string(filepath.Separator): "is no file"} {
		s.d.enter("QX")
		s.press("m").paste(typed).press("Enter").sees(says)
	}
	require.Equal(t, 3, s.held())
}

// Two rows of one serial stand side by side until somebody says what they are; that can be taken back.
func TestTwinsInAList(t *testing.T) {
	s := sit(t, "QX")
	path := s.listFile("twins.csv", "maker,serial,drive,place\nOstermann,B12,hand,loft\n"+
		"Ostermann,B12,treadle,attic\nOstermann,B13,hand,\nOstermann,B13,hand,loft\n")
	s.press("m").paste(path).press("Enter").sees("2 faults", "t   2 rows with others' serial numbers: what are they?")
	s.press("t").sees("1 of 2", "Ostermann B12 stands in row 2 and in row 3", "row 2", "drive", "hand",
		"treadle",
		"1   two machines", "2   one: leave out row 3", "3   one: leave out row 2")
	s.press("1").sees("2 of 2", "Ostermann B13").press("Esc").sees("1 of 2").press("2").press("3")
	s.sees("2 new, 0 the same, 0 changed, 0 faults", "t   take back what was said of rows")
	s.press("t").sees("1 of 2").press("Esc").sees("2 faults").press("t").press("1").press("1")
	s.sees("Enter imports 4 new machines").press("Enter").sees("4 machines of twins.csv came in")
	require.Equal(t, 4, s.held())
}

// Machines that are here take over what differs when somebody says so, and the row that names the columns is
// said where it is not sure.
func TestListThatSaysMore(t *testing.T) {
	s := sit(t, "QX")
	m := s.add("Ostermann", "B12", registry.Hand)
	path := s.listFile("more.csv", "Old list\nA,B,C,D\nOstermann,B12,hand,attic\n")
	s.press("m").paste(path).press("Enter").sees("it is not sure that row 2 names the columns")
	s.press("h").sees("row 2: A | B | C | D").empty().typed("9", 0).enter(600).
		sees("row 9 cannot name the columns").empty().typed("2", 0).enter(600)
	s.press("c")
	for _, field := range []string{"maker", "serial", "drive", "place"} {
		s.typed(field, 100).enter(600)
	}
	s.sees("0 new, 1 the same", "u   machines that are here take over").press("u")
	s.sees("0 new, 0 the same, 1 changed", "Enter imports 0 new machines, changes 1",
		"u   machines that are here keep")
	s.press("u").sees("1 the same").press("u").press("Enter").sees("0 machines of more.csv came in. 1 " +
		"changed.")
	now, err := s.d.Machine(s.d.ctx, m.Tag)
	require.NoError(t, err)
	require.Equal(t, "attic", now.Place)
}

// Bases, partners and orders come in from lists of their own.
func TestListOfOthers(t *testing.T) {
	s := sit(t, "QX")
	path := s.listFile("partners.csv", "Centre,supply\nMarsh Lane centre,\nUpper Fell school,\n")
	s.press("m").paste(path).press("Enter").sees("k   its rows are machines").press("k").press("p")
	s.sees(`column "Centre" is not known`).press("c").typed("name", 100).enter(600)
	s.sees("Enter imports 2 new partners, as QX").press("Enter")
	s.sees("2 partners of partners.csv came in", "PARTNER1", "Marsh Lane centre  row 2")
	path = s.listFile("orders.csv", "order,for,due,kind,quantity\n7,Marsh Lne centre,2032-03-01,hand,2\n"+
		"7,Marsh Lne centre,2032-03-01,treadle-set,many\n")
	s.press("Esc", "m").paste(path).press("Enter").press("k").press("o").sees("row 3, column quantity", "1 fault",
		`for: read "Marsh Lne centre" as Marsh Lane centre, in 2 rows`)
	path = s.listFile("bases.csv", "maker,pattern,opening\nBrookside Ironworks,Alder,374x181\n")
	s.d.enter("QX")
	s.press("m").paste(path).press("Enter").press("k").press("b").sees("Enter imports 1 new base").press("Enter")
	s.sees("Write these on the labels", "PM16", "Brookside Ironworks Alder").press("Esc", "u").press("Enter")
	s.sees("Undone: import")
	require.Zero(t, s.held())
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
