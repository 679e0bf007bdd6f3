package serials_test

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/serials"
	"pitman/serials/stamp"
	"pitman/serials/table"
	"pitman/serials/years"
)

func starterTables(t testing.TB) *serials.Tables {
	t.Helper()
	tables, err := serials.LoadFS(serials.Starters())
	require.NoError(t, err)
	return tables
}

// tables reads one table from lines without their header.
func tables(t testing.TB, lines ...string) *serials.Tables {
	t.Helper()
	return files(t, map[string][]string{"t.csv": lines})
}

func files(t testing.TB, all map[string][]string) *serials.Tables {
	t.Helper()
	var list []*table.Table
	for _, name := range sortedKeys(all) {
		rows, faults := table.Read(name,
			strings.NewReader(strings.Join(table.Columns, ",")+"\n"+strings.Join(all[name], "\n")))
		require.Empty(t, faults)
		list = append(list, rows)
	}
	return serials.NewTables(list...)
}

func date(t testing.TB, tables *serials.Tables, q serials.Query) serials.Answer {
	t.Helper()
	a, err := tables.Date(q)
	require.NoError(t, err)
	return a
}

// vectors reads published figures. Where the collection that they were copied from lies beside the checkout,
// the copy has to be the same to the byte, so that no slip in copying stands in test and table alike.
func vectors(t testing.TB, name string) [][]string {
	t.Helper()
	kept, err := os.ReadFile("testdata/" + name)
	require.NoError(t, err)
	if original, err := os.ReadFile("../../shared/reference/" + name); err == nil {
		require.Equal(t, string(original), string(kept), name)
	}
	rows, err := csv.NewReader(bytes.NewReader(kept)).ReadAll()
	require.NoError(t, err)
	return rows[1:]
}

func atoi(t testing.TB, s string) int {
	t.Helper()
	n, err := strconv.Atoi(s)
	require.NoError(t, err)
	return n
}

// Source: Grace Rogers Cooper, The Invention of the Sewing Machine, Smithsonian Bulletin 254, 1968, Appendix
// II: the first and last number of every year as printed, two misprints among them.
func TestHandbookEnds(t *testing.T) {
	tables := starterTables(t)
	// The two misprints of the printed table put these three ends into two rows each.
	clash := map[string]years.Estimate{
		"181161":  {From: 1864, To: 1865, Basis: years.Overlap},
		"1138304": {From: 1875, To: 1876, Basis: years.Overlap},
		"1247300": {From: 1875, To: 1876, Basis: years.Overlap},
	}
	rows := vectors(t, "handbook-serials.csv")
	require.Len(t, rows, 102)
	clashes := 0
	for _, r := range rows {
		year := years.Year(atoi(t, r[3]))
		for _, serial := range r[1:3] {
			want := years.Estimate{From: year, To: year, Best: year, Basis: years.Range}
			if c, ok := clash[serial]; ok && r[0] == "Wheeler & Wilson" {
				want = c
				clashes++
			}
			a := date(t, tables, serials.Query{Maker: r[0], Serial: serial})
			assert.Equal(t, want, a.Estimate, "%s %s", r[0], serial)
			assert.Equal(t, want.Basis == years.Overlap, len(a.Conflicts) == 1, "%s %s: %v", r[0], serial,
				a.Conflicts)
			quick, err := tables.Estimate(r[0], serial)
			require.NoError(t, err)
			assert.Equal(t, want, quick)
		}
	}
	assert.Equal(t, 4, clashes, "181161 is printed twice")
	for _, r := range vectors(t, "handbook-serials-more.csv") {
		year := years.Year(atoi(t, r[3]))
		for _, serial := range r[1:3] {
			if serial != "" { // the end of two ranges is printed as ?
				assert.Equal(t, years.Estimate{From: year, To: year, Best: year, Basis: years.Range},
					date(t, tables, serials.Query{Maker: r[0], Serial: serial}).Estimate, "%s %s", r[0],
					serial)
			}
		}
	}
}

