package serials_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/serials"
	"pitman/serials/table"
)

// Source: the printed table, Cooper 1968, Appendix II, has two misprints; nothing else in the starters is at
// fault.
func TestCheckFindsThePrintedMisprints(t *testing.T) {
	assert.Equal(t, []string{
		"cooper-1968.csv:78: overlap: the range 181161–220318 overlaps 141100–181161 at line 77: both hold " +
			"181161, so mend a first or a last",
		"cooper-1968.csv:89: overlap: the range 1138304–1247300 overlaps 1034564–1318303 at line 88: both " +
			"hold 1138304–1247300, so mend a first or a last",
	}, faultTexts(starterTables(t).Check()))
}

func TestCheck(t *testing.T) {
	for name, c := range map[string]struct {
		rows []string
		want []string
	}{
		"sound": {[]string{"A,,1,9,1920,1920,,,,", "A,,10,19,1920,1923,,,,",
			"A,,20,,1923,1923,,,,", "A,,50,,1930,1930,,,,"}, nil},
		"rows in any order": {[]string{"A,,10,19,1921,1921,,,,", "A,,1,9,1920,1920,,,,"}, nil},
		"prefixes apart": {[]string{"A,K,1,9,1920,1920,,,,", "A,L,1,9,1910,1910,,,,",
			"A,,1,9,1930,1930,,,,"}, nil},
		"works apart":  {[]string{"A,,1,9,1920,1920,,North,,", "A,,5,9,1910,1910,,South,,"}, nil},
		"models apart": {[]string{"A,,1,9,1920,1920,Dart,,,", "A,,5,9,1910,1910,Wren,,,"}, nil},
		"works of one alone": {[]string{"A,,1,9,1920,1920,,North,,", "A,,5,9,1910,1910,,,,"},
			[]string{"3 overlap"}},
		"the same works": {[]string{"A,,1,9,1920,1920,,North,,", "A,,5,9,1910,1910,,North,,"},
			[]string{"3 overlap"}},
		"the model of one alone": {[]string{"A,,1,9,1920,1920,Dart,,,", "A,,5,9,1910,1910,,,,"},
			[]string{"3 overlap"}},
		"the same model": {[]string{"A,,1,9,1920,1920,Dart,,,", "A,,5,9,1910,1910,Dart,,,"},
			[]string{"3 overlap"}},
		"apart from the row before": {[]string{"A,,1,90,1920,1920,,North,,", "A,,5,9,1910,1910,,South,,",
			"A,,20,29,1900,1900,,North,,"}, []string{"4 overlap"}},
		"years of works in turn": {[]string{"A,,1,9,1920,1920,,North,,", "A,,10,19,1910,1910,,South,,",
			"A,,20,29,1912,1912,,North,,"}, []string{"4 years run backwards"}},
		"years beside works of no name": {[]string{"A,,1,9,1920,1920,,North,,", "A,,10,19,1921,1921,,South,,",
			"A,,20,29,1912,1912,,,,"}, []string{"4 years run backwards"}},
		"repeated, others between": {[]string{"A,,1,9,1920,1920,,North,,", "A,,1,9,1910,1910,,South,,",
			"A,,1,9,1921,1921,,North,,"}, []string{"4 repeated range"}},
		"models without numbers": {[]string{"A,,,,1920,1930,Dart,,,", "A,,,,1910,1930,Wren,,,"}, nil},
		"overlap": {[]string{"A,,1,10,1920,1920,,,,", "A,,10,19,1921,1921,,,,"},
			[]string{"3 overlap"}},
		"overlap of the same year": {[]string{"A,,1,10,1920,1920,,,,", "A,,10,19,1920,1920,,,,"},
			[]string{"3 overlap"}},
		"overlap, listed in reverse": {[]string{"A,,10,19,1921,1921,,,,", "A,,1,10,1920,1920,,,,"},
			[]string{"3 overlap"}},
		"one row within another": {[]string{"A,,1,100,1920,1920,,,,", "A,,10,19,1921,1921,,,,",
			"A,,20,29,1921,1921,,,,"}, []string{"3 overlap", "4 overlap"}},
		"an open row in a closed": {[]string{"A,,1,100,1920,1920,,,,", "A,,50,,1921,1921,,,,"},
			[]string{"3 overlap"}},
		"gap": {[]string{"A,,1,9,1920,1920,,,,", "A,,11,19,1921,1921,,,,"},
			[]string{"3 gap"}},
		"no gap behind a wide row": {[]string{"A,,1,99,1920,1920,,,,", "A,,5,9,1920,1920,,,,",
			"A,,100,109,1921,1921,,,,"}, []string{"3 overlap"}},
		"years run backwards": {[]string{"A,,1,9,1920,1920,,,,", "A,,10,19,1912,1912,,,,",
			"A,,20,29,1922,1922,,,,"}, []string{"3 years run backwards"}},
		"last years run backwards": {[]string{"A,,1,9,1920,1929,,,,", "A,,10,19,1921,1922,,,,"},
			[]string{"3 years run backwards"}},
		"repeated range": {[]string{"A,,1,9,1920,1920,,,,", "A,,1,9,1921,1921,,,,"},
			[]string{"3 repeated range"}},
		"repeated, other source": {[]string{"A,,1,9,1920,1920,,,x,", "A,,1,9,1920,1920,,,y,"},
			[]string{"3 repeated range"}},
		"duplicate row": {[]string{"A,,1,9,1920,1920,,,x,",
			"A,,1,9,1920,1920,,,x,other note"}, []string{"3 duplicate row"}},
		"maker spelt two ways": {[]string{"Quill & Son,,1,9,1920,1920,,,,",
			"Quill and Son,,10,19,1920,1920,,,,", "Quill and Son,,20,29,1920,1920,,,,"},
			[]string{"3 maker spelt two ways"}},
		"maker one letter off": {[]string{"Ostermann,,1,9,1920,1920,,,,",
			"Osterman,,1,9,1910,1910,,,,"}, []string{"3 maker spelt two ways"}},
		"short names may differ": {[]string{"Fenn,,1,9,1920,1920,,,,", "Fern,,1,9,1910,1910,,,,"},
			nil},
	} {
		var got []string
		for _, f := range tables(t, c.rows...).Check() {
			assert.Equal(t, "t.csv", f.File, name)
			got = append(got, fmt.Sprintf("%d %s", f.Line, f.Kind))
		}
		assert.Equal(t, c.want, got, name)
	}
}

