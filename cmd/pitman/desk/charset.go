package desk

import (
	"strings"
	"unicode/utf8"

	"github.com/gdamore/tcell/v2"
	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/transform"
)

// registerCharsets tells the terminal library which letters terminals have. Old ones that speak a western
// code get it; any other is served in plain ASCII.
func registerCharsets() {
	for name, as := range map[string]encoding.Encoding{"ISO8859-1": charmap.ISO8859_1,
		"ISO-8859-1": charmap.ISO8859_1,
		"ISO8859-15": charmap.ISO8859_15, "ISO-8859-15": charmap.ISO8859_15} {
		tcell.RegisterEncoding(name, as)
	}
	tcell.SetEncodingFallback(tcell.EncodingFallbackASCII)
	for _, name := range []string{"UTF-8", "utf8", "US-ASCII"} {
		tcell.RegisterEncoding(name, lenient{tcell.GetEncoding(name)})
	}
}

// lenient writes a charset as it is, and reads whatever a keyboard may send. The library's own reader of
// UTF-8 never gets past a byte that is none, and its reader of ASCII makes three wrong letters of an accent.
type lenient struct{ encoding.Encoding }

func (lenient) NewDecoder() *encoding.Decoder { return &encoding.Decoder{Transformer: typed{}} }

// typed reads UTF-8, and a byte that is no UTF-8 as what it most probably is: a letter from a terminal or
// scanner set to ISO 8859-1.
type typed struct{ transform.NopResetter }

func (typed) Transform(dst, src []byte, atEOF bool) (nDst, nSrc int, err error) {
	for nSrc < len(src) {
		if !atEOF && !utf8.FullRune(src[nSrc:]) {
			return nDst, nSrc, transform.ErrShortSrc
		}
		r, size := utf8.DecodeRune(src[nSrc:])
		switch {
		case r == utf8.RuneError && size == 1:
			r = rune(src[nSrc])
		case r == utf8.RuneError:
			r = '?' // somebody else's replacement mark, which the library takes for a fault
		}
		if nDst+utf8.RuneLen(r) > len(dst) {
			return nDst, nSrc, transform.ErrShortDst
		}
		nDst += utf8.EncodeRune(dst[nDst:], r)
		nSrc += size
	}
	return nDst, nSrc, nil
}

// speaksUTF8 knows both ways in which locales write it.
func speaksUTF8(charset string) bool {
	return strings.EqualFold(strings.ReplaceAll(charset, "-", ""), "utf8")
}
