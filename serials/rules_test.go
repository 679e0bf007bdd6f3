package serials_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"pitman/serials"
	"pitman/serials/series"
	"pitman/serials/stamp"
	"pitman/serials/years"
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
		want         years.Estimate
		clash        bool
	}{
		{"one row of one year, first", "11",
			years.Estimate{From: 1900, To: 1900, Best: 1900, Basis: years.Range}, false},
		{"one row of one year, last", "99",
			years.Estimate{From: 1900, To: 1900, Best: 1900, Basis: years.Range}, false},
		{"one row of several years, first", "201",
			years.Estimate{From: 1902, To: 1911, Best: 1902, Basis: years.Interpolated}, false},
		{"one row of several years, middle", "250",
			years.Estimate{From: 1902, To: 1911, Best: 1909, Basis: years.Interpolated}, false},
		{"one row of several years, last", "300",
			years.Estimate{From: 1902, To: 1911, Best: 1911, Basis: years.Interpolated}, false},
		{"rows that say the same", "555",
			years.Estimate{From: 1920, To: 1920, Best: 1920, Basis: years.Range}, false},
		{"rows that differ", "395", years.Estimate{From: 1912, To: 1914, Best: 0, Basis: years.Overlap},
			true},
		{"the clash ends with the row", "401",
			years.Estimate{From: 1913, To: 1914, Best: 1913, Basis: years.Interpolated}, false},
		{"the first number of an open row", "701",
			years.Estimate{From: 1930, To: 1930, Best: 1930, Basis: years.Range}, false},
		{"an open row, another above", "702",
			years.Estimate{From: 1930, To: 1940, Best: 0, Basis: years.Between}, false},
		{"an open row, just below the next", "900",
			years.Estimate{From: 1930, To: 1940, Best: 0, Basis: years.Between}, false},
		{"the last row is open, first number", "901",
			years.Estimate{From: 1940, To: 1940, Best: 1940, Basis: years.Range}, false},
		{"the last row is open", "902", years.Estimate{From: 1940, To: 0, Best: 0, Basis: years.After},
			false},
		{"an open row of several years, first number", "A100",
			years.Estimate{From: 1950, To: 1955, Best: 0, Basis: years.Between}, false},
		{"an open row and a closed one within it", "A260",
			years.Estimate{From: 1956, To: 1956, Best: 1956, Basis: years.Range}, false},
		{"the closed one ends", "A300", years.Estimate{From: 1956, To: 0, Best: 0, Basis: years.After},
			false},
		{"an open row and closed ones that fit it, though not each other", "D200",
			years.Estimate{From: 1906, To: 1915, Best: 0, Basis: years.Overlap}, true},
		{"an open row and closed ones that do not fit it", "E200",
			years.Estimate{From: 1906, To: 0, Best: 0, Basis: years.Overlap}, true},
		{"no row, the one that ends highest is the row below", "C1500",
			years.Estimate{From: 1914, To: 1915, Best: 0, Basis: years.Between},
			false},
		{"no row, rows of one year on both sides", "F1015",
			years.Estimate{From: 1920, To: 1920, Best: 1920, Basis: years.Between}, false},
		{"an open row, another of the same year above", "F1035",
			years.Estimate{From: 1920, To: 1920, Best: 1920, Basis: years.Between}, false},
		{"no row, and the years on both sides run backwards", "F1075",
			years.Estimate{From: 1918, To: 1920, Best: 0, Basis: years.Between},
			true},
		{"no row, rows on both sides", "150",
			years.Estimate{From: 1900, To: 1902, Best: 0, Basis: years.Between}, false},
		{"above the last row", "AB10", years.Estimate{From: 1960, To: 0, Best: 0, Basis: years.After}, false},
		{"below the first row", "10", years.Estimate{From: 0, To: 1900, Best: 0, Basis: years.Before}, false},
		{"below the first row, zero", "000", years.Estimate{From: 0, To: 1900, Best: 0, Basis: years.Before},
			false},
		{"no row has the prefix", "Q5", years.Estimate{From: 0, To: 0, Best: 0, Basis: years.NoBasis}, false},
		{"the longest prefix wins", "AB5",
			years.Estimate{From: 1960, To: 1960, Best: 1960, Basis: years.Range}, false},
		{"no number may have letters behind it", "11A",
			years.Estimate{From: 0, To: 0, Best: 0, Basis: years.NoBasis}, false},
		{"nor where they make a prefix of their own", "7N",
			years.Estimate{From: 0, To: 0, Best: 0, Basis: years.NoBasis}, false},
	} {
		tables := tables(t, line...)
		a := date(t, tables, serials.Query{Maker: "Quill", Serial: c.serial})
		assert.Equal(t, c.want, a.Estimate, c.cell)
		assert.Equal(t, c.clash, len(a.Conflicts) > 0, "%s: %v", c.cell, a.Conflicts)
		quick, err := tables.Estimate("QUILL", c.serial)
		assert.NoError(t, err)
		assert.Equal(t, c.want, quick, "the quick way says the same: %s", c.cell)
	}
	a := date(t, tables(t, line...), serials.Query{Maker: "Squill & Co", Serial: "11"})
	assert.Equal(t, years.Estimate{Basis: years.NoBasis}, a.Estimate, "no table has the maker")
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
		want         years.Estimate
		shares       []series.Share
	}{
		{"one row of one year", "10?0",
			years.Estimate{From: 1900, To: 1900, Best: 1900, Basis: years.Pattern},
			[]series.Share{{Year: 1900, Share: 1}}},
		{"a row of several years", "200?",
			years.Estimate{From: 1901, To: 1904, Best: 0, Basis: years.Pattern},
			[]series.Share{{Year: 1901, Share: .25}, {Year: 1902, Share: .25}, {Year: 1903, Share: .25},
				{Year: 1904, Share: .25}}},
		{"two rows: one hit in each", "29??",
			years.Estimate{From: 1901, To: 1910, Best: 0, Basis: years.Pattern},
			[]series.Share{{Year: 1901, Share: .125}, {Year: 1902, Share: .125}, {Year: 1903, Share: .125},
				{Year: 1904, Share: .125}, {Year: 1910, Share: .5}}},
		{"an open row, another above", "55?0",
			years.Estimate{From: 1920, To: 1921, Best: 0, Basis: years.Pattern},
			[]series.Share{{Year: 1920, Share: .5}, {Year: 1921, Share: .5}}},
		{"the last row is open", "99??", years.Estimate{From: 1921, To: 0, Best: 0, Basis: years.Pattern},
			[]series.Share{{Year: 1921, Share: 1}}},
		// 999 lies below K and above Z0499; 1999; 2999 twice; 5999 open; 6999 to 9999 last; Z999
		{"some in no row", "?999", years.Estimate{From: 0, To: 0, Best: 0, Basis: years.Pattern},
			[]series.Share{{Year: 1900, Share: 1. / 9}, {Year: 1901, Share: 1. / 36},
				{Year: 1902, Share: 1. / 36}, {Year: 1903, Share: 1. / 36}, {Year: 1904, Share: 1. / 36},
				{Year: 1910, Share: 1. / 9}, {Year: 1920, Share: .5 / 9}, {Year: 1921, Share: 4.5 / 9},
				{Year: 1941, Share: 1. / 9}}},
		{"all in no row", "4??0", years.Estimate{From: 1904, To: 1920, Best: 0, Basis: years.Pattern}, nil},
		{"a leading ? is 1 to 9", "K?499", years.Estimate{From: 1930, To: 0, Best: 0, Basis: years.Pattern},
			[]series.Share{{Year: 1930, Share: 1}}},
		{"a leading ? is 0 too where the table writes zeros", "Z?499",
			years.Estimate{From: 1940, To: 1941, Best: 0, Basis: years.Pattern},
			[]series.Share{{Year: 1940, Share: .1}, {Year: 1941, Share: .9}}},
		// 11500 to 91500 in the last open row; K1500; Z1500
		{"a ? in the prefix", "?1500", years.Estimate{From: 1921, To: 0, Best: 0, Basis: years.Pattern},
			[]series.Share{{Year: 1921, Share: 9. / 11}, {Year: 1931, Share: 1. / 11},
				{Year: 1941, Share: 1. / 11}}},
		{"no prefix fits", "Q??", years.Estimate{From: 0, To: 0, Best: 0, Basis: years.NoBasis}, nil},
	} {
		a := date(t, tables(t, rows...), serials.Query{Maker: "Fenn", Serial: c.serial})
		assert.Equal(t, c.want, a.Estimate, c.cell)
		assertShares(t, c.shares, a.Shares, c.cell)
	}
}

