package delimited

import (
	"bytes"
	"errors"
	"io"
	"strings"
	"testing"
	"testing/iotest"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func read(t testing.TB, text string, lines Lines) (string, rune) {
	t.Helper()
	var got []string
	var commas []rune
	for _, from := range []io.Reader{strings.NewReader(text), iotest.OneByteReader(strings.NewReader(text))} {
		in, err := Open(from, lines)
		require.NoError(t, err)
		all, err := io.ReadAll(in)
		require.NoError(t, err)
		got, commas = append(got, string(all)), append(commas, in.Comma)
	}
	require.Equal(t, got[0], got[1], "however the bytes come")
	require.Equal(t, commas[0], commas[1])
	return got[0], commas[0]
}

// The bytes are written out by hand from the code charts: UTF-16 by RFC 2781, Windows-1252 by the table that
// IANA refers to.
func TestEncodings(t *testing.T) {
	for name, c := range map[string]struct{ in, want string }{
		"UTF-8":                        {"a,Gr\xc3\xbcn\n", "a,Grün\n"},
		"UTF-8 with a byte-order mark": {"\xef\xbb\xbfa,Gr\xc3\xbcn\n", "a,Grün\n"},
		"UTF-16, little end first":     {"\xff\xfea\x00,\x00\xfc\x00\x3d\xd8\x00\xde\n\x00", "a,ü😀\n"},
		"UTF-16, big end first":        {"\xfe\xff\x00a\x00,\x00\xfc\xd8\x3d\xde\x00\x00\n", "a,ü😀\n"},
		"UTF-16 without a mark":        {"a\x00,\x00\xb6\x67\n\x00", "a,架\n"},
		"the same the other way round": {"\x00a\x00,\x67\xb6\x00\n", "a,架\n"},
		"Windows-1252":                 {"a,Gr\xfcn \x80 \x93x\x94\n", "a,Grün € “x”\n"},
		"one that looks like UTF-8":    {"CAF\xc9\x94,Gr\xfcn,Br\xfccke,\xd6l\n", "CAFÉ”,Grün,Brücke,Öl\n"},
		"nothing":                      {"", ""},
		"a mark alone":                 {"\xef\xbb\xbf", ""},
		"a letter far behind the start": {strings.Repeat("x", 3*sample) + "\xfc\n",
			strings.Repeat("x", 3*sample) + "ü\n"},
		"the same in UTF-8": {strings.Repeat("x", 3*sample-1) + "\xc3\xbc\n",
			strings.Repeat("x", 3*sample-1) + "ü\n"},
		"more letters than looked at": {strings.Repeat("\xc3\xbc", sample), strings.Repeat("ü", sample)},
		"one cut by the end of a sample": {"\xc3\xbc" + strings.Repeat("架", sample), "ü" +
			strings.Repeat("架", sample)},
	} {
		got, _ := read(t, c.in, Rows)
		assert.Equal(t, c.want, got, name)
	}
}

// What cannot be decoded must not pass for text.
func TestWhatHasNoMeaningIsNotUTF8(t *testing.T) {
	for name, text := range map[string]string{
		"a damaged letter among whole ones":       "Gr\xc3\xbcn,\xc3\xb6,\xfc\n",
		"a place that Windows-1252 leaves empty":  "\xfc,\xfc,\x81\n",
		"half a pair in UTF-16":                   "\xff\xfea\x00\x3d\xd8,\x00",
		"UTF-16 that ends in the middle":          "\xff\xfea\x00b",
		"a damaged letter behind the mark of one": "\xef\xbb\xbf\xfc,\xfc\n",
	} {
		got, _ := read(t, text, Rows)
		assert.False(t, utf8.ValidString(got), "%s: %q", name, got)
	}
}

func TestLinesThatEndInACarriageReturn(t *testing.T) {
	for text, want := range map[string]string{"a;b\r1;2\r": "a;b\n1;2\n", "a;b\r\n1;2\r\n": "a;b\r\n1;2\r\n",
		"a;b\n\"1\r\";2\n": "a;b\n\"1\r\";2\n", "\r": "\n",
		"a;b\r" + strings.Repeat("1;2\r", sample): "a;b\n" + strings.Repeat("1;2\n", sample)} {
		got, comma := read(t, text, Rows)
		assert.Equal(t, want, got)
		if len(text) > 1 {
			assert.Equal(t, ';', comma)
		}
	}
}

func TestSeparators(t *testing.T) {
	for text, want := range map[string]rune{
		"":                                    ',',
		"maker\n":                             ',',
		"a,b\n":                               ',',
		"a;b\n":                               ';',
		"a\tb\n":                              '\t',
		"a,b;c\n":                             ',',
		"a,b;c;d\n":                           ';',
		strings.Repeat("\x80", 99) + ";\n":    ';', // three times as long in UTF-8
		"a;b\n1,2,3,4;5\n":                    ';',
		"\"a,b,c\";d\n":                       ';',
		"\"a;\nb;\",d\n":                      ',',
		"\n;;;\r\na;b;c\n":                    ';',
		"# one, two, \"three\na;b\n":          ';',
		"\"# one; two; three\",,\na,b,c\n":    ',',
		"\"# \"\"one\"\", two\";;\na;b;c\n":   ';',
		"#;n;\xc3\xbc\n# a, b\nmaker\tx\ty\n": '\t',
	} {
		_, comma := read(t, text, OrComments)
		assert.Equal(t, string(want), string(comma), "%q", text)
	}
	_, comma := read(t, "#;maker\n1,2,3;x\n", Rows)
	assert.Equal(t, ";", string(comma), "a heading may be #")
}

func TestWhatIsNoText(t *testing.T) {
	for _, text := range []string{"PK\x03\x04\x00\x00", "\x00\x00\x00", "\xff\xfea\x00\x00\x00"} {
		_, err := Open(strings.NewReader(text), Rows)
		assert.ErrorIs(t, err, ErrNotText, "%q", text)
	}
	broken := errors.New("disk")
	_, err := Open(iotest.ErrReader(broken), Rows)
	assert.ErrorIs(t, err, broken)
	in, err := Open(io.MultiReader(strings.NewReader("a,b\n"), iotest.ErrReader(broken)), Rows)
	require.NoError(t, err)
	text, err := io.ReadAll(in)
	assert.Equal(t, "a,b\n", string(text))
	assert.ErrorIs(t, err, broken)
}

// One table is the same, however it is saved.
func FuzzSavedAlike(f *testing.F) {
	f.Add("maker,serial\nGrün,1\n")
	f.Add("a,\"b\"\"c\"\nä架😀,\n")
	f.Fuzz(func(t *testing.T, text string) {
		in, err := Open(strings.NewReader(text), Rows)
		if err != nil {
			require.ErrorIs(t, err, ErrNotText)
			return
		}
		_, err = io.ReadAll(in)
		require.NoError(t, err)
		if !utf8.ValidString(text) || strings.HasPrefix(text, "\ufeff") ||
			strings.ContainsRune(text, utf8.RuneError) || strings.ContainsRune(text, 0) {
			return
		}
		plain, comma := read(t, "\ufeff"+text, Rows)
		require.Equal(t, text, plain)
		for _, big := range []bool{false, true} {
			wide, other := read(t, utf16Text(text, big), Rows)
			require.Equal(t, text, wide)
			require.Equal(t, comma, other)
		}
	})
}

// utf16Text encodes by the definition in RFC 2781.
func utf16Text(text string, big bool) string {
	var b bytes.Buffer
	put := func(unit rune) {
		if big {
			b.Write([]byte{byte(unit >> 8), byte(unit)})
		} else {
			b.Write([]byte{byte(unit), byte(unit >> 8)})
		}
	}
	put(0xfeff)
	for _, r := range text {
		if r < 0x10000 {
			put(r)
			continue
		}
		put(0xd800 | (r-0x10000)>>10)
		put(0xdc00 | (r-0x10000)&0x3ff)
	}
	return b.String()
}
