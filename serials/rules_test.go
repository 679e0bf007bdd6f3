package serials

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

// The line of numbers under which every cell of the decision table in the package comment is tested.
// Plain: 1–99 1900, gap, 201–300 1902–1911, two rows that differ, two that agree, open rows. All invented.
var line = []string{
	"Quill,,11,99,1900,1900,,,,",
	"Quill,,201,300,1902,1911,,,,",
	"Quill,,301,400,1912,1912,,,,",
	"Quill,,391,420,1913,1914,,,,",
	"Quill,,501,600,1920,1920,,,one,",
	"Quill,,501,600,1920,1920,,,two,",
	"Quill,,701,,1930,1930,,,,",
	"Quill,,901,,1940,1940,,,,",
	"Quill,A,100,,1950,1952,,,,",
	"Quill,A,200,,1955,1955,,,,",
	"Quill,A,250,299,1956,1956,,,,",
	"Quill,A,250,,1956,1956,,,,",
	"Quill,AB,1,9,1960,1960,,,,",
	"Quill,C,1,1000,1910,1914,,,,",
	"Quill,C,500,600,1903,1903,,,,",
	"Quill,C,2000,2100,1915,1915,,,,",
	"Quill,D,100,,1905,1909,,,,",
	"Quill,D,50,300,1915,1915,,,,",
	"Quill,D,10,310,1906,1906,,,,",
	"Quill,E,100,,1920,1920,,,,",
	"Quill,F,1001,1009,1920,1920,,,,",
	"Quill,F,1020,1029,1920,1920,,,,",
	"Quill,F,1030,,1920,1920,,,,",
	"Quill,F,1040,1049,1920,1920,,,,",
	"Quill,F,1090,1099,1918,1918,,,,",
	"Quill,E,50,300,1910,1910,,,,",
	"Quill,7N,100,199,1920,1920,,,,",
	"Quill,E,10,310,1906,1906,,,,",
}

func TestRulesForANumber(t *testing.T) {
	for _, c := range []struct {
		cell, serial string
		want         Estimate
		clash        bool
	}{
		{"one row of one year, first", "11", Estimate{1900, 1900, 1900, Range}, false},
		{"one row of one year, last", "99", Estimate{1900, 1900, 1900, Range}, false},
		{"one row of several years, first", "201", Estimate{1902, 1911, 1902, Interpolated}, false},
		{"one row of several years, middle", "250", Estimate{1902, 1911, 1909, Interpolated}, false},
		{"one row of several years, last", "300", Estimate{1902, 1911, 1911, Interpolated}, false},
		{"rows that say the same", "555", Estimate{1920, 1920, 1920, Range}, false},
		{"rows that differ", "395", Estimate{1912, 1914, 0, Overlap}, true},
		{"the clash ends with the row", "401", Estimate{1913, 1914, 1913, Interpolated}, false},
		{"the first number of an open row", "701", Estimate{1930, 1930, 1930, Range}, false},
		{"an open row, another above", "702", Estimate{1930, 1940, 0, Between}, false},
		{"an open row, just below the next", "900", Estimate{1930, 1940, 0, Between}, false},
		{"the last row is open, first number", "901", Estimate{1940, 1940, 1940, Range}, false},
		{"the last row is open", "902", Estimate{1940, 0, 0, After}, false},
		{"an open row of several years, first number", "A100", Estimate{1950, 1955, 0, Between}, false},
		{"an open row and a closed one within it", "A260", Estimate{1956, 1956, 1956, Range}, false},
		{"the closed one ends", "A300", Estimate{1956, 0, 0, After}, false},
		{"an open row and closed ones that fit it, though not each other", "D200",
			Estimate{1906, 1915, 0, Overlap}, true},
		{"an open row and closed ones that do not fit it", "E200", Estimate{1906, 0, 0, Overlap}, true},
		{"no row, the one that ends highest is the row below", "C1500", Estimate{1914, 1915, 0, Between},
			false},
		{"no row, rows of one year on both sides", "F1015", Estimate{1920, 1920, 1920, Between}, false},
		{"an open row, another of the same year above", "F1035", Estimate{1920, 1920, 1920, Between}, false},
		{"no row, and the years on both sides run backwards", "F1075", Estimate{1918, 1920, 0, Between},
			true},
		{"no row, rows on both sides", "150", Estimate{1900, 1902, 0, Between}, false},
		{"above the last row", "AB10", Estimate{1960, 0, 0, After}, false},
		{"below the first row", "10", Estimate{0, 1900, 0, Before}, false},
		{"below the first row, zero", "000", Estimate{0, 1900, 0, Before}, false},
		{"no row has the prefix", "Q5", Estimate{0, 0, 0, NoBasis}, false},
		{"the longest prefix wins", "AB5", Estimate{1960, 1960, 1960, Range}, false},
		{"no number may have letters behind it", "11A", Estimate{0, 0, 0, NoBasis}, false},
		{"nor where they make a prefix of their own", "7N", Estimate{0, 0, 0, NoBasis}, false},
	} {
		tables := tables(t, line...)
		a := date(t, tables, Query{Maker: "Quill", Serial: c.serial})
		assert.Equal(t, c.want, a.Estimate, c.cell)
		assert.Equal(t, c.clash, len(a.Conflicts) > 0, "%s: %v", c.cell, a.Conflicts)
		quick, err := tables.Estimate("QUILL", c.serial)
		assert.NoError(t, err)
		assert.Equal(t, c.want, quick, "the quick way says the same: %s", c.cell)
	}
	a := date(t, tables(t, line...), Query{Maker: "Squill & Co", Serial: "11"})
	assert.Equal(t, Estimate{Basis: NoBasis}, a.Estimate, "no table has the maker")
	assert.Equal(t, []string{`there is no table for maker "Squill & Co"; nearest: Quill`}, a.Notes)
}

