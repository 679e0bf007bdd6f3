package desk

import (
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/require"
	"golang.org/x/text/transform"
)

func TestTypedIsRead(t *testing.T) {
	for sent, read := range map[string]string{"Müller 漢": "Müller 漢", "caf\xe9zz": "cafézz",
		"\xff\xfeA": "ÿþA", "a\uFFFDb": "a?b", "": ""} {
		got, _, err := transform.String(typed{}, sent)
		require.NoError(t, err)
		require.Equal(t, read, got)
	}
}

// Whatever comes in, in pieces of any size, the reader gets past it and passes on UTF-8.
func FuzzTyped(f *testing.F) {
	f.Add([]byte("caf\xe9"), byte(1))
	f.Add([]byte("\xe6\xbc\xa2\xf0\x9f"), byte(2))
	f.Fuzz(func(t *testing.T, sent []byte, room byte) {
		dst := make([]byte, utf8.UTFMax+int(room%8))
		for len(sent) > 0 {
			nDst, nSrc, err := typed{}.Transform(dst, sent, false)
			require.True(t, utf8.Valid(dst[:nDst]))
			sent = sent[nSrc:]
			if err == transform.ErrShortSrc {
				require.False(t, utf8.FullRune(sent), "only the rest of a letter is waited for")
				return
			}
			require.NotZero(t, nSrc, "the keyboard would be dead")
		}
	})
}

func TestEveryLocaleThatSpeaksUTF8(t *testing.T) {
	s := sit(t, "QX")
	for _, charset := range []string{"UTF-8", "utf8", "utf-8"} {
		require.True(t, speaksUTF8(charset))
	}
	s.resize("utf8", 80, 24)
	s.sees("QX · 0 done today")
	s.resize("US-ASCII", 80, 24)
	s.sees("QX - 0 done today")
}