// A worn serial must leave characters for the number behind the prefix, and only rows that a filling stands
// in are told.
func TestWornSerialsMeetOnlyRowsThatHoldThem(t *testing.T) {
	a := date(t, tables(t, "Fenn,KA,1,99,1900,1900,,,,"), serials.Query{Maker: "Fenn", Serial: "??"})
	assert.Equal(t, years.Estimate{Basis: years.NoBasis}, a.Estimate)
	a = date(t, tables(t, "Fenn,,100,199,1900,1900,,,,", "Fenn,,200,299,1901,1901,,,,",
		"Fenn,,300,399,1902,1902,,,,"),
		serials.Query{Maker: "Fenn", Serial: "?50", Seen: []int{1910}})
	assert.Len(t, a.Rows, 3)
	a = date(t, tables(t, "Fenn,,150,150,1900,1900,,,,", "Fenn,,151,249,1901,1901,,,,",
		"Fenn,,250,260,1902,1902,,,,"), serials.Query{Maker: "Fenn", Serial: "?50"})
	assert.Equal(t, []int{2, 4}, []int{a.Rows[0].Line, a.Rows[1].Line},
		"151–249 holds none of 150, 250, 350 and so on")
	assert.Len(t, a.Rows, 2)
}

func TestWornSerialsTellHowManyStandInNoRow(t *testing.T) {
	a := date(t, tables(t, "Fenn,KA,100,199,1900,1900,,,,", "Fenn,KA,300,399,1900,1900,,,,",
		"Fenn,KA,320,360,1900,1900,,,,", "Fenn,KA,800,,1900,1900,,,,"),
		serials.Query{Maker: "Fenn", Serial: "K??50"})
	assert.Equal(t, "KA", a.Prefix, "no other prefix can stand there")
	assert.Contains(t, a.Notes, "5 of the 9 possible serials stand in no row of the tables",
		"150, 350, 850 and 950 do")
	a = date(t, tables(t, "Fenn,KA,100,999,1900,1900,,,,", "Fenn,KB,1,99,1901,1901,,,,"),
		serials.Query{Maker: "Fenn", Serial: "K?1?0"})
	assert.Equal(t, "K", a.Prefix, "which of the two it is cannot be read")
	assert.Contains(t, a.Notes, "10 of the 20 possible serials stand in no row of the tables",
		"those of KB do not")
}

