package serials

import (
	"fmt"
	"regexp"
	"strings"
	"unicode"
)

// None is typed in place of a serial number when the plate is missing or cannot be read at all.
const None = "none"

const (
	maxSerial = 32 // characters; the longest plates seen carry about a dozen
	maxDigits = 15 // so that every count of matching serials stays exact in 64 bits
)

// InputError is a refusal of something that cannot be read: one sentence that names the field, the value and
// what to type.
type InputError struct{ Message string }

func (e *InputError) Error() string { return e.Message }

func unreadable(format string, args ...any) error {
	return &InputError{Message: fmt.Sprintf(format, args...)}
}

// Normalise writes a serial number the one way that is compared and stored: capitals, no spaces, dots,
// hyphens or other separators, and no leading zeros in the number after the last letter. Normalising twice
// changes nothing.
func Normalise(s string) string {
	return dropZeros(clean(s))
}

// worn marks: people write a dash or an underline for each character that they cannot read.
var wornMarks = regexp.MustCompile(`[-_‐‑–—](?:\s*[-_‐‑–—])+`)

// clean drops separators and writes capitals; characters that no serial has stay in, to be refused later by
// name. A run of dashes or underlines is that many worn characters, but for a serial of nothing else.
func clean(s string) string {
	if i := strings.IndexAny(s, "-_‐‑–—"); i >= 0 &&
		strings.ContainsFunc(s, func(r rune) bool { return !separator(r) }) {
		s = wornMarks.ReplaceAllStringFunc(s, func(run string) string {
			return strings.Repeat("?", len([]rune(strings.Join(strings.Fields(run), ""))))
		})
	}
	var b strings.Builder
	for _, r := range s {
		switch {
		case separator(r):
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

func separator(r rune) bool {
	switch r {
	case '.', ',', '-', '_', '/', '\'', '#', '№':
		return true
	}
	return unicode.IsSpace(r) || unicode.Is(unicode.Pd, r) || r == '\ufeff'
}

// dropZeros takes leading zeros off the number. One zero stays before a worn character, because "0?12" says
// that the stamping does begin with a zero and so the worn character may be one too.
func dropZeros(c string) string {
	start := lastLetter(c) + 1
	end := start
	for end+1 < len(c) && c[end] == '0' && (c[end+1] == '0' || '1' <= c[end+1] && c[end+1] <= '9') {
		end++
	}
	return c[:start] + c[end:]
}

// lastLetter returns the index of the last character that is neither digit nor worn, or -1.
func lastLetter(c string) int {
	for i := len(c) - 1; i >= 0; i-- {
		if c[i] != '?' && !isDigit(c[i]) {
			return i
		}
	}
	return -1
}

func isDigit(b byte) bool  { return '0' <= b && b <= '9' }
func isLetter(b byte) bool { return 'A' <= b && b <= 'Z' }

// CheckSerial says in one sentence why a serial number cannot be read, before any table is asked.
func CheckSerial(s string) error {
	_, err := readable(s)
	return err
}

// readable returns the normalised serial, or says in one sentence why it cannot be read.
func readable(s string) (string, error) {
	c := Normalise(s)
	if strings.Contains(s, "..") || strings.Contains(s, "…") {
		return "", unreadable("serial %s has dots for what cannot be read: type one ? for each character, "+
			"for their number tells the years", shown(s))
	}
	if c == "" {
		return "", unreadable("the serial is empty: type the number on the machine, with ? for each "+
			"character that you cannot read, or %s", None)
	}
	if len(c) > maxSerial {
		return "", unreadable("serial %s is too long: type at most %d letters and digits", shown(s),
			maxSerial)
	}
	number := false
	for _, r := range c {
		if r == '?' || r < unicode.MaxASCII && isDigit(byte(r)) {
			number = true
			// any alphabet's: works stamped their own, and such a machine is logged like any other
		} else if !unicode.IsLetter(r) {
			return "", unreadable("serial %s has %s in it: type letters, digits, and ? for each character "+
				"that you cannot read", shown(s), shown(string(r)))
		}
	}
	if !number {
		return "", unreadable("serial %s has no number in it: type the digits too, with ? for each one "+
			"that you cannot read", shown(s))
	}
	if len(c)-lastLetter(c)-1 > maxDigits {
		return "", unreadable("serial %s has more than %d digits: type the number as it is stamped", shown(s),
			maxDigits)
	}
	return c, nil
}

// shown quotes what somebody typed and keeps it short enough for one line.
func shown(s string) string {
	if r := []rune(s); len(r) > 40 {
		s = string(r[:40]) + "…"
	}
	return fmt.Sprintf("%q", s)
}

func worn(c string) bool { return strings.IndexByte(c, '?') >= 0 }

// split takes a plain serial apart without allocating: the prefix in capitals goes into buf, the number comes
// back. ok is false for whatever needs the longer road: worn characters, no number, letters behind the
// number, odd characters.
func split[T string | []byte](s T, buf *[maxSerial]byte) (prefix []byte, number uint64, ok bool) {
	letters, length, digits := 0, 0, 0
	mark := byte(0)
	for i := 0; i < len(s); i++ {
		b := s[i]
		switch {
		case isDigit(b):
			if digits == maxDigits {
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
		case isLetter(b):
			if length == maxSerial {
				return nil, 0, false
			}
			letters, number, digits = length+1, 0, 0
		default:
			return nil, 0, false
		}
		if length == maxSerial {
			return nil, 0, false
		}
		buf[length], mark = b, 0
		length++
	}
	return buf[:letters], number, digits > 0
}