// Source: machines that Cooper 1968, Smithsonian Bulletin 254, shows with number and year; the figures stand
// in the file. They are captions, most of them "about", so the year must be left possible. Where the appendix
// has a row for the number, the year of the caption is the row's.
func TestHandbookMachines(t *testing.T) {
	says := map[string]string{"Bartholf 128": "about 1853", "Beckwith 706": "about 1871",
		"Wheeler & Wilson 670974": "about 1872",
		"Willcox & Gibbs 296572":  "1876 or later", // two years past the last row
		"Hunt & Webster 414":      "about 1855", "Hunt & Webster 1497": "about 1858"}
	rows := vectors(t, "handbook-dated-machines.csv")
	require.Len(t, rows, 14)
	for _, r := range rows {
		machine, year := r[0]+" "+r[1], years.Year(atoi(t, r[2]))
		a := date(t, starterTables(t), serials.Query{Maker: r[0], Serial: r[1]})
		_, possible := years.Span{From: year, To: year}.Meet(years.Span{From: a.From, To: a.To})
		assert.True(t, possible, "%s is of %d: %s", machine, year, a.Year())
		if want := says[machine]; want != "" {
			assert.Equal(t, machine+": "+want, a.Lines()[0])
			assert.Contains(t, a.Lines()[len(a.Lines())-1], "Smithsonian Bulletin 254")
			delete(says, machine)
		} else {
			assert.Empty(t, a.Rows, machine)
		}
	}
	assert.Empty(t, says)
	// Source: the same, fig. 101: the firm's later name.
	assert.Equal(t, "about 1858",
		date(t, starterTables(t), serials.Query{Maker: "Ladd, Webster & Co.", Serial: "1497"}).Year())
}

// Source: U.S. Patent and Trademark Office, Table of Issue Years and Patent Numbers; 1904–1919 and 1936–1959
// by the volume labels of the Official Gazette and a published patent chart, 1955 from memory.
func TestPatentFirstNumbers(t *testing.T) {
	tables := starterTables(t)
	rows := vectors(t, "patent-first-numbers.csv")
	for i, r := range rows {
		year := years.Year(atoi(t, r[0]))
		for column, prefix := range map[int]string{1: "", 2: "D", 3: "RE"} {
			if r[column] == "" {
				continue
			}
			first := atoi(t, r[column])
			a := date(t, tables, serials.Query{Serial: stamp.None, Patents: []string{prefix + r[column]}})
			assert.Equal(t, years.Estimate{From: year, Basis: years.Evidence}, a.Estimate, "%s%d", prefix,
				first)
			if i == 0 || rows[i-1][column] == "" || atoi(t, rows[i-1][0]) != int(year)-1 {
				continue
			}
			a = date(t, tables, serials.Query{Serial: stamp.None,
				Patents: []string{prefix + strconv.Itoa(first-1)}})
			assert.Equal(t, years.Estimate{From: year - 1, Basis: years.Evidence}, a.Estimate, "%s%d", prefix,
				first-1)
		}
	}
}

// Source: the patentCity project's notes on dating German patents; approximate, so each answer is a year
// wider.
func TestGermanPatents(t *testing.T) {
	for _, r := range vectors(t, "patent-first-numbers-german.csv") {
		a := date(t, starterTables(t), serials.Query{Serial: stamp.None, Patents: []string{"DRP " + r[1]}})
		assert.Equal(t, years.Estimate{From: years.Year(atoi(t, r[0])) - 1, Basis: years.Evidence},
			a.Estimate, r[1])
	}
}

// Source: printed dates of single patents, as each row of the file names them.
func TestDatedPatents(t *testing.T) {
	for _, r := range vectors(t, "patents-dated.csv") {
		year := years.Year(atoi(t, r[2][:4]))
		a := date(t, starterTables(t),
			serials.Query{Serial: stamp.None,
				Patents: []string{map[string]string{"design": "D", "reissue": "RE"}[r[0]] + r[1]}})
		assert.Equal(t, years.Estimate{From: year, Basis: years.Evidence}, a.Estimate, r[1])
	}
}

func TestANumberThatIsNoPatent(t *testing.T) {
	for _, typed := range []string{"D.R.G.M. 123456", "DRGM Nr. 5"} {
		_, err := starterTables(t).Date(serials.Query{Serial: stamp.None, Patents: []string{typed}})
		assert.ErrorContains(t, err,
			"is the number of a registered design (D.R.G.M.), which is no patent: leave it out")
	}
	a := date(t, starterTables(t), serials.Query{Serial: stamp.None, Patents: []string{"GB 12345"}})
	assert.Empty(t, a.Bounds)
	assert.Contains(t, a.Notes[0], "give the year too, such as GB 12345/1890")
	_, err := starterTables(t).Date(serials.Query{Serial: stamp.None, Patents: []string{"GB 12345/1849"}})
	assert.ErrorContains(t, err, "British numbers with a year began in 1852")
	for _, q := range []serials.Query{{Serial: stamp.None, PatentDates: []int{2027}, Now: 2026},
		{Serial: stamp.None, Seen: []int{2027}, Now: 2026}} {
		_, err := starterTables(t).Date(q)
		assert.ErrorContains(t, err, "2027 is yet to come: type a year up to 2026")
	}
}