func TestRulesForWornSerials(t *testing.T) {
	rows := []string{
		"Fenn,,1000,1999,1900,1900,,,,",
		"Fenn,,2000,2999,1901,1904,,,,",
		"Fenn,,2900,2999,1910,1910,,,,",
		"Fenn,,5000,,1920,1920,,,,",
		"Fenn,,6000,,1921,1921,,,,",
		"Fenn,K,1000,1499,1930,1930,,,,",
		"Fenn,K,1500,1999,1931,1931,,,,",
		"Fenn,Z,0001,0499,1940,1940,,,,",
		"Fenn,Z,0500,9999,1941,1941,,,,",
	}
	for _, c := range []struct {
		cell, serial string
		want         Estimate
		shares       []Share
	}{
		{"one row of one year", "10?0", Estimate{1900, 1900, 1900, Pattern}, []Share{{1900, 1}}},
		{"a row of several years", "200?", Estimate{1901, 1904, 0, Pattern},
			[]Share{{1901, .25}, {1902, .25}, {1903, .25}, {1904, .25}}},
		{"two rows: one hit in each", "29??", Estimate{1901, 1910, 0, Pattern},
			[]Share{{1901, .125}, {1902, .125}, {1903, .125}, {1904, .125}, {1910, .5}}},
		{"an open row, another above", "55?0", Estimate{1920, 1921, 0, Pattern},
			[]Share{{1920, .5}, {1921, .5}}},
		{"the last row is open", "99??", Estimate{1921, 0, 0, Pattern}, []Share{{1921, 1}}},
		// 999 lies below K and above Z0499; 1999; 2999 twice; 5999 open; 6999 to 9999 last; Z999
		{"some in no row", "?999", Estimate{0, 0, 0, Pattern},
			[]Share{{1900, 1. / 9}, {1901, 1. / 36}, {1902, 1. / 36}, {1903, 1. / 36}, {1904, 1. / 36},
				{1910, 1. / 9}, {1920, .5 / 9}, {1921, 4.5 / 9}, {1941, 1. / 9}}},
		{"all in no row", "4??0", Estimate{1904, 1920, 0, Pattern}, nil},
		{"a leading ? is 1 to 9", "K?499", Estimate{1930, 0, 0, Pattern}, []Share{{1930, 1}}},
		{"a leading ? is 0 too where the table writes zeros", "Z?499", Estimate{1940, 1941, 0, Pattern},
			[]Share{{1940, .1}, {1941, .9}}},
		// 11500 to 91500 in the last open row; K1500; Z1500
		{"a ? in the prefix", "?1500", Estimate{1921, 0, 0, Pattern},
			[]Share{{1921, 9. / 11}, {1931, 1. / 11}, {1941, 1. / 11}}},
		{"no prefix fits", "Q??", Estimate{0, 0, 0, NoBasis}, nil},
	} {
		a := date(t, tables(t, rows...), Query{Maker: "Fenn", Serial: c.serial})
		assert.Equal(t, c.want, a.Estimate, c.cell)
		assertShares(t, c.shares, a.Shares, c.cell)
	}
}

