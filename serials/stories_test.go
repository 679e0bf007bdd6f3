package serials_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/serials"
	"pitman/serials/series"
	"pitman/serials/stamp"
	"pitman/serials/table"
	"pitman/serials/years"
)

// What went wrong in workshops, each as it was told. The tables are invented but for the published ones.

func TestAWornLeadingFigureClaimsNoYear(t *testing.T) {
	two := tables(t, "Quill,,1,1000,1900,1900,,,,", "Quill,,1001,2000,1901,1901,,,,")
	a := date(t, two, serials.Query{Maker: "Quill", Serial: "?500"})
	assert.Equal(t, "1901 or later", a.Year())
	assert.Equal(t, "  8 of the 9 possible serials stand in no row of the tables", a.Lines()[1], "said first")
	assert.Equal(t, 1, strings.Count(strings.Join(a.Lines(), "\n"), "stand in no row"), "and once")
	assert.InDelta(t, 8./9, a.Outside, 1e-12)
	assertShares(t, []series.Share{{Year: 1901, Share: 1}}, a.Shares, "of the readings that the table knows")
	require.Len(t, a.Years, 1)
	assert.InDelta(t, 1./9, a.Years[0].P, 1e-12)
	assert.Equal(t, [2]years.Year{1901, 0}, a.Interval80)
	assert.Zero(t, a.Best)

	// Source: Cooper 1968, Appendix II: 1200000 lies in the rows of 1875 and 1876, which overlap by a
	// misprint; the others lie beyond.
	a = date(t, starterTables(t), serials.Query{Maker: "Wheeler & Wilson", Serial: "?200000"})
	assert.Equal(t, "1875 or later", a.Year())
	assert.InDelta(t, 8./9, a.Outside, 1e-12)
}

func TestAgreeingRowsAreNoClash(t *testing.T) {
	a := date(t, tables(t, "Quill,,1,1000,1900,1901,,,,", "Quill,,1,500,1900,1900,,,,"),
		serials.Query{Maker: "Quill", Serial: "250"})
	assert.Equal(t, "1900", a.Year())
	assert.Empty(t, a.Conflicts)
	once := tables(t, "Quill,,100,199,1900,1900,,,a,", "Quill,,200,299,1901,1901,,,a,")
	twice := files(t,
		map[string][]string{"a.csv": {"Quill,,100,199,1900,1900,,,a,", "Quill,,200,299,1901,1901,,,a,"},
			"b.csv": {"Quill,,100,199,1900,1900,,,b,"}})
	q := serials.Query{Maker: "Quill", Serial: "?50"}
	assert.Equal(t, date(t, once, q).Shares, date(t, twice, q).Shares, "a row in two files counts once")
}

// Source: Cooper 1968, fig. 128: the No. 8 began a new series of numbers in 1876, whose records are lost.
func TestASecondSeriesHasNumbersOfItsOwn(t *testing.T) {
	for model, want := range map[string]string{"": "about 1859", "No. 8": "1876 or later",
		"no 8": "1876 or later", "8": "1876 or later", "No. 3": "about 1859"} {
		a := date(t, starterTables(t), serials.Query{Maker: "Wheeler & Wilson", Serial: "35000",
			Model: model})
		assert.Equal(t, want, a.Year(), model)
		assert.False(t, a.Contradicted)
	}
	a := date(t, starterTables(t),
		serials.Query{Maker: "Wheeler & Wilson", Serial: "35000", Model: "No. 8", PatentDates: []int{1880},
			Seen: []int{1890}})
	assert.Equal(t, "1880–1890", a.Year())
}

