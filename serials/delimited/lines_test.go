package delimited_test

import (
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/serials/delimited"
)

func TestKeep(t *testing.T) {
	for in, want := range map[string]string{
		"":                                     "",
		"a,b\nx,1\ny,2\n":                      "a,b\ny,2\n",
		"a,b\r\n# x,1\r\n\r\nx,1\r\ny,2":       "a,b\r\n# x,1\r\n\r\ny,2",
		"a;b\n\"x\";\"1\n2\"\n\n\"y\";\"3\n\"": "a;b\n\n\"y\";\"3\n\"",
		"x,1\nx,2\n\nx,3":                      "\n",
		"a,b\nx\"y,1\nx,2\ny,3\n":              "a,b\nx\"y,1\ny,3\n",
		"a,b\nx,2\n\"y,3\nx,4\n":               "a,b\n\"y,3\nx,4\n",
		"a\tb\rx\t1\ry\t2\r":                   "a\tb\ny\t2\n",
		"a,Gr\xfcn\nx,1\n":                     "a,Grün\n",
	} {
		got, err := delimited.Keep([]byte(in), func(cells []string) bool { return cells[0] != "x" })
		require.NoError(t, err)
		assert.Equal(t, want, string(got), "%q", in)
	}
	_, err := delimited.Keep([]byte("PK\x03\x04\x00"), func([]string) bool { return true })
	assert.ErrorIs(t, err, delimited.ErrNotText)
}

// What is left has the rows that were wanted and no others, and where all are, every byte.
func FuzzKeep(f *testing.F) {
	for _, seed := range []string{"x,1\ny,2\n", "#\n\"x\n\",1\r\n\r\ny,\"\"\"\"", "a\"b,c\nx,\n\"x\" ",
		"x;1\ry;2\r", "\"x,\n"} {
		f.Add(seed, "x")
	}
	f.Fuzz(func(t *testing.T, text, drop string) {
		if !utf8.ValidString(text) {
			return // in what encoding the rest is may then depend on how much of it is left
		}
		text = "heading,\n" + text // tells the separator
		all, err := delimited.Keep([]byte(text), func([]string) bool { return true })
		if err != nil {
			require.ErrorIs(t, err, delimited.ErrNotText)
			return
		}
		require.Equal(t, text, string(all))
		var want, got [][]string
		kept, err := delimited.Keep(all, func(cells []string) bool {
			if cells[0] != "heading" && strings.Contains(cells[0], drop) {
				return false
			}
			want = append(want, cells)
			return true
		})
		require.NoError(t, err)
		_, err = delimited.Keep(kept, func(cells []string) bool {
			got = append(got, cells)
			return true
		})
		require.NoError(t, err)
		require.Equal(t, want, got)
	})
}
