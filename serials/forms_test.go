package serials_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/serials"
	"pitman/serials/table"
	"pitman/serials/years"
)

const formsLine = "maker,form,values,model,case,from,to,source,note\n"

// formed reads rows and forms of makers; each list is a file.
func formed(t testing.TB, rows, forms []string) *serials.Tables {
	r, faults := table.Read("rows.csv", strings.NewReader(firstLine+strings.Join(rows, "\n")+"\n"))
	require.Empty(t, faults)
	f, faults := table.Read("forms.csv", strings.NewReader(formsLine+strings.Join(forms, "\n")+"\n"))
	require.Empty(t, faults)
	return serials.NewTables(f, r)
}

func TestSerialsOfAForm(t *testing.T) {
	tables := formed(t, []string{
		"Quill,*A,1,999,1900,1900,,,,", "Quill,*B,1,999,1901,1901,,,,", // a letter behind the number
		"Fenn,57-,1,99999,1910,1910,,,,", "Fenn,58-,1,99999,1911,1911,,,,", // a lot before a separator
		"Wren,,1,500000,1920,1920,,,,",                           // always six figures
		"Lark,k,1,99,1930,1930,,,,", "Lark,K,1,99,1931,1931,,,,", // small letters are others
		"Swift,Ж,1,99,1940,1940,,,,", "Swift,Я,1,99,1941,1941,,,,",
		"Tern,,1,99,1950,1950,,North works,,", "Tern,,1,99,1955,1955,,South works,,",
	}, []string{
		"Quill,n+a", "Fenn,dd-n+", "Wren,nnnnnn", "Lark,an+,,,kept", "Swift,an+",
		"Tern,wn+,N=North works;S=South works", "Rook,yn+,A=1920;B=1921;C=1946;C=1922",
	})
	for _, c := range []struct{ maker, serial, year, shown string }{
		{"Quill", "500 a", "1900", "500A"},
		{"Quill", "500B", "1901", "500B"},
		{"Quill", "500?", "1900–1901", "500?"},
		{"Quill", "5?0B", "1901", "5?0B"},
		{"Quill", "A500", "unknown", "A500"}, // the letter stands behind on this maker's machines
		{"Quill", "500", "unknown", "500"},
		{"Fenn", "57-12345", "1910", "57-12345"},
		{"Fenn", "58/12345", "1911", "58-12345"},
		{"Fenn", "5812345", "1911", "58-12345"},
		{"Fenn", "5?-12345", "1910–1911", "5?-12345"},
		{"Fenn", "57-??345", "1910", "57-??345"},
		{"Fenn", "57--345", "1910", "57-??345"},
		{"Wren", "012345", "1920", "012345"},
		{"Wren", "12345", "unknown", "12345"},
		{"Wren", "?12345", "1920 or later", "?12345"},
		{"Lark", "k7", "1930", "k7"},
		{"Lark", "K7", "1931", "K7"},
		{"Swift", "ж7", "1940", "Ж7"},
		{"Swift", "?7", "1940–1941", "?7"},
		{"Tern", "N7", "1950", "N7"},
		{"Tern", "s7", "1955", "S7"},
		{"Tern", "7", "unknown", "7"},
		{"Rook", "B7", "1921", "B7"},
		{"Rook", "C7", "1922–1946", "C7"},
		{"Rook", "Z7", "unknown", "Z7"},
	} {
		a := date(t, tables, serials.Query{Maker: c.maker, Serial: c.serial})
		assert.Equal(t, []string{c.year, c.shown}, []string{a.Year(), a.Serial}, "%s %s", c.maker, c.serial)
		e, err := tables.Estimate(c.maker, c.serial)
		require.NoError(t, err)
		assert.Equal(t, a.Estimate, e, "the quick way says the same")
	}
	says := func(maker, serial string) []string {
		return date(t, tables, serials.Query{Maker: maker, Serial: serial}).Notes
	}
	assert.Contains(t, says("Wren", "12345"),
		`serial 12345 is not written as Wren wrote its numbers (nnnnnn at `+
			`forms.csv:4): look at it again`)
	assert.Contains(t, says("Rook", "B7"), "in the serial B stands for 1921 (forms.csv:8)")
	assert.Contains(t, says("Quill", "5008"),
		`read as 500B it would be 1901: look whether a letter was taken `+
			`for a digit`)
	a := date(t, tables, serials.Query{Maker: "Rook", Serial: "B7", Seen: []int{1910}})
	assert.True(t, a.Contradicted, "a year that the number spells is evidence like any other")
	assert.Empty(t, tables.Check(), "each row is of a form of its maker")
}

func TestRowsAgainstTheForm(t *testing.T) {
	tables := formed(t, []string{"Quill,A,1,999,1900,1900,,,,", "Quill,*B,1,999,1901,1901,,,,",
		"Wren,,999990,1000005,1920,1920,,,,", "Fenn,,1,9,1930,1930,,,,"},
		[]string{"Quill,n+a", "Wren,nnnnnn", "Fenn,yn"})
	assert.Equal(t, []string{
		`forms.csv:4: bad form: form "yn" has the year in it: say under values which, such as A=1920; B=1921`,
		`rows.csv:2: against the form: A1–A999 is not written as Quill wrote its numbers (n+a at forms.csv:2): ` +
			`mend the prefix or the numbers, or add the form`,
		`rows.csv:4: against the form: 999990–1000005 is not written as Wren wrote its numbers (nnnnnn at ` +
			`forms.csv:3): mend the prefix or the numbers, or add the form`,
	}, faultTexts(tables.Check()))
}

func TestFormsOfAModelAndATime(t *testing.T) {
	tables := formed(t, []string{"Quill,,1,999999,1900,1949,,,,"},
		[]string{"Quill,nnnn,,Dart", "Quill,nnnnnn,,,,1930,1949"})
	assert.Equal(t, years.Span{From: 1930, To: 1949}, spanOf(date(t, tables, serials.Query{Maker: "Quill",
		Serial: "123456"})))
	assert.Equal(t, years.Span{From: 1900, To: 1949}, spanOf(date(t, tables, serials.Query{Maker: "Quill",
		Serial: "1234", Model: "Dart"})))
	assert.Equal(t, "unknown", date(t, tables, serials.Query{Maker: "Quill", Serial: "1234",
		Model: "Lark"}).Year())
}

func spanOf(a serials.Answer) years.Span { return years.Span{From: a.From, To: a.To} }