// A house of an earlier version keeps its patents among its serial numbers, and they go on counting.
func TestPatentsKeptAsSerialNumbers(t *testing.T) {
	older, err := serials.LoadDir("testdata/older")
	require.NoError(t, err)
	assert.Empty(t, older.Check())
	assert.Empty(t, older.Makers())
	a := date(t, older, serials.Query{Serial: stamp.None, Patents: []string{"D20439"}})
	assert.Equal(t, []serials.Bound{{serials.NotBefore, 1891,
		"patent D20439 was issued in 1891 (us-patents.csv:155)"}},
		a.Bounds)
	a = date(t, older, serials.Query{Serial: stamp.None, Patents: []string{"800000"}})
	assert.Equal(t,
		[]serials.Bound{{serials.NotBefore, 1903,
			"patent 800000 was issued between 1903 and 1919 (us-patents.csv:74)"}},
		a.Bounds)
}

func TestPatents(t *testing.T) {
	for _, c := range []struct {
		typed  string
		year   years.Year
		reason string
	}{
		{"800000", 1905, "patent 800000 was issued in 1905 (us-patents.csv:78)"},
		{"2,000,000", 1935, "patent 2000000 was issued in 1935 (us-patents.csv:108)"},
		{"5000000", 1975, "patent 5000000 was issued in 1975 or later (us-patents.csv:148)"},
		{"Pat. No. 1,300,000", 1919, "patent 1300000 was issued in 1919 (us-patents.csv:92)"},
		{"Des. 20439", 1891, "patent D20439 was issued in 1891 (us-patents.csv:197)"},
		{"d-20439", 1891, "patent D20439 was issued in 1891 (us-patents.csv:197)"},
		{"Reissue 6831", 1876, "patent RE6831 was issued in 1876 (us-patents.csv:250)"},
		{"re 12000@bed", 1902,
			"patent RE12000 on the bed was issued between 1902 and 1923 (us-patents.csv:276)"},
		{"110@ARM", 1837, "patent 110 on the arm was issued in 1837 (us-patents.csv:10)"},
		{"US 208,838", 1878, "patent 208838 was issued in 1878 (us-patents.csv:51)"},
		{"Design 45000", 1913, "patent D45000 was issued between 1913 and 1914 (us-patents.csv:281)"},
		{"D.R.P. Nr. 8461", 1879,
			"German patent 8461 was issued between 1879 and 1881 (german-patents.csv:7)"},
		{"drp 400000", 1919, "German patent 400000 was issued in 1919 or later (german-patents.csv:47)"},
		{"GB 12345/1890", 1890, "British patent 12345 of 1890 was issued in 1890"},
		{"British 1890/12,345", 1890, "British patent 12345 of 1890 was issued in 1890"},
		{"GB 123456", 1916, "British patent 123456 was issued in 1916 or later (british-patents.csv:4)"},
	} {
		a := date(t, starterTables(t), serials.Query{Serial: stamp.None, Patents: []string{c.typed}})
		assert.Equal(t, []serials.Bound{{serials.NotBefore, c.year, c.reason}}, a.Bounds, c.typed)
	}

	// On a part that can be replaced it is told but does not bind.
	a := date(t, starterTables(t),
		serials.Query{Serial: "670974", Maker: "Wheeler & Wilson", Patents: []string{"1300000@slide plate"}})
	assert.Equal(t, years.Estimate{From: 1872, To: 1872, Best: 1872, Basis: years.Range}, a.Estimate)
	assert.Empty(t, a.Bounds)
	assert.Contains(t, strings.Join(a.Notes, "\n"), "patent 1300000 on the slide plate was issued in 1919")

	for _, bad := range []string{"", "X123", "12?4", "D", "12A", "0", "@bed", "1234567890123456", "-5",
		"12/1890", "DRP 5/1890", "1 23"} {
		_, err := starterTables(t).Date(serials.Query{Serial: stamp.None, Patents: []string{bad}})
		var input *stamp.InputError
		require.ErrorAs(t, err, &input, bad)
		assert.Contains(t, err.Error(), "is not a patent number: type the digits", bad)
	}
	a = date(t, tables(t, "Quill,,1,9,1920,1920,,,,"),
		serials.Query{Serial: stamp.None, Patents: []string{"123"}})
	assert.Equal(t, []string{"patent 123: there is no table of patent numbers to look it up in"}, a.Notes)
}