// A worn serial must leave characters for the number behind the prefix, and only rows that a filling stands
// in are told.
func TestWornSerialsMeetOnlyRowsThatHoldThem(t *testing.T) {
	a := date(t, tables(t, "Fenn,KA,1,99,1900,1900,,,,"), Query{Maker: "Fenn", Serial: "??"})
	assert.Equal(t, Estimate{Basis: NoBasis}, a.Estimate)
	a = date(t, tables(t, "Fenn,,100,199,1900,1900,,,,", "Fenn,,200,299,1901,1901,,,,",
		"Fenn,,300,399,1902,1902,,,,"),
		Query{Maker: "Fenn", Serial: "?50", Seen: []int{1910}})
	assert.Len(t, a.Rows, 3)
	a = date(t, tables(t, "Fenn,,150,150,1900,1900,,,,", "Fenn,,151,249,1901,1901,,,,",
		"Fenn,,250,260,1902,1902,,,,"), Query{Maker: "Fenn", Serial: "?50"})
	assert.Equal(t, []int{2, 4}, []int{a.Rows[0].Line, a.Rows[1].Line},
		"151–249 holds none of 150, 250, 350 and so on")
	assert.Len(t, a.Rows, 2)
}

func TestWornSerialsTellHowManyStandInNoRow(t *testing.T) {
	a := date(t, tables(t, "Fenn,KA,100,199,1900,1900,,,,", "Fenn,KA,300,399,1900,1900,,,,",
		"Fenn,KA,320,360,1900,1900,,,,", "Fenn,KA,800,,1900,1900,,,,"),
		Query{Maker: "Fenn", Serial: "K??50"})
	assert.Equal(t, "KA", a.Prefix, "no other prefix can stand there")
	assert.Contains(t, a.Notes, "5 of the 9 possible serials stand in no row of the tables",
		"150, 350, 850 and 950 do")
	a = date(t, tables(t, "Fenn,KA,100,999,1900,1900,,,,", "Fenn,KB,1,99,1901,1901,,,,"),
		Query{Maker: "Fenn", Serial: "K?1?0"})
	assert.Equal(t, "K", a.Prefix, "which of the two it is cannot be read")
	assert.Contains(t, a.Notes, "10 of the 20 possible serials stand in no row of the tables",
		"those of KB do not")
}

// The prefix that is told with a row is the row's own: a worn serial may not say which it is.
func TestWornSerialsTellEachRowWithItsPrefix(t *testing.T) {
	a := date(t, tables(t, "Fenn,KA,100,199,1900,1900,,,,", "Fenn,KB,100,199,1901,1901,,,,"),
		Query{Maker: "Fenn", Serial: "K?150"})
	assert.Subset(t, a.Lines(),
		[]string{"  table row KA100–KA199: 1900 (t.csv:2)", "  table row KB100–KB199: 1901 (t.csv:3)"})
}

func TestWornSerialsOfTheFirstAndTheLastYear(t *testing.T) {
	a := date(t, tables(t, "Fenn,,1,4,1700,1700,,,,", "Fenn,,5,9,2100,2100,,,,"),
		Query{Maker: "Fenn", Serial: "?"})
	assertShares(t, []Share{{1700, 4. / 9}, {2100, 5. / 9}}, a.Shares, "the ends of what a table can say")
}

func assertShares(t *testing.T, want, got []Share, cell string) {
	t.Helper()
	sum := 0.0
	if assert.Len(t, got, len(want), cell) {
		for i, s := range got {
			assert.Equal(t, want[i].Year, s.Year, cell)
			assert.InDelta(t, want[i].Share, s.Share, 1e-12, "%s: %d", cell, s.Year)
			sum += s.Share
		}
	}
	if len(want) > 0 {
		assert.InDelta(t, 1, sum, 1e-12, cell)
	}
}

