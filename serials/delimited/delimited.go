// Package delimited reads tables of plain text as spreadsheets save them, wherever in the world they were set
// up: cells parted by commas, semicolons, tabs or upright strokes (RFC 4180 otherwise), in UTF-8 with or
// without a byte-order mark, UTF-16 either way round, or Windows-1252. Whatever takes such a file reads it
// through this package, so that what one command can read, all can.
//
// Nothing in such a file says how it was saved, so the same few rules find it out each time:
//
//   - A byte-order mark decides. Without one, a NUL as the first or the second byte means UTF-16, since the
//     first character of a header is a plain letter and half of it is then NUL.
//   - Else the text is UTF-8 or Windows-1252, and the first 64 KiB from the first byte that is not ASCII on
//     tell which: UTF-8 where at least as many characters are whole in it as bytes are astray. So one damaged
//     letter does not turn the others of the file into wrong ones.
//   - Where the first 64 KiB have carriage returns and no line feed, those end the lines.
//   - The separator is the one that stands most often in the first row that has any, outside quotation marks;
//     the comma where two stand as often.
//
// What has no meaning in the encoding that was found comes out as a byte that is not UTF-8, for the reader to
// name with its row: it is never replaced by something that could pass for what was written.
package delimited

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"errors"
	"io"
	"unicode/utf8"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"
)

// ErrNotText says that a file is no text at all, such as the spreadsheet program's own format.
var ErrNotText = errors.New("the file is not plain text: save it from the spreadsheet as CSV")

// What is looked at to find out how a file was saved.
const sample = 1 << 16 // bytes

// What a table may have besides its rows.
type Lines int

const (
	Rows       Lines = iota
	OrComments       // lines that begin with # are comments
)

// Text is a table as UTF-8 text. It is read as it comes and may be larger than the memory.
type Text struct {
	*bufio.Reader
	Comma rune // what parts the cells
	wide  string
	thin  *narrow
	lines Lines
}

// Open finds out how a file was saved.
func Open(from io.Reader, lines Lines) (*Text, error) {
	size := sample
	if whole, ok := from.(interface{ Len() int }); ok {
		size = min(size, whole.Len())
	}
	raw := bufio.NewReaderSize(from, size)
	start, err := raw.Peek(size)
	if len(start) == 0 && err != nil && !errors.Is(err, io.EOF) {
		return nil, err // behind some text, the error comes again when the text has been read
	}
	in, skip, wide := decoded(raw, start)
	if _, err := raw.Discard(skip); err != nil {
		return nil, err
	}
	size = min(sample, 3*size) // a byte of Windows-1252 is three of UTF-8 at most
	t := &Text{Reader: bufio.NewReaderSize(in, size), lines: lines, wide: wide}
	t.thin, _ = in.(*narrow)
	start, err = t.Peek(size)
	if len(start) == 0 && err != nil && !errors.Is(err, io.EOF) {
		return nil, err
	}
	if bytes.IndexByte(start, 0) >= 0 {
		return nil, ErrNotText
	}
	if bytes.IndexByte(start, '\r') >= 0 && bytes.IndexByte(start, '\n') < 0 {
		t.Reader = bufio.NewReaderSize(returns{t.Reader}, size)
		if start, err = t.Peek(size); len(start) == 0 {
			return nil, err
		}
	}
	t.Comma = separator(start, lines)
	return t, nil
}

// returns ends lines that end in a carriage return alone, as older spreadsheets do, with a line feed.
type returns struct{ io.Reader }

func (r returns) Read(p []byte) (int, error) {
	n, err := r.Reader.Read(p)
	for i, c := range p[:n] {
		if c == '\r' {
			p[i] = '\n'
		}
	}
	return n, err
}

// Separator is what parts the cells, as a sentence names it.
func (t *Text) Separator() string {
	return map[rune]string{',': "a comma", ';': "a semicolon", '\t': "a tab",
		'|': "an upright stroke"}[t.Comma]
}

// Encoding says how the characters were saved, as far as it was read.
func (t *Text) Encoding() string {
	switch {
	case t.wide != "":
		return t.wide
	case t.thin != nil && t.thin.named:
		return "Windows-1252"
	}
	return "UTF-8"
}

// CSV takes the text apart. Rows may have any number of cells.
func (t *Text) CSV() *csv.Reader {
	r := csv.NewReader(t)
	r.Comma = t.Comma
	r.FieldsPerRecord = -1
	if t.lines == OrComments {
		r.Comment = '#'
	}
	return r
}