func TestMarksOfWornFigures(t *testing.T) {
	for typed, want := range map[string]string{"KA73---": "KA73???", "KA73___": "KA73???", "KA--12": "KA??12",
		"KA73 - - 1": "KA73??1",
		"KA-73":      "KA73", "57-12345": "5712345", "KA73-": "KA73", "12—3": "123"} {
		assert.Equal(t, want, stamp.Normalise(typed), typed)
		ka := tables(t, "Quill,KA,73000,73999,1900,1900,,,,", "Quill,KA,1,99,1890,1890,,,,")
		quick, err := ka.Estimate("Quill", typed)
		require.NoError(t, err)
		assert.Equal(t, date(t, ka, serials.Query{Maker: "Quill", Serial: typed}).Estimate, quick,
			"the quick way reads the same: %s", typed)
	}
	for _, typed := range []string{"KA73...", "KA73…", "..73"} {
		assert.ErrorContains(t, stamp.CheckSerial(typed), "type one ? for each character")
		_, err := starterTables(t).Estimate("Bartholf", typed)
		assert.Error(t, err)
	}
	assert.ErrorContains(t, stamp.CheckSerial("---"), "the serial is empty")
}

// With only a clue, or a maker whose years of making are known, a machine still gets a year.
func TestCluesAlone(t *testing.T) {
	clues, faults := table.Read("clues.csv", strings.NewReader("maker,mark,from,to,part,reliability,source\n"+
		"Fenn,badge red round,1900,1909,head,90 %,a list\nFenn,badge blue,1905,,head,,\n(all makers),motor "+
		"stamp Z,1908,1912,motor,0.5,\nFenn,production,1895,1920,,0.9,a history\n"))
	require.Empty(t, faults)
	rows, faults := table.Read("t.csv",
		strings.NewReader(firstLine+"Fenn,,1,99,1901,1904,,,,\nFenn,,200,299,1909,1909,,,,\n"))
	require.Empty(t, faults)
	all := serials.NewTables(rows, clues)

	a := date(t, all, serials.Query{Serial: stamp.None, Maker: "Fenn", Clues: []string{"red round"}})
	assert.Equal(t, "about 1905", a.Year())
	assert.Equal(t, years.Estimate{Best: a.Best, Basis: years.Evidence}, a.Estimate, "a clue removes no year")
	sum := a.Outside
	for _, c := range a.Years {
		sum += c.P
	}
	assert.InDelta(t, 1, sum, 1e-9)

	// Hard bounds stay as they are; the likelihood moves.
	plain := date(t, all, serials.Query{Serial: "50", Maker: "Fenn"})
	a = date(t, all, serials.Query{Serial: "50", Maker: "Fenn", Clues: []string{"motor stamp Z"}})
	assert.Equal(t, years.Span{From: plain.From, To: plain.To}, years.Span{From: a.From, To: a.To})
	a = date(t, all,
		serials.Query{Serial: "50", Maker: "Fenn",
			Clues: []string{"red round", "red round", "badge red round"}})
	assert.Equal(t, answered(date(t, all, serials.Query{Serial: "50", Maker: "Fenn",
		Clues: []string{"red round"}})),
		answered(a), "one mark counts once")

	a = date(t, all, serials.Query{Serial: stamp.None, Maker: "Fenn", Clues: []string{"badge"}})
	assert.Contains(t, strings.Join(a.Notes, "\n"),
		`clue "badge" can be badge blue, badge red round: say which`)
	a = date(t, all, serials.Query{Serial: stamp.None, Maker: "Fenn", Clues: []string{"decal"}})
	assert.Contains(t, strings.Join(a.Notes, "\n"),
		`clue "decal" is in no table of marks, so it says nothing; there are badge blue`)

	_, faults = table.Read("clues.csv",
		strings.NewReader("maker,mark,from,to,part,reliability,source\n,x,1900,,,,\nFenn,,1900,,,,\nFenn,x,,,,,\nFenn,x,19,,,,\nFenn,x,1910,1900,,,\nFenn,x,1900,,,2,\n"))
	assert.Len(t, faults, 6)
}

// Source of the one: Cooper 1968, list of makers: Atlantic, 1869 to about 1870.
func TestAMakerWithoutATable(t *testing.T) {
	a := date(t, starterTables(t), serials.Query{Serial: "123", Maker: "Atlantic"})
	assert.Contains(t, []string{"about 1869", "about 1870"}, a.Year())
	assert.False(t, a.Contradicted)
}