func TestRulesForEvidence(t *testing.T) {
	rows := append([]string{
		"Quill,M,1,100,1920,1929,Dart,,,",
		"Quill,M,101,200,1930,1930,Dart,,,",
		"Quill,M,201,,1931,1931,Kestrel,,,",
		"Quill,,,,1901,1905,Wren,,,",
		"Quill,G,1,100,1920,1930,,,,",
		"Quill,G,50,150,1930,1935,,,,",
		"Quill,H,1,,1950,1950,Robin,,,",
		"Quill,H,100,,1940,1940,Finch,,,",
		"Quill,N,10,49,1910,1910,,,,",
		"Quill,N,50,99,1920,1920,,,,",
	}, line...)
	for _, c := range []struct {
		cell  string
		q     Query
		want  Estimate
		clash string
	}{
		{"leaves all", Query{Serial: "250", PatentDates: []int{1890}, Seen: []int{1950}},
			Estimate{1902, 1911, 1909, Interpolated}, ""},
		{"leaves some, best within", Query{Serial: "250", PatentDates: []int{1904}},
			Estimate{1904, 1911, 1909, Interpolated}, ""},
		{"leaves some, best moved", Query{Serial: "250", PatentDates: []int{1910}},
			Estimate{1910, 1911, 1910, Interpolated}, ""},
		{"leaves one year", Query{Serial: "250", Seen: []int{1902}}, Estimate{1902, 1902, 1902, Interpolated},
			""},
		{"bracket narrowed", Query{Serial: "800", Seen: []int{1935}}, Estimate{1930, 1935, 0, Between}, ""},
		{"differing rows, one left", Query{Serial: "395", Seen: []int{1912}},
			Estimate{1912, 1912, 1912, Evidence}, ""},
		{"differing rows, some of one left", Query{Serial: "395", PatentDates: []int{1913}},
			Estimate{1913, 1914, 0, Evidence}, ""},
		{"differing rows, several left", Query{Serial: "395", Seen: []int{1913}},
			Estimate{1912, 1913, 0, Overlap}, "stands in 2 rows"},
		{"differing rows, one left beside an open row that stepped aside",
			Query{Serial: "D200", Seen: []int{1910}}, Estimate{1906, 1906, 1906, Evidence}, ""},
		{"rows that agree on one year", Query{Serial: "G70", PatentDates: []int{1930}, Seen: []int{1930}},
			Estimate{1930, 1930, 1930, Range}, ""},
		{"open end closed above", Query{Serial: "5000", Seen: []int{1944}}, Estimate{1940, 1944, 0, Evidence},
			""},
		{"open end closed below", Query{Serial: "5", PatentDates: []int{1890}},
			Estimate{1890, 1900, 0, Evidence}, ""},
		{"open end closed to one year", Query{Serial: "5000", Seen: []int{1940}},
			Estimate{1940, 1940, 1940, Evidence}, ""},
		{"open end stays open", Query{Serial: "5000", PatentDates: []int{1944}}, Estimate{1944, 0, 0, After},
			""},
		{"below the first row stays open", Query{Serial: "5", Seen: []int{1890}},
			Estimate{0, 1890, 0, Before}, ""},
		{"worn, some years left", Query{Serial: "2?0", Seen: []int{1903}}, Estimate{1900, 1903, 0, Pattern},
			""},
		{"worn, the last year left", Query{Serial: "2?5", PatentDates: []int{1911}},
			Estimate{1911, 1911, 1911, Pattern}, ""},
		{"worn, one year left", Query{Serial: "2?5", Seen: []int{1902}}, Estimate{1902, 1902, 1902, Pattern},
			""},
		{"worn, in no row, narrowed to one year", Query{Serial: "1??", Seen: []int{1900}},
			Estimate{1900, 1900, 0, Pattern}, ""},
		{"worn, in no row, narrowed", Query{Serial: "1??", Seen: []int{1901}},
			Estimate{1900, 1901, 0, Pattern}, ""},
		{"worn, the open end closed", Query{Serial: "99?", Seen: []int{1944}},
			Estimate{1940, 1944, 0, Pattern}, ""},
		{"worn, the open end closed on both sides",
			Query{Serial: "99?", PatentDates: []int{1942}, Seen: []int{1943}},
			Estimate{1942, 1943, 0, Pattern}, ""},
		{"worn, the open end closed to one year", Query{Serial: "99?", Seen: []int{1940}},
			Estimate{1940, 1940, 1940, Pattern}, ""},
		{"worn, the open end stays open", Query{Serial: "99?", PatentDates: []int{1944}},
			Estimate{1944, 0, 0, Pattern}, ""},
		{"no serial", Query{Serial: None, PatentDates: []int{1890}, Seen: []int{1910}},
			Estimate{1890, 1910, 0, Evidence}, ""},
		{"no serial, one bound", Query{Serial: " NONE", PatentDates: []int{1890, 1885}},
			Estimate{1890, 0, 0, Evidence}, ""},
		{"no serial, one year left", Query{Serial: None, PatentDates: []int{1890}, Seen: []int{1890}},
			Estimate{1890, 1890, 1890, Evidence}, ""},
		{"no row", Query{Serial: "Q5", Seen: []int{1910}}, Estimate{0, 1910, 0, Evidence}, ""},
		{"nothing at all", Query{Serial: None}, Estimate{Basis: NoBasis}, ""},
		{"excludes the serial's years from below", Query{Serial: "50", PatentDates: []int{1910}},
			Estimate{Basis: Range},
			"not before 1910 (a patent date of 1910 is on it), but not after 1900 (serial 50 by the tables)"},
		{"excludes the serial's years from above", Query{Serial: "50", Seen: []int{1880}},
			Estimate{Basis: Range},
			"not before 1900 (serial 50 by the tables), but not after 1880 (it was seen in 1880)"},
		{"excludes all differing rows", Query{Serial: "395", Seen: []int{1880}}, Estimate{Basis: Overlap},
			"not before 1912 (serial 395 by the tables), but not after 1880"},
		{"excludes every filling", Query{Serial: "2?0", Seen: []int{1880}}, Estimate{Basis: Evidence},
			"not before 1900 (serial 2?0 by the tables), but not after 1880"},
		{"leaves years between the fillings",
			Query{Serial: "N?5", PatentDates: []int{1916}, Seen: []int{1918}}, Estimate{Basis: Evidence},
			"serial N?5 has no row for the years from 1916 to 1918"},
		{"contradicts itself", Query{Serial: "50", PatentDates: []int{1910}, Seen: []int{1905}},
			Estimate{Basis: Range},
			"not before 1910 (a patent date of 1910 is on it), but not after 1905 (it was seen in 1905): " +
				"look at both again"},
		{"contradicts itself without a serial",
			Query{Serial: None, PatentDates: []int{1910}, Seen: []int{1905}}, Estimate{Basis: Evidence},
			"not before 1910"},
		{"model of several rows", Query{Serial: "M50", Model: "dart"},
			Estimate{1920, 1929, 1927, Interpolated}, ""},
		{"model alone", Query{Serial: None, Model: "Dart"}, Estimate{1920, 1930, 0, Evidence}, ""},
		{"model of an open row", Query{Serial: None, Model: "Kestrel"}, Estimate{1931, 0, 0, Evidence}, ""},
		{"model row without numbers", Query{Serial: "250", Model: "Wren"},
			Estimate{1902, 1905, 1905, Interpolated}, ""},
		{"model of an open row, the years of the tables run backwards", Query{Serial: None, Model: "Robin"},
			Estimate{1940, 1950, 0, Evidence}, ""},
		{"model contradicts", Query{Serial: "M50", Model: "Kestrel"}, Estimate{Basis: Interpolated},
			"not before 1931 (model Kestrel was made from 1931 (t.csv:4))"},
		{"model that no row names", Query{Serial: "50", Model: "Owl"}, Estimate{1900, 1900, 1900, Range}, ""},
	} {
		c.q.Maker = "Quill"
		a := date(t, tables(t, rows...), c.q)
		assert.Equal(t, c.want, a.Estimate, c.cell)
		if c.clash == "" {
			assert.Empty(t, a.Conflicts, c.cell)
			continue
		}
		assert.Contains(t, strings.Join(a.Conflicts, "\n"), c.clash, c.cell)
	}
}

