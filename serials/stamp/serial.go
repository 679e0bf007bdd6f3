// Package stamp reads what is stamped on a machine: letters and digits, some of them perhaps worn. It knows
// no table.
package stamp

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"unicode"
)

// None is typed in place of a serial number when the plate is missing or cannot be read at all.
const None = "none"

const (
	MaxSerial = 32 // characters; the longest plates seen carry about a dozen
	MaxDigits = 15 // so that every count of matching serials stays exact in 64 bits
)

// InputError is a refusal of something that cannot be read: one sentence that names the field, the value and
// what to type.
type InputError struct{ Message string }

func (e *InputError) Error() string { return e.Message }

func Unreadable(format string, args ...any) error {
	return &InputError{Message: fmt.Sprintf(format, args...)}
}

// Normalise writes a serial number the one way that is compared and stored: capitals, no spaces, dots,
// hyphens or other separators, and no leading zeros in the number after the last letter. Normalising twice
// changes nothing.
func Normalise(s string) string {
	return DropZeros(Clean(s))
}

// wornMarks: people write a dash or an underline for each character that they cannot read.
var wornMarks = regexp.MustCompile(`[-_‐‑–—](?:\s*[-_‐‑–—])+`)

// readWorn writes ? for runs of dashes or underlines; not in a text of nothing else.
func readWorn(s string) string {
	if i := strings.IndexAny(s, "-_‐‑–—"); i >= 0 &&
		strings.ContainsFunc(s, func(r rune) bool { return !Separator(r) }) {
		return wornMarks.ReplaceAllStringFunc(s, func(run string) string {
			return strings.Repeat("?", len([]rune(strings.Join(strings.Fields(run), ""))))
		})
	}
	return s
}

// figures writes the digits of any script as 0 to 9: a keyboard may have no others, and their value is the
// same.
func figures(s string) string {
	return strings.Map(func(r rune) rune {
		if r <= unicode.MaxASCII || !unicode.IsDigit(r) {
			return r
		}
		for _, block := range unicode.Nd.R16 { // each holds one or more runs from zero to nine
			if rune(block.Lo) <= r && r <= rune(block.Hi) {
				return '0' + (r-rune(block.Lo))%10
			}
		}
		for _, block := range unicode.Nd.R32 {
			if rune(block.Lo) <= r && r <= rune(block.Hi) {
				return '0' + (r-rune(block.Lo))%10
			}
		}
		return r
	}, s)
}

// WithMarks is Clean for makers whose separators matter: one - stands for each run of them, and what stands
// at either end is dropped. Small letters stay where they are others than capitals.
func WithMarks(s string, keepCase bool) string {
	if s = readWorn(figures(s)); !keepCase {
		s = strings.ToUpper(s)
	}
	return strings.Join(strings.FieldsFunc(s, Separator), "-")
}

// Clean drops separators and writes capitals; characters that no serial has stay in, to be refused later by
// name. A run of dashes or underlines is that many worn characters, but for a serial of nothing else.
func Clean(s string) string {
	s = readWorn(figures(s))
	var b strings.Builder
	for _, r := range s {
		switch {
		case Separator(r):
		case r > unicode.MaxASCII:
			b.WriteRune(unicode.ToUpper(r))
		case 'a' <= r && r <= 'z':
			b.WriteByte(byte(r) - 'a' + 'A')
		default:
			b.WriteByte(byte(r))
		}
	}
	return b.String()
}

// Separator says whether a character only parts others.
func Separator(r rune) bool {
	switch r {
	case '.', ',', '-', '_', '/', '\'', '#', '№':
		return true
	}
	return unicode.IsSpace(r) || unicode.Is(unicode.Pd, r) || r == '\ufeff'
}

// DropZeros takes leading zeros off the number. One zero stays before a worn character, because "0?12" says
// that the stamping does begin with a zero and so the worn character may be one too.
func DropZeros(c string) string {
	start := LastLetter(c) + 1
	end := start
	for end+1 < len(c) && c[end] == '0' && (c[end+1] == '0' || '1' <= c[end+1] && c[end+1] <= '9') {
		end++
	}
	return c[:start] + c[end:]
}

