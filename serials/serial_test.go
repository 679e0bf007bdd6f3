package serials_test

import (
	"encoding/json"
	"strings"
	"testing"
	property "testing/quick"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/serials"
	"pitman/serials/stamp"
	"pitman/serials/table"
	"pitman/serials/years"
)

func TestNormalise(t *testing.T) {
	for typed, want := range map[string]string{
		"k 123.456": "K123456", "K-00-123": "K123", "0012": "12", "000": "0", "k0": "K0", " ab 12 ": "AB12",
		"12–34": "1234",
		"1,234": "1234", "#1234": "1234", "№ 77": "77", "1 234": "1234", "k00?1": "K0?1", "0??": "0??",
		"?01":   "?01",
		"12o34": "12O34", "": "", "AB": "AB", "1a002": "1A2",
		// digits of other scripts are worth the same: fullwidth, Devanagari, Arabic, Adlam, mathematical
		"ｋ５０": "Ｋ50", "ж५०": "Ж50", "٠٥?": "5?", "𞥕𞥐": "50", "𝟗𝟡": "99",
	} {
		assert.Equal(t, want, stamp.Normalise(typed), "%q", typed)
	}
	require.NoError(t,
		property.Check(func(s string) bool { return stamp.Normalise(stamp.Normalise(s)) == stamp.Normalise(s) }, nil))
}

func TestWaysOfTypingTheSameSerial(t *testing.T) {
	tables := tables(t, "Quill & Sons,KA,100,200,1920,1920,,,,")
	for _, typed := range []string{"KA150", "ka150", "ka 150", "K.A.-150", " KA00150", "Ka 1-5-0"} {
		for _, maker := range []string{"Quill & Sons", "quill and sons", "QUILL&SONS",
			" Quill  & sons Mfg. Co.", "Quill & Sons Ltd"} {
			a := date(t, tables, serials.Query{Maker: maker, Serial: typed})
			assert.Equal(t, years.Estimate{From: 1920, To: 1920, Best: 1920, Basis: years.Range}, a.Estimate,
				"%s %s", maker, typed)
			assert.Equal(t, []any{"KA150", "Quill & Sons", "KA", table.Known(150)},
				[]any{a.Serial, a.Maker, a.Prefix, a.Number})
		}
	}
}

func TestSerialsThatCannotBeRead(t *testing.T) {
	for typed, want := range map[string]string{
		"": "the serial is empty: type the number on the machine, with ? for each character that you " +
			"cannot read, or none",
		" - . ": "the serial is empty: type the number on the machine, with ? for each character that you " +
			"cannot read, or none",
		"ABC":              `serial "ABC" has no number in it: type the digits too, with ? for each one that you cannot read`,
		"12$4":             `serial "12$4" has "$" in it: type letters, digits, and ? for each character that you cannot read`,
		"12€4":             `serial "12€4" has "€" in it: type letters, digits, and ? for each character that you cannot read`,
		"1234567890123456": `serial "1234567890123456" has more than 15 digits: type the number as it is stamped`,
		strings.Repeat("A1",
			3000): `serial "A1A1A1A1A1A1A1A1A1A1A1A1A1A1A1A1A1A1A1A1…" is too long: type at most 32 letters and digits`,
	} {
		_, err := starterTables(t).Date(serials.Query{Maker: "Bartholf", Serial: typed})
		var input *stamp.InputError
		require.ErrorAs(t, err, &input)
		assert.Equal(t, want, err.Error())
		_, err = starterTables(t).Estimate("Bartholf", typed)
		assert.Error(t, err)
	}
	for _, q := range []serials.Query{{Serial: stamp.None, PatentDates: []int{12}},
		{Serial: stamp.None, Seen: []int{19200}}} {
		_, err := starterTables(t).Date(q)
		assert.ErrorContains(t, err, "is not a year: type four digits, 1700 to 2100")
	}
}

// Works stamped letters of their own alphabet; such a machine has no row, and is logged like any other.
func TestLettersOfAnyAlphabet(t *testing.T) {
	a := date(t, starterTables(t), serials.Query{Maker: "Bartholf", Serial: "щя 12?4"})
	assert.Equal(t, "ЩЯ12?4", a.Serial)
	assert.Equal(t, years.NoBasis, a.Basis)
}