func TestEvidenceSaysWhichRowsItRulesOut(t *testing.T) {
	a := date(t, tables(t, line...), Query{Maker: "Quill", Serial: "395", Seen: []int{1912}})
	assert.Equal(t,
		[]string{"number 395 stands in 2 rows: t.csv:4 says 1912, t.csv:5 says 1913–1914; other evidence " +
			"rules out all but one"}, a.Notes)
	three := tables(t, "Quill,,1,9,1912,1912,,,,", "Quill,,1,9,1911,1912,,,two,", "Quill,,1,9,1913,1913,,,,")
	a = date(t, three, Query{Maker: "Quill", Serial: "5", Seen: []int{1912}})
	assert.Contains(t, a.Notes[0], "stands in 3 rows")
	assert.Contains(t, a.Notes[0], "; other evidence rules out all but 2 that agree")
}

func TestContradictionShowsBothBounds(t *testing.T) {
	a := date(t, tables(t, line...), Query{Maker: "Quill", Serial: "50", PatentDates: []int{1910}})
	assert.Equal(t, []Bound{
		{NotBefore, 1910, "a patent date of 1910 is on it"},
		{NotAfter, 1900, "serial 50 by the tables"},
	}, a.Bounds)
	assert.Equal(t, "Quill 50: contradicted: no year agrees with all that is known", a.Lines()[0])
}

