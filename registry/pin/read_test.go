package pin_test

import (
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pitman/registry"
	"pitman/registry/pin"
)

func TestFromFile(t *testing.T) {
	for text, want := range map[string]string{
		"482911": "482911", "482911\n": "482911", "482911\r\n": "482911", "482911\r": "482911",
		"\ufeff482911\n\n": "482911", "  four words of it \t\n": "four words of it",
		"cafe\u0301": "caf\u00e9", // by Unicode Standard Annex 15, form C
	} {
		got, err := pin.FromFile([]byte(text))
		require.NoError(t, err, "%q", text)
		assert.Equal(t, want, got)
	}
	for text, want := range map[string]string{
		"": "0 lines", "\n": "0 lines", "\r\n\r\n": "0 lines", "482911\n482911\n": "2 lines",
		"\n482911\n": "2 lines", "123": "3 characters", strings.Repeat("9", 65): "65 characters",
		strings.Repeat("9", 2*pin.MaxFile): "too long", "\xff\xfe4\x008\x002\x009\x00": "no plain text",
		"\xfe\xff\x004\x008\x002\x009": "no plain text", "4\x008\x002\x009\x00": "no plain text",
		"48\x1b[2911": "cannot be seen", "4829\u200b11": "cannot be seen",
	} {
		_, err := pin.FromFile([]byte(text))
		require.ErrorContains(t, err, want, "%q", text)
		assert.Equal(t, registry.Invalid, registry.CodeOf(err))
	}
}

// Whatever stands in a file, it is a PIN that can be typed again, or refused in a sentence without it.
func FuzzFromFile(f *testing.F) {
	f.Add([]byte("482911\r\n"))
	f.Add([]byte("\xff\xfe4\x008\x00"))
	f.Fuzz(func(t *testing.T, text []byte) {
		got, err := pin.FromFile(text)
		if err != nil {
			require.Equal(t, registry.Invalid, registry.CodeOf(err))
			require.True(t, utf8.ValidString(err.Error()))
			return
		}
		again, err := pin.Read(got)
		require.NoError(t, err)
		require.Equal(t, got, again)
	})
}