// The prefix that is told with a row is the row's own: a worn serial may not say which it is.
func TestWornSerialsTellEachRowWithItsPrefix(t *testing.T) {
	a := date(t, tables(t, "Fenn,KA,100,199,1900,1900,,,,", "Fenn,KB,100,199,1901,1901,,,,"),
		serials.Query{Maker: "Fenn", Serial: "K?150"})
	assert.Subset(t, a.Lines(),
		[]string{"  table row KA100–KA199: 1900 (t.csv:2)", "  table row KB100–KB199: 1901 (t.csv:3)"})
}

func TestWornSerialsOfTheFirstAndTheLastYear(t *testing.T) {
	a := date(t, tables(t, "Fenn,,1,4,1700,1700,,,,", "Fenn,,5,9,2100,2100,,,,"),
		serials.Query{Maker: "Fenn", Serial: "?"})
	assertShares(t, []series.Share{{Year: 1700, Share: 4. / 9}, {Year: 2100, Share: 5. / 9}}, a.Shares,
		"the ends of what a table can say")
}

func assertShares(t *testing.T, want, got []series.Share, cell string) {
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
		q     serials.Query
		want  years.Estimate
		clash string
	}{
		{"leaves all", serials.Query{Serial: "250", PatentDates: []int{1890}, Seen: []int{1950}},
			years.Estimate{From: 1902, To: 1911, Best: 1909, Basis: years.Interpolated}, ""},
		{"leaves some, best within", serials.Query{Serial: "250", PatentDates: []int{1904}},
			years.Estimate{From: 1904, To: 1911, Best: 1909, Basis: years.Interpolated}, ""},
		{"leaves some, best moved", serials.Query{Serial: "250", PatentDates: []int{1910}},
			years.Estimate{From: 1910, To: 1911, Best: 1910, Basis: years.Interpolated}, ""},
		{"leaves one year", serials.Query{Serial: "250", Seen: []int{1902}},
			years.Estimate{From: 1902, To: 1902, Best: 1902, Basis: years.Interpolated},
			""},
		{"bracket narrowed", serials.Query{Serial: "800", Seen: []int{1935}},
			years.Estimate{From: 1930, To: 1935, Best: 0, Basis: years.Between}, ""},
		{"differing rows, one left", serials.Query{Serial: "395", Seen: []int{1912}},
			years.Estimate{From: 1912, To: 1912, Best: 1912, Basis: years.Evidence}, ""},
		{"differing rows, some of one left", serials.Query{Serial: "395", PatentDates: []int{1913}},
			years.Estimate{From: 1913, To: 1914, Best: 0, Basis: years.Evidence}, ""},
		{"differing rows, several left", serials.Query{Serial: "395", Seen: []int{1913}},
			years.Estimate{From: 1912, To: 1913, Best: 0, Basis: years.Overlap}, "stands in 2 rows"},
		{"differing rows, one left beside an open row that stepped aside",
			serials.Query{Serial: "D200", Seen: []int{1910}},
			years.Estimate{From: 1906, To: 1906, Best: 1906, Basis: years.Evidence}, ""},
		{"rows that agree on one year", serials.Query{Serial: "G70", PatentDates: []int{1930},
			Seen: []int{1930}},
			years.Estimate{From: 1930, To: 1930, Best: 1930, Basis: years.Range}, ""},
		{"open end closed above", serials.Query{Serial: "5000", Seen: []int{1944}},
			years.Estimate{From: 1940, To: 1944, Best: 0, Basis: years.Evidence},
			""},
		{"open end closed below", serials.Query{Serial: "5", PatentDates: []int{1890}},
			years.Estimate{From: 1890, To: 1900, Best: 0, Basis: years.Evidence}, ""},
		{"open end closed to one year", serials.Query{Serial: "5000", Seen: []int{1940}},
			years.Estimate{From: 1940, To: 1940, Best: 1940, Basis: years.Evidence}, ""},
		{"open end stays open", serials.Query{Serial: "5000", PatentDates: []int{1944}},
			years.Estimate{From: 1944, To: 0, Best: 0, Basis: years.After},
			""},
		{"below the first row stays open", serials.Query{Serial: "5", Seen: []int{1890}},
			years.Estimate{From: 0, To: 1890, Best: 0, Basis: years.Before}, ""},
		{"worn, some years left", serials.Query{Serial: "2?0", Seen: []int{1903}},
			years.Estimate{From: 1900, To: 1903, Best: 0, Basis: years.Pattern},
			""},
		{"worn, the last year left", serials.Query{Serial: "2?5", PatentDates: []int{1911}},
			years.Estimate{From: 1911, To: 1911, Best: 1911, Basis: years.Pattern}, ""},
		{"worn, one year left", serials.Query{Serial: "2?5", Seen: []int{1902}},
			years.Estimate{From: 1902, To: 1902, Best: 1902, Basis: years.Pattern},
			""},
		{"worn, in no row, narrowed to one year", serials.Query{Serial: "1??", Seen: []int{1900}},
			years.Estimate{From: 1900, To: 1900, Best: 0, Basis: years.Pattern}, ""},
		{"worn, in no row, narrowed", serials.Query{Serial: "1??", Seen: []int{1901}},
			years.Estimate{From: 1900, To: 1901, Best: 0, Basis: years.Pattern}, ""},
		{"worn, the open end closed", serials.Query{Serial: "99?", Seen: []int{1944}},
			years.Estimate{From: 1940, To: 1944, Best: 0, Basis: years.Pattern}, ""},
		{"worn, the open end closed on both sides",
			serials.Query{Serial: "99?", PatentDates: []int{1942}, Seen: []int{1943}},
			years.Estimate{From: 1942, To: 1943, Best: 0, Basis: years.Pattern}, ""},
		{"worn, the open end closed to one year", serials.Query{Serial: "99?", Seen: []int{1940}},
			years.Estimate{From: 1940, To: 1940, Best: 1940, Basis: years.Pattern}, ""},
		{"worn, the open end stays open", serials.Query{Serial: "99?", PatentDates: []int{1944}},
			years.Estimate{From: 1944, To: 0, Best: 0, Basis: years.Pattern}, ""},
		{"no serial", serials.Query{Serial: stamp.None, PatentDates: []int{1890}, Seen: []int{1910}},
			years.Estimate{From: 1890, To: 1910, Best: 0, Basis: years.Evidence}, ""},
		{"no serial, one bound", serials.Query{Serial: " NONE", PatentDates: []int{1890, 1885}},
			years.Estimate{From: 1890, To: 0, Best: 0, Basis: years.Evidence}, ""},
		{"no serial, one year left", serials.Query{Serial: stamp.None, PatentDates: []int{1890},
			Seen: []int{1890}},
			years.Estimate{From: 1890, To: 1890, Best: 1890, Basis: years.Evidence}, ""},
		{"no row", serials.Query{Serial: "Q5", Seen: []int{1910}},
			years.Estimate{From: 0, To: 1910, Best: 0, Basis: years.Evidence}, ""},
		{"nothing at all", serials.Query{Serial: stamp.None}, years.Estimate{Basis: years.NoBasis}, ""},
		{"excludes the serial's years from below", serials.Query{Serial: "50", PatentDates: []int{1910}},
			years.Estimate{Basis: years.Range},
			"not before 1910 (a patent date of 1910 is on it), but not after 1900 (serial 50 by the tables)"},
		{"excludes the serial's years from above", serials.Query{Serial: "50", Seen: []int{1880}},
			years.Estimate{Basis: years.Range},
			"not before 1900 (serial 50 by the tables), but not after 1880 (it was seen in 1880)"},
		{"excludes all differing rows", serials.Query{Serial: "395", Seen: []int{1880}},
			years.Estimate{Basis: years.Overlap},
			"not before 1912 (serial 395 by the tables), but not after 1880"},
		{"excludes every filling", serials.Query{Serial: "2?0", Seen: []int{1880}},
			years.Estimate{Basis: years.Evidence},
			"not before 1900 (serial 2?0 by the tables), but not after 1880"},
		{"leaves years between the fillings",
			serials.Query{Serial: "N?5", PatentDates: []int{1916}, Seen: []int{1918}},
			years.Estimate{Basis: years.Evidence},
			"serial N?5 has no row for the years from 1916 to 1918"},
		{"contradicts itself", serials.Query{Serial: "50", PatentDates: []int{1910}, Seen: []int{1905}},
			years.Estimate{Basis: years.Range},
			"not before 1910 (a patent date of 1910 is on it), but not after 1905 (it was seen in 1905): " +
				"look at both again"},
		{"contradicts itself without a serial",
			serials.Query{Serial: stamp.None, PatentDates: []int{1910}, Seen: []int{1905}},
			years.Estimate{Basis: years.Evidence},
			"not before 1910"},
		{"model of several rows", serials.Query{Serial: "M50", Model: "dart"},
			years.Estimate{From: 1920, To: 1929, Best: 1927, Basis: years.Interpolated}, ""},
		{"model alone", serials.Query{Serial: stamp.None, Model: "Dart"},
			years.Estimate{From: 1920, To: 1930, Best: 0, Basis: years.Evidence}, ""},
		{"model of an open row", serials.Query{Serial: stamp.None, Model: "Kestrel"},
			years.Estimate{From: 1931, To: 0, Best: 0, Basis: years.Evidence}, ""},
		{"model row without numbers", serials.Query{Serial: "250", Model: "Wren"},
			years.Estimate{From: 1902, To: 1905, Best: 1905, Basis: years.Interpolated}, ""},
		{"model of an open row, the years of the tables run backwards",
			serials.Query{Serial: stamp.None, Model: "Robin"},
			years.Estimate{From: 1940, To: 1950, Best: 0, Basis: years.Evidence}, ""},
		{"model contradicts", serials.Query{Serial: "M50", Model: "Kestrel"},
			years.Estimate{Basis: years.Interpolated},
			"not before 1931 (model Kestrel was made from 1931 (t.csv:4))"},
		{"model that no row names", serials.Query{Serial: "50", Model: "Owl"},
			years.Estimate{From: 1900, To: 1900, Best: 1900, Basis: years.Range}, ""},
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
	a := date(t, tables(t, line...), serials.Query{Maker: "Quill", Serial: "395", Seen: []int{1912}})
	assert.Equal(t,
		[]string{"number 395 stands in 2 rows: t.csv:4 says 1912, t.csv:5 says 1913–1914; other evidence " +
			"rules out all but one"}, a.Notes)
	three := tables(t, "Quill,,1,9,1912,1912,,,,", "Quill,,1,9,1911,1912,,,two,", "Quill,,1,9,1913,1913,,,,")
	a = date(t, three, serials.Query{Maker: "Quill", Serial: "5", Seen: []int{1912}})
	assert.Contains(t, a.Notes[0], "stands in 3 rows")
	assert.Contains(t, a.Notes[0], "; other evidence rules out all but 2 that agree")
}