func TestConfusedCharacters(t *testing.T) {
	tables := tables(t, "Quill,,120000,129999,1920,1920,,,,", "Quill,S,1,99,1930,1930,,,,",
		"Quill,BO,1,99,1940,1940,,,,")
	for serial, want := range map[string][]string{
		"12O456": {"read as 120456 it would be 1920: look whether a letter was taken for a digit"},
		"I2O4S6": {"read as 120456 it would be 1920: look whether a letter was taken for a digit"},
		"B07":    {"read as BO7 it would be 1940: look whether a letter was taken for a digit"},
		"12O?56": {"read as 120?56 it would be 1920: look whether a letter was taken for a digit"},
		"57":     nil, // plain numbers exist, so 57 is found to lie below them and S7 is not suggested
		"Q7":     nil,
	} {
		var got []string
		for _, n := range date(t, tables, serials.Query{Maker: "Quill", Serial: serial}).Notes {
			if strings.HasPrefix(n, "read as") {
				got = append(got, n)
			}
		}
		assert.Equal(t, want, got, serial)
	}
	var few []string
	for _, n := range date(t,
		files(t, map[string][]string{"t.csv": {"Quill,S,1,99,1930,1930,,,,",
			"Quill,,500,599,1920,1920,,,,"}}),
		serials.Query{Maker: "Quill", Serial: "SO7"}).Notes {
		if strings.HasPrefix(n, "read as") {
			few = append(few, n)
		}
	}
	assert.Equal(t, []string{"read as S7 it would be 1930: look whether a letter was taken for a digit"}, few,
		"507 would take two changes")
	open := files(t, map[string][]string{"t.csv": {"Quill,,1,,1920,1920,,,,"}})
	for _, n := range date(t, open, serials.Query{Maker: "Quill", Serial: "?2345678O123456789"}).Notes {
		assert.NotContains(t, n, "read as", "no machine has a number of 18 digits")
	}
	assert.Equal(t,
		[]string{"no row for Q7 in the tables read: t.csv", "the nearest prefix that exists is S"},
		date(t, tables, serials.Query{Maker: "Quill", Serial: "Q7"}).Notes)
	assert.Contains(t, date(t, tables, serials.Query{Maker: "Quill", Serial: "BQ7"}).Notes,
		"the nearest prefix that exists is BO")
}

func FuzzSerial(f *testing.F) {
	for _, s := range []string{"670974", "K 123-456", "ka00?12", "?1500", "12O456", "Z?499", "", "none",
		"???", "1234567890123456", "É1", "\xff1", "0?0?0"} {
		f.Add(s, "Quill", 1880, "1234567@bed")
	}
	tables := tables(f, append([]string{
		"Fenn,Z,0001,0499,1940,1940,,,,",
		"Fenn,,500,,1920,1920,Dart,,,",
	}, line...)...)
	f.Fuzz(func(t *testing.T, serial, maker string, year int, patent string) {
		c := stamp.Normalise(serial)
		require.Equal(t, c, stamp.Normalise(c), "normalising twice changes nothing")
		for _, q := range []serials.Query{
			{Serial: serial, Maker: maker}, {Serial: serial, Maker: "Fenn", Seen: []int{year}},
			{Serial: serial, Maker: "Quill", PatentDates: []int{year}},
			{Serial: serial, Maker: "Fenn", Patents: []string{patent}, Model: maker},
		} {
			a, err := tables.Date(q)
			if err != nil {
				require.NotContains(t, err.Error(), "\n", "one sentence")
				continue
			}
			if a.From != 0 && a.To != 0 {
				require.LessOrEqual(t, a.From, a.To, "%+v", q)
			}
			if a.Best != 0 {
				require.True(t, a.From <= a.Best && a.Best <= a.To, "%+v: %+v", q, a.Estimate)
			}
			require.NotEmpty(t, a.Basis)
			_, err = json.Marshal(a)
			require.NoError(t, err)
			again, err := tables.Date(serials.Query{Serial: a.Serial, Maker: q.Maker, Seen: q.Seen,
				PatentDates: q.PatentDates, Patents: q.Patents, Model: q.Model})
			require.NoError(t, err)
			require.Equal(t, a.Estimate, again.Estimate, "the normalised serial says the same")
			if len(a.Bounds) == 0 {
				e, err := tables.Estimate(q.Maker, serial)
				require.NoError(t, err)
				require.Equal(t, a.Estimate, e, "the quick way says the same")
			}
		}
	})
}