func TestTwoSources(t *testing.T) {
	all := map[string][]string{
		"a.csv": {"Quill,,1,100,1920,1920,,,a book,", "Quill,,101,200,1921,1921,,,a book,",
			"Quill,,500,,1925,1925,,,a book,"},
		"b.csv": {"QUILL & Co,,1,100,1920,1920,,,a list,", "QUILL & Co,,150,200,1922,1922,,,a list,",
			"QUILL & Co,,600,700,1926,1926,,,a list,"},
	}
	for serial, want := range map[string]Estimate{
		"50":  {1920, 1920, 1920, Range}, // both say so
		"120": {1921, 1921, 1921, Range}, // only one knows it
		"160": {1921, 1922, 0, Overlap},  // they disagree
		"550": {1925, 1926, 0, Between},  // the other source ends the open row
		"650": {1926, 1926, 1926, Range},
		"800": {1926, 0, 0, After},
	} {
		a := date(t, files(t, all), Query{Maker: "Quill", Serial: serial})
		assert.Equal(t, want, a.Estimate, serial)
	}
	a := date(t, files(t, all), Query{Maker: "Quill", Serial: "50"})
	assert.Equal(t, []string{"Source: a book", "Source: a list"}, a.Lines()[3:])
}

func TestWords(t *testing.T) {
	rows := append([]string{
		"Quill,L,1,100,1921,1921,,North works,,allotted in a block ahead of making",
		"Quill,L,101,200,1922,1925,,,,Allotted",
		"Quill,L,201,300,1926,1926,,,,approximately",
	}, line...)
	for _, c := range []struct {
		q           Query
		line, short string
	}{
		{Query{Serial: "50"}, "Quill 50: 1900", "1900"},
		{Query{Serial: "250"}, "Quill 250: about 1909, from 1902 to 1911", "1902–1911"},
		{Query{Serial: "150"}, "Quill 150: 1900–1902", "1900–1902"},
		{Query{Serial: "5000"}, "Quill 5000: 1940 or later", "1940 or later"},
		{Query{Serial: "5"}, "Quill 5: 1900 or earlier", "1900 or earlier"},
		{Query{Serial: "395"}, "Quill 395: 1912–1914: the tables clash", "1912–1914"},
		{Query{Serial: "L50"}, "Quill L50: number allotted 1921", "1921"},
		{Query{Serial: "L150"}, "Quill L150: number allotted about 1923, from 1922 to 1925", "1922–1925"},
		{Query{Serial: "L250"}, "Quill L250: about 1926", "about 1926"},
		{Query{Serial: "Q1"}, "Quill Q1: year unknown", "unknown"},
		{Query{Serial: None, Seen: []int{1920}}, "Quill without a serial number: 1920 or earlier",
			"1920 or earlier"},
	} {
		c.q.Maker = "Quill"
		a := date(t, tables(t, rows...), c.q)
		assert.Equal(t, c.line, a.Lines()[0])
		assert.Equal(t, c.short, a.Year(), c.line)
	}
	assert.Equal(t, "1864 or 1865", Estimate{1864, 1865, 0, Overlap}.Year())
	a := date(t, tables(t, rows...), Query{Maker: "Quill", Serial: "L50"})
	assert.Equal(t, []string{"the table notes: allotted in a block ahead of making", "works: North works"},
		a.Notes)
}