// decoded chooses the encoding, and says how many bytes of byte-order mark go before the text.
func decoded(raw *bufio.Reader, start []byte) (in io.Reader, skip int, name string) {
	wide := func(order unicode.Endianness, skip int) (io.Reader, int, string) {
		return meaning(raw, unicode.UTF16(order, unicode.IgnoreBOM)), skip, "UTF-16"
	}
	switch {
	case bytes.HasPrefix(start, []byte("\xef\xbb\xbf")):
		return raw, 3, ""
	case bytes.HasPrefix(start, []byte("\xff\xfe")):
		return wide(unicode.LittleEndian, 2)
	case bytes.HasPrefix(start, []byte("\xfe\xff")):
		return wide(unicode.BigEndian, 2)
	case len(start) > 1 && start[0] != 0 && start[1] == 0:
		return wide(unicode.LittleEndian, 0)
	case len(start) > 1 && start[0] == 0 && start[1] != 0:
		return wide(unicode.BigEndian, 0)
	}
	return &narrow{raw: raw}, 0, ""
}

// narrow is UTF-8 or Windows-1252, which are the same up to the first byte that is not ASCII.
type narrow struct {
	raw  *bufio.Reader
	rest io.Reader // from that byte on

	named bool // it is Windows-1252
}

func (n *narrow) Read(p []byte) (int, error) {
	if n.rest != nil {
		return n.rest.Read(p)
	}
	if _, err := n.raw.Peek(1); err != nil {
		return 0, err
	}
	ready, _ := n.raw.Peek(n.raw.Buffered())
	if ready = ready[:min(len(ready), len(p))]; len(ready) == 0 {
		return 0, nil
	}
	if plain := ascii(ready); plain > 0 {
		return n.raw.Read(p[:plain])
	}
	window, _ := n.raw.Peek(sample)
	if n.rest = n.raw; !looksUTF8(window) {
		n.rest, n.named = meaning(n.raw, charmap.Windows1252), true
	}
	return n.rest.Read(p)
}

func ascii(text []byte) int {
	for i, c := range text {
		if c >= utf8.RuneSelf {
			return i
		}
	}
	return len(text)
}

func looksUTF8(text []byte) bool {
	whole, astray := 0, 0
	for len(text) > 0 && (len(text) < sample || utf8.FullRune(text)) {
		r, size := utf8.DecodeRune(text)
		switch {
		case r == utf8.RuneError && size == 1:
			if astray++; !utf8.FullRune(text) {
				astray-- // cut off by the end of what is looked at
			}
		case size > 1:
			whole++
		}
		text = text[size:]
	}
	return whole >= astray
}

// meaning decodes, and puts a byte that is not UTF-8 where there was nothing to decode.
func meaning(raw io.Reader, from encoding.Encoding) io.Reader {
	return transform.NewReader(raw, transform.Chain(from.NewDecoder(), unmeaning{}))
}

type unmeaning struct{ transform.NopResetter }

func (unmeaning) Transform(dst, src []byte, atEOF bool) (nDst, nSrc int, err error) {
	for nSrc < len(src) {
		if !atEOF && !utf8.FullRune(src[nSrc:]) {
			return nDst, nSrc, transform.ErrShortSrc
		}
		r, size := utf8.DecodeRune(src[nSrc:])
		if nDst+size > len(dst) {
			return nDst, nSrc, transform.ErrShortDst
		}
		if r == utf8.RuneError {
			dst[nDst] = 0xff
			nDst++
		} else {
			nDst += copy(dst[nDst:], src[nSrc:nSrc+size])
		}
		nSrc += size
	}
	return nDst, nSrc, nil
}

// separator is what parts the cells of the first row that has any; above it may stand titles.
func separator(text []byte, lines Lines) rune {
	for titles := 0; len(text) > 0 && titles <= MaxTitles; {
		// in a comment, a quotation mark is a letter like any other
		if lines == OrComments && text[0] == '#' {
			_, text, _ = bytes.Cut(text, []byte("\n"))
			continue
		}
		row := firstRow(text)
		// a spreadsheet quotes one that has a separator in it
		comment := lines == OrComments && bytes.HasPrefix(row, []byte("\"#"))
		if !comment && len(bytes.Trim(row, ",;\t|\"\r\n ")) > 0 {
			if found := mostOften(row); found != 0 {
				return found
			}
			titles++
		}
		text = text[len(row):]
	}
	return ','
}

// firstRow ends with the first line end outside quotation marks.
func firstRow(text []byte) []byte {
	quoted := false
	for i, c := range text {
		if c == '"' {
			quoted = !quoted
		}
		if c == '\n' && !quoted {
			return text[:i+1]
		}
	}
	return text
}

// MaxTitles is how many rows may stand above the header of a table: a name, a date, who made it. Below no
// more of them a separator is looked for.
const MaxTitles = 10

// mostOften is 0 for a row that has one cell.
func mostOften(row []byte) rune {
	count := map[byte]int{}
	quoted := false
	for _, c := range row {
		if c == '"' {
			quoted = !quoted
		}
		if !quoted {
			count[c]++
		}
	}
	best := byte(',')
	for _, c := range []byte{';', '\t', '|'} {
		if count[c] > count[best] {
			best = c
		}
	}
	if count[best] == 0 {
		return 0
	}
	return rune(best)
}