func TestUnknownMakers(t *testing.T) {
	var many []string
	for _, name := range strings.Fields("Ash Beech Cedar Elm Fir Hazel Larch Maple Oak Pine Rowan") {
		many = append(many, name+",,1,9,1920,1920,,,,")
	}
	for _, c := range []struct {
		tables *serials.Tables
		maker  string
		want   string
	}{
		{starterTables(t), "Bartolf",
			`there is no table for maker "Bartolf"; nearest: Bartholf, Bartram & Fanton`},
		{tables(t, many[:10]...), "Xyzzyx",
			`there is no table for maker "Xyzzyx"; there are tables for Ash, Beech, Cedar, Elm, Fir, Hazel, Larch, Maple, Oak, Pine`},
		{tables(t, many...), "Xyzzyx",
			`there is no table for maker "Xyzzyx"; there are tables for Ash, Beech, Cedar, Elm, Fir, Hazel, Larch, Maple, Oak, Pine and 1 more`},
		{serials.NewTables(), "Xyzzyx", `there is no table for maker "Xyzzyx", nor for any other`},
		{tables(t, "フェン,,1,9,1920,1920,,,,"), "Cr",
			`there is no table for maker "Cr"; there are tables for フェン`},
		{starterTables(t), "", "no maker was given, so no table could be read"},
	} {
		assert.Equal(t, []string{c.want}, date(t, c.tables, serials.Query{Serial: "5", Maker: c.maker}).Notes)
		assert.Equal(t, []string{c.want},
			date(t, c.tables, serials.Query{Serial: stamp.None, Maker: c.maker, Model: "Dart"}).Notes,
			"a model is looked up by its maker")
		assert.Empty(t, date(t, c.tables, serials.Query{Serial: stamp.None, Maker: c.maker}).Notes,
			"nothing was to be looked up")
	}
}

func TestAnswerJSON(t *testing.T) {
	for _, q := range []serials.Query{
		{Serial: "7", Maker: "Nobody"}, {Serial: "k-0012 ", Maker: "quill"}, {Serial: "K1?", Maker: "Quill"},
		{Serial: stamp.None, Maker: "Quill"},
	} {
		data, err := json.Marshal(date(t, tables(t, "Quill,K,1,19,1920,1920,,,a book,"), q))
		require.NoError(t, err)
		var got map[string]any
		require.NoError(t, json.Unmarshal(data, &got))
		assert.ElementsMatch(t,
			[]string{"serial", "maker", "prefix", "number", "from", "to", "best", "basis", "rows", "shares",
				"bounds", "conflicts", "notes",
				"years", "interval80", "outside", "contradicted"},
			sortedKeys(got), "exactly these keys")
		for _, list := range []string{"rows", "shares", "bounds", "conflicts", "notes"} {
			assert.NotNil(t, got[list], "%s of %v is [] rather than null", list, q)
		}
	}
	data, err := json.Marshal(date(t, tables(t, "Quill,K,1,19,1920,1920,,,a book,"),
		serials.Query{Serial: "k-0012 ", Maker: "quill", Seen: []int{1930}}))
	require.NoError(t, err)
	assert.Equal(t,
		`{"serial":"K12","maker":"Quill","prefix":"K","number":12,"from":1920,"to":1920,"best":1920,"basis":"range",`+
			`"rows":[{"file":"t.csv","line":2,"first":1,"last":19,"from":1920,"to":1920,"source":"a book"}],"shares":[],`+
			`"bounds":[{"kind":"not_after","year":1930,"reason":"it was seen in 1930"}],"conflicts":[],"notes":[],`+
			`"years":[{"year":1920,"p":1}],"interval80":[1920,1920],"outside":0,"contradicted":false}`,
		string(data))
	data, err = json.Marshal(date(t, tables(t, "Quill,K,5,,1920,1920,,,,"),
		serials.Query{Serial: "K3", Maker: "Quill"}))
	require.NoError(t, err)
	assert.Contains(t, string(data),
		`"from":null,"to":1920,"best":null,"basis":"before","rows":[{"file":"t.csv","line":2,"first":5,"last":null,`)
}