// LastLetter returns the index of the last character that is neither digit nor worn, or -1.
func LastLetter(c string) int {
	for i := len(c) - 1; i >= 0; i-- {
		if c[i] != '?' && !IsDigit(c[i]) {
			return i
		}
	}
	return -1
}

func IsDigit(b byte) bool  { return '0' <= b && b <= '9' }
func IsLetter(b byte) bool { return 'A' <= b && b <= 'Z' }

// CheckSerial says in one sentence why a serial number cannot be read, before any table is asked.
func CheckSerial(s string) error {
	_, err := Read(s)
	return err
}

// Read returns the normalised serial, or says in one sentence why it cannot be read.
func Read(s string) (string, error) {
	c := Normalise(s)
	if strings.Contains(s, "..") || strings.Contains(s, "…") {
		return "", Unreadable("serial %s has dots for what cannot be read: type one ? for each character, "+
			"for their number tells the years", Quoted(s))
	}
	if c == "" {
		return "", Unreadable("the serial is empty: type the number on the machine, with ? for each "+
			"character that you cannot read, or %s", None)
	}
	if len(c) > MaxSerial {
		return "", Unreadable("serial %s is too long: type at most %d letters and digits", Quoted(s),
			MaxSerial)
	}
	number := false
	for _, r := range c {
		if r == '?' || r < unicode.MaxASCII && IsDigit(byte(r)) {
			number = true
			// any alphabet's: works stamped their own, and such a machine is logged like any other
		} else if !unicode.IsLetter(r) {
			return "", Unreadable("serial %s has %s in it: type letters, digits, and ? for each character "+
				"that you cannot read", Quoted(s), Quoted(string(r)))
		}
	}
	if !number {
		return "", Unreadable("serial %s has no number in it: type the digits too, with ? for each one "+
			"that you cannot read", Quoted(s))
	}
	if len(c)-LastLetter(c)-1 > MaxDigits {
		return "", Unreadable("serial %s has more than %d digits: type the number as it is stamped",
			Quoted(s),
			MaxDigits)
	}
	return c, nil
}

// Quoted quotes what somebody typed and keeps it short enough for one line.
func Quoted(s string) string {
	if r := []rune(s); len(r) > 40 {
		s = string(r[:40]) + "…"
	}
	return fmt.Sprintf("%q", s)
}

func Worn(c string) bool { return strings.IndexByte(c, '?') >= 0 }

// Split takes a plain serial apart without allocating: the prefix in capitals goes into buf, the number comes
// back. ok is false for whatever needs the longer road: worn characters, no number, letters behind the
// number, odd characters.
func Split[T string | []byte](s T, buf *[MaxSerial]byte) (prefix []byte, number uint64, ok bool) {
	letters, length, digits := 0, 0, 0
	mark := byte(0)
	for i := 0; i < len(s); i++ {
		b := s[i]
		switch {
		case IsDigit(b):
			if digits == MaxDigits {
				return nil, 0, false
			}
			number = number*10 + uint64(b-'0')
			digits++
		case b == ' ':
			continue
		case b == '.' || b == '-':
			if mark == b {
				return nil, 0, false // not separators, but worn characters
			}
			mark = b
			continue
		case 'a' <= b && b <= 'z':
			b -= 'a' - 'A'
			fallthrough
		case IsLetter(b):
			if length == MaxSerial {
				return nil, 0, false
			}
			letters, number, digits = length+1, 0, 0
		default:
			return nil, 0, false
		}
		if length == MaxSerial {
			return nil, 0, false
		}
		buf[length], mark = b, 0
		length++
	}
	return buf[:letters], number, digits > 0
}

func ParseNumber(s string) (uint64, bool) {
	if s == "" || len(s) > MaxDigits {
		return 0, false
	}
	var n uint64
	for i := 0; i < len(s); i++ {
		if !IsDigit(s[i]) {
			return 0, false
		}
		n = n*10 + uint64(s[i]-'0')
	}
	return n, true
}

// Ordinal names a place among the characters of a serial: 1st, 22nd.
func Ordinal(n int) string {
	switch {
	case n%100/10 == 1:
	case n%10 == 1:
		return strconv.Itoa(n) + "st"
	case n%10 == 2:
		return strconv.Itoa(n) + "nd"
	case n%10 == 3:
		return strconv.Itoa(n) + "rd"
	}
	return strconv.Itoa(n) + "th"
}
