package grammar_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/serials/grammar"
	"pitman/serials/table"
	"pitman/serials/years"
)

// form is the form of a row of a table of forms.
func form(t *testing.T, cells string) (*grammar.Form, error) {
	t.Helper()
	file, faults := table.Read("t.csv",
		strings.NewReader("maker,form,values,model,case,from,to,source,note\n"+
			"Quill,"+cells+"\n"))
	require.Empty(t, faults)
	return grammar.New(file.Forms[0])
}

func TestReading(t *testing.T) {
	for _, c := range []struct{ cells, typed, key, shown string }{
		{"nnnnn", "12345", "12345", "12345"},
		{"nnnnn", "00345", "345", "00345"},
		{"nnnnn", "1234", "", ""},
		{"nnnnn", "12 345", "12345", "12345"},
		{"nnnnn", "123456", "", ""},
		{"nn+", "7", "", ""},
		{"nn+", "7123456", "7123456", "7123456"},
		{"aannnnnn", "ka 012345", "KA12345", "KA012345"},
		{"aannnnnn", "K012345", "", ""},
		{"aannnnnn", "KA0?2345", "KA0?2345", "KA0?2345"},
		{"aannnnnn", "KA01----", "KA1????", "KA01????"},
		{"n+a", "12345B", "*B12345", "12345B"},
		{"an+a", "K12345B", "K*B12345", "K12345B"},
		{"an+a", "K12345?", "K*?12345", "K12345?"},
		{"n+-aa", "123-BC", "*BC123", "123-BC"},
		{"dd-n+", "57-12345", "57-12345", "57-12345"},
		{"dd-n+", "57/12345", "57-12345", "57-12345"},
		{"dd-n+", "5712345", "57-12345", "57-12345"},
		{"d+/n+", "12/345", "12-345", "12/345"},
		{"d+/n+", "12345", "", ""},
		{"ddnnnn", "570045", "57-45", "570045"},
		{`\kn+,,,kept`, "k12", "k12", "k12"},
		{`\kn+,,,kept`, "K12", "", ""},
		{"an+,,,kept", "k12", "k12", "k12"},
		{"an+", "k12", "K12", "K12"},
		{"an+", "Ж12", "Ж12", "Ж12"},
		{"an+", "ж?2", "Ж?2", "Ж?2"},
		{"Sn+", "s12", "S12", "S12"},
		{"Sn+", "T12", "", ""},
	} {
		f, err := form(t, c.cells)
		require.NoError(t, err, c.cells)
		r, ok := f.Read(c.typed)
		assert.Equal(t, c.key != "", ok, "%s %s", c.cells, c.typed)
		if ok {
			assert.Equal(t, [2]string{c.key, c.shown}, [2]string{r.Key, r.Shown}, "%s %s", c.cells, c.typed)
		}
	}
}

func TestLettersThatSpell(t *testing.T) {
	for _, c := range []struct {
		cells, typed string
		years        years.Span
		works, tells string
	}{
		{"yn+,A=1920;B=1921", "B12", years.Span{From: 1921, To: 1921}, "", "B stands for 1921"},
		{"yn+,A=1920;A=1946", "A12", years.Span{From: 1920, To: 1946}, "", "A stands for 1920 or 1946"},
		{"yn+,A=1920;B=1921", "?12", years.Span{}, "", ""},
		{"yy-nnn,,,,1950,1979", "57-012", years.Span{From: 1957, To: 1957}, "", "57 stands for 1957"},
		{"nnnyyyy", "0121931", years.Span{From: 1931, To: 1931}, "", "1931 stands for 1931"},
		{"mmyyn+,,,,1920,1939", "0331999", years.Span{From: 1931, To: 1931}, "",
			"03 stands for March, 31 stands for 1931"},
		{"ymn+,A=1920;B=1921;A=May;C=6", "AC7", years.Span{From: 1920, To: 1920}, "",
			"A stands for 1920, C stands for June"},
		{"wn+,N=North works;S=South works", "n7", years.Span{}, "North works", "N stands for North works"},
	} {
		f, err := form(t, c.cells)
		require.NoError(t, err, c.cells)
		r, ok := f.Read(c.typed)
		require.True(t, ok, c.cells)
		assert.Equal(t, []any{c.years, c.works, c.tells}, []any{r.Years, r.Works, r.Tells}, c.cells)
	}
	for cells, typed := range map[string]string{"yn+,A=1920": "B12", "yy-nnn,,,,1950,1959": "61-012",
		"mmn+": "1399"} {
		f, err := form(t, cells)
		require.NoError(t, err)
		_, ok := f.Read(typed)
		assert.False(t, ok, "%s spells nothing in %s", typed, cells)
	}
}

func TestFormsThatCannotBe(t *testing.T) {
	for cells, says := range map[string]string{
		"aa":               `form "aa" must have its number in one piece: write n for each figure, or n+`,
		"nn-nn":            `form "nn-nn" must have its number in one piece: write n for each figure, or n+`,
		"y+n":              `form "y+n" has a + that follows no n, a or d: write n+ for one or more figures`,
		"kn":               `form "kn" has 'k' in it: places are n, a, d, y, m and w; write \k where that very letter is stamped`,
		"a?n":              `form "a?n" has '?' in it, which no serial number has`,
		"yn":               `form "yn" has the year in it: say under values which, such as A=1920; B=1921`,
		"yyn":              `form "yyn" has two figures of the year in it: give from and to, so that the century is known`,
		"mn":               `form "mn" has the month in it: say under values which, such as A=January, or write mm for two figures`,
		"wn":               `form "wn" has the works in it: say under values which, such as N=North works`,
		"nn,A=1920":        `form "nn" has no place y for what "A" spells`,
		"nnnnnnnnnnnnnnnn": `form "nnnnnnnnnnnnnnnn" is longer than a serial number can be`,
	} {
		_, err := form(t, cells)
		assert.EqualError(t, err, says)
	}
}

func TestRowsOfAForm(t *testing.T) {
	for _, c := range []struct {
		cells, prefix string
		last          uint64
		holds         bool
	}{
		{"aannn", "KA", 999, true}, {"aannn", "KA", 1000, false}, {"aannn", "K", 999, false},
		{"aan+", "KA", 1_000_000, true}, {"n+a", "*B", 5, true}, {"n+a", "B", 5, false},
		{"dd-n+", "57-", 5, true}, {"dd-n+", "", 5, false}, {"yn+,A=1920", "", 5, true},
		{"Sn+", "S", 5, true},
	} {
		f, err := form(t, c.cells)
		require.NoError(t, err)
		assert.Equal(t, c.holds, f.Holds(c.prefix, c.last), "%s %s%d", c.cells, c.prefix, c.last)
	}
}

// Whatever is typed, reading does not fail, and what is read has a key that the engine takes.
func FuzzForm(f *testing.F) {
	f.Add("aan+-a", "KA12-3?B")
	f.Add("yymm/nnn", "5?12/0??")
	f.Add(`\kd+-n`, "k--57-1")
	f.Fuzz(func(t *testing.T, text, typed string) {
		one, err := grammar.New(table.Form{Form: text, From: 1900, To: 1950,
			Values: []table.Value{{Written: "A", Year: 1920}}})
		if err != nil {
			return
		}
		if r, ok := one.Read(typed); ok {
			assert.NotEmpty(t, r.Key)
			again, ok := one.Read(r.Shown)
			assert.True(t, ok, "what is shown is of the form, too")
			assert.Equal(t, r.Key, again.Key)
		}
	})
}