func TestABadgeThatTwoMakersShareIsAsked(t *testing.T) {
	badges, faults := table.Read("makers.csv",
		strings.NewReader("maker,spelling\nQuill,Lark\nFenn,Lark\nQuill,Kwill\n,x\n"))
	require.Len(t, faults, 1)
	rows, faults := table.Read("t.csv",
		strings.NewReader(firstLine+"Fenn,,1,99,1901,1901,,,,\nQuill,,1,99,1909,1909,,,,\n"))
	require.Empty(t, faults)
	all := serials.NewTables(rows, badges)
	a := date(t, all, serials.Query{Serial: "12", Maker: "lark"})
	assert.Equal(t, []string{"lark is on machines of Fenn and Quill: say which maker it is"}, a.Notes)
	assert.Equal(t, "1909", date(t, all, serials.Query{Serial: "12", Maker: "KWILL"}).Year())
}

func TestContradictionIsNotUnknown(t *testing.T) {
	old := tables(t, "Quill,B,229000,231000,1909,1909,,,,")
	a := date(t, old, serials.Query{Maker: "Quill", Serial: "B230000", Seen: []int{1900}})
	assert.Equal(t, "contradicted", a.Year())
	assert.True(t, a.Contradicted)
	a = date(t, old, serials.Query{Maker: "Quill", Serial: "C1"})
	assert.Equal(t, "unknown", a.Year())
	assert.False(t, a.Contradicted)
}

// A person's answer settles a contradiction, and what spoke against it stays in view.
func TestAPersonAnswersAContradiction(t *testing.T) {
	old := tables(t, "Quill,B,229000,231000,1909,1909,,,a list,")
	a := date(t, old,
		serials.Query{Maker: "Quill", Serial: "B230000", Seen: []int{1900}, Told: 1907,
			Because: "works ledger"})
	assert.Equal(t, years.Estimate{From: 1907, To: 1907, Best: 1907, Basis: years.Told}, a.Estimate)
	assert.Empty(t, a.Conflicts)
	assert.Contains(t, strings.Join(a.Notes, "\n"), "settled by hand: not before 1909")
	assert.Contains(t, a.Notes, "1907 is known: works ledger")
	require.Len(t, a.Years, 1)
	assert.Equal(t, 1., a.Years[0].P)
}

func TestARowGoesOutAndIn(t *testing.T) {
	for _, line := range []string{`"Quill, Sons",K,1,99,1900,1904,Dart,North,"a ""book""",approximate`,
		"Quill,,7,,1900,1900,,,,", "Quill,,,,1900,1901,Wren,,,"} {
		r, ok := table.ReadRow(line)
		require.True(t, ok, line)
		assert.Equal(t, line, r.CSV())
	}
	_, ok := table.ReadRow("Quill,,x,,1900,,,,,")
	assert.False(t, ok)
}

// A table of years yet to come cannot be right of a machine that is here.
func TestAMachineIsNoYoungerThanToday(t *testing.T) {
	late := tables(t, "Quill,,1,99,2090,2095,,,,", "Quill,,100,199,2020,2095,,,,")
	a := date(t, late, serials.Query{Maker: "Quill", Serial: "50", Here: 2026})
	assert.Equal(t, "contradicted", a.Year())
	assert.Contains(t, a.Bounds, serials.Bound{serials.NotAfter, 2026, "it is here in 2026"})
	assert.Equal(t, "contradicted", date(t, late, serials.Query{Maker: "Quill", Serial: "5?",
		Here: 2026}).Year())
	assert.Equal(t, "2020–2095", date(t, late, serials.Query{Maker: "Quill", Serial: "150",
		Here: 2026}).Year())
	assert.Equal(t, years.Told,
		date(t, late, serials.Query{Maker: "Quill", Serial: "50", Here: 2026, Told: 1907,
			Because: "a ledger"}).Basis)
}