func TestContradictionShowsBothBounds(t *testing.T) {
	a := date(t, tables(t, line...), serials.Query{Maker: "Quill", Serial: "50", PatentDates: []int{1910}})
	assert.Equal(t, []serials.Bound{
		{serials.NotBefore, 1910, "a patent date of 1910 is on it"},
		{serials.NotAfter, 1900, "serial 50 by the tables"},
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
	for serial, want := range map[string]years.Estimate{
		"50":  {From: 1920, To: 1920, Best: 1920, Basis: years.Range}, // both say so
		"120": {From: 1921, To: 1921, Best: 1921, Basis: years.Range}, // only one knows it
		"160": {From: 1921, To: 1922, Best: 0, Basis: years.Overlap},  // they disagree
		"550": {From: 1925, To: 1926, Best: 0, Basis: years.Between},  // the other source ends the open row
		"650": {From: 1926, To: 1926, Best: 1926, Basis: years.Range},
		"800": {From: 1926, To: 0, Best: 0, Basis: years.After},
	} {
		a := date(t, files(t, all), serials.Query{Maker: "Quill", Serial: serial})
		assert.Equal(t, want, a.Estimate, serial)
	}
	a := date(t, files(t, all), serials.Query{Maker: "Quill", Serial: "50"})
	assert.Equal(t, []string{"Source: a book", "Source: a list"}, a.Lines()[3:])
}

func TestWords(t *testing.T) {
	rows := append([]string{
		"Quill,L,1,100,1921,1921,,North works,,allotted in a block ahead of making",
		"Quill,L,101,200,1922,1925,,,,Allotted",
		"Quill,L,201,300,1926,1926,,,,approximately",
	}, line...)
	for _, c := range []struct {
		q           serials.Query
		line, short string
	}{
		{serials.Query{Serial: "50"}, "Quill 50: 1900", "1900"},
		{serials.Query{Serial: "250"}, "Quill 250: about 1909, from 1902 to 1911", "1902–1911"},
		{serials.Query{Serial: "150"}, "Quill 150: 1900–1902", "1900–1902"},
		{serials.Query{Serial: "5000"}, "Quill 5000: 1940 or later", "1940 or later"},
		{serials.Query{Serial: "5"}, "Quill 5: 1900 or earlier", "1900 or earlier"},
		{serials.Query{Serial: "395"}, "Quill 395: 1912–1914: the tables clash", "1912–1914"},
		{serials.Query{Serial: "L50"}, "Quill L50: number allotted 1921", "1921"},
		{serials.Query{Serial: "L150"}, "Quill L150: number allotted about 1923, from 1922 to 1925",
			"1922–1925"},
		{serials.Query{Serial: "L250"}, "Quill L250: about 1926", "about 1926"},
		{serials.Query{Serial: "Q1"}, "Quill Q1: year unknown", "unknown"},
		{serials.Query{Serial: stamp.None, Seen: []int{1920}},
			"Quill without a serial number: 1920 or earlier",
			"1920 or earlier"},
	} {
		c.q.Maker = "Quill"
		a := date(t, tables(t, rows...), c.q)
		assert.Equal(t, c.line, a.Lines()[0])
		assert.Equal(t, c.short, a.Year(), c.line)
	}
	assert.Equal(t, "1864 or 1865",
		years.Estimate{From: 1864, To: 1865, Best: 0, Basis: years.Overlap}.Year())
	a := date(t, tables(t, rows...), serials.Query{Maker: "Quill", Serial: "L50"})
	assert.Equal(t, []string{"the table notes: allotted in a block ahead of making", "works: North works"},
		a.Notes)
}