func TestCheckAcrossFiles(t *testing.T) {
	got := files(t, map[string][]string{
		"a.csv": {"A,,1,9,1920,1920,,,x,", "A,,10,19,1921,1921,,,x,", "A,,20,29,1922,1922,,,x,",
			"A,,40,49,1923,1923,,,x,"},
		"b.csv": {"A,,1,9,1920,1920,,,y,", "A,,15,24,1922,1922,,,y,", "A,,30,39,1922,1922,,,y,",
			"A,,40,49,1923,1923,,,x,"},
	}).Check()
	assert.Contains(t, faultTexts(files(t, map[string][]string{
		"a.csv": {"A,,1,90,1920,1920,,North,,", "A,,91,,1921,1921,,North,,", "A,,2,95,1930,1930,,South,,"},
		"b.csv": {"A,,50,59,1922,1922,,North,,"},
	}).Check()), "b.csv:2: tables disagree: 50–59 is 1922 here and 1–90 is 1920 at a.csv:2: find out which "+
		"source is right, or keep both and see both years",
		"another works' higher row hides no disagreement")
	assert.Equal(t, []string{
		"b.csv:3: tables disagree: 15–24 is 1922 here and 10–19 is 1921 at a.csv:3: find out which source " +
			"is right, or keep both and see both years",
		"b.csv:5: duplicate row: the row repeats a.csv:5: delete one of the two",
	}, faultTexts(got),
		"rows that agree, and that fill each other's gaps, are no fault; the disagreement is told once")
}

// A row that disagrees with two files has two faults on one line; they must not change places from one check
// to the next.
func TestCheckSaysTheSameEachTime(t *testing.T) {
	all := files(t,
		map[string][]string{"a.csv": {"A,,1,9,1920,1920,,,,"}, "b.csv": {"A,,1,9,1921,1921,,,,"},
			"c.csv": {"A,,5,9,1922,1922,,,,"}})
	first := faultTexts(all.Check())
	require.Len(t, first, 3)
	for range 30 {
		require.Equal(t, first, faultTexts(all.Check()))
	}
}

func TestCheckOfALongTableIsQuick(t *testing.T) {
	var b strings.Builder
	b.WriteString(firstLine)
	for range 100_000 {
		b.WriteString("A,,1,900000,1920,1920,,,,\n")
	}
	rows, faults := table.Read("t.csv", strings.NewReader(b.String()))
	require.Empty(t, faults)
	assert.Equal(t, 99_999, len(serials.NewTables(rows).Check()))
}
