package registry

import (
	"maps"
	"slices"
	"strconv"
	"strings"
)

// OrderLetters begin an order's number; no house's tags may.
const OrderLetters = "ORD"

// Tag names one head or base for good: house letters, a running number and a check character, such as "PM17"
// + check. It stands the same on the label, in the QR symbol and in JSON, and is never given twice.
type Tag string

// The alphabet and modulus of ISO/IEC 7064, MOD 37,36: one check character from the same 36 characters as the
// text.
const checkAlphabet = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"

// CheckCharacter computes the ISO/IEC 7064 MOD 37,36 check character of text, which holds digits and capitals
// only. The hybrid system catches every single wrong character and nearly every swap of two neighbours.
func CheckCharacter(text string) byte {
	const m = len(checkAlphabet)
	p := m
	for i := 0; i < len(text); i++ {
		p += strings.IndexByte(checkAlphabet, text[i])
		if p %= m; p == 0 {
			p = m
		}
		p = p * 2 % (m + 1)
	}
	return checkAlphabet[(m+1-p)%m]
}

// NewTag makes the tag that the house with these letters gives to its n-th unit.
func NewTag(letters string, n int64) Tag {
	body := letters + strconv.FormatInt(n, 10)
	return Tag(body + string(CheckCharacter(body)))
}

// Parts splits a tag into the house's letters and the number. It says no to what is no tag, or has a wrong
// check character.
func (t Tag) Parts() (letters string, n int64, ok bool) {
	if parsed, err := ParseTag(string(t)); err != nil || parsed != t {
		return "", 0, false
	}
	body := t[:len(t)-1]
	digits := strings.TrimLeft(string(body), "ABCDEFGHIJKLMNOPQRSTUVWXYZ")
	n, err := strconv.ParseInt(digits, 10, 64)
	return string(body[:len(body)-len(digits)]), n, err == nil
}

// ParseTag reads a typed or scanned tag. Case, blanks and hyphens do not matter; the check character does. A
// label whose QR symbol holds a web address scans as that address, and the tag is what follows its last
// slash.
func ParseTag(s string) (Tag, error) {
	text := tagIn(s)
	switch {
	case !shapedAsTag(text):
		return "", withMeant(text,
			Errorf(Invalid,
				"tag %q is not a tag: type the house letters, the number and the check character as "+
					"on the label, such as %s", s, NewTag("PM", 17)))
	case !checks(text):
		return "", withMeant(text,
			Errorf(Invalid,
				"tag %q was mistyped: its last character does not fit the rest; read the label again and "+
					"type it whole, or scan it", s))
	}
	return Tag(text), nil
}

// IsTag says whether a text is a tag.
func IsTag(s string) bool {
	text := tagIn(s)
	return shapedAsTag(text) && checks(text)
}

// tagIn is the text where a tag is to stand: all of it, or the end of an address.
func tagIn(s string) string {
	if _, address, ok := strings.Cut(s, "://"); ok {
		s = address[strings.LastIndexByte(address, '/')+1:]
	}
	return bareTag(s)
}

// shapedAsTag says whether text has all that a tag has, but for the right check character.
func shapedAsTag(text string) bool {
	rest := strings.TrimLeft(text, "ABCDEFGHIJKLMNOPQRSTUVWXYZ")
	house := len(text) - len(rest)
	return house >= 1 && house <= MaxLetters && len(rest) >= 2 && len(rest) <= 17 && rest[0] != '0' &&
		strings.Trim(rest[:len(rest)-1], "0123456789") == "" &&
		strings.IndexByte(checkAlphabet, rest[len(rest)-1]) >= 0
}

func checks(text string) bool {
	return CheckCharacter(text[:len(text)-1]) == text[len(text)-1]
}

func withMeant(text string, err *Error) *Error {
	err.Meant = meant(text)
	return err
}

func bareTag(s string) string {
	return strings.Map(func(r rune) rune {
		switch r {
		case ' ', '\t', '-', '\r', '\n':
			return -1
		}
		return r
	}, strings.ToUpper(s))
}

// meant are the tags that a hand-written slip can have had where this was read: O and 0, I and 1 look alike,
// and the check character is left off by whoever takes it for none.
func meant(text string) (all []Tag) {
	const longest = 20
	if len(text) > longest {
		return nil
	}
	digits, letters := strings.NewReplacer("O", "0", "I", "1"), strings.NewReplacer("0", "O", "1", "I")
	fits := map[Tag]bool{}
	starts := len(text) - len(strings.TrimLeft(text, "ABCDEFGHIJKLMNOPQRSTUVWXYZ"))
	for house := 1; house <= starts && house < len(text); house++ {
		last := text[len(text)-1:]
		number := text[:house] + digits.Replace(text[house:len(text)-1])
		for _, whole := range []string{number + last, number + digits.Replace(last), number +
			letters.Replace(last), withCheck(number + digits.Replace(last))} {
			if shapedAsTag(whole) && checks(whole) {
				fits[Tag(whole)] = true
			}
		}
	}
	return slices.Sorted(maps.Keys(fits))
}

// withCheck adds the check character to what one can be computed of.
func withCheck(body string) string {
	if strings.Trim(body, checkAlphabet) != "" {
		return ""
	}
	return body + string(CheckCharacter(body))
}

// CutShort says that the n-th tag of these letters is another valid tag once its last character is worn off
// or left out. Such a number is not given.
func CutShort(letters string, n int64) bool {
	short := letters + strconv.FormatInt(n, 10)
	return shapedAsTag(short) && checks(short)
}

// MaxLetters is the most letters a house may put before its numbers.
const MaxLetters = 4

// CheckLetters refuses house letters that could not start a tag.
func CheckLetters(letters string) error {
	if len(letters) < 1 || len(letters) > MaxLetters ||
		strings.Trim(letters, "ABCDEFGHIJKLMNOPQRSTUVWXYZ") != "" {
		return Errorf(Invalid,
			"letters %q in [house] cannot start a tag: use 1 to %d capitals A to Z, such as \"PM\"", letters,
			MaxLetters)
	}
	if letters == OrderLetters {
		return Errorf(Invalid,
			"letters %q in [house] begin the numbers of orders: choose others, such as \"PM\"", letters)
	}
	return nil
}

// Unique keeps the first of each tag: people scan twice to be sure.
func Unique[T comparable](tags []T) []T {
	var out []T
	seen := map[T]bool{}
	for _, tag := range tags {
		if !seen[tag] {
			seen[tag] = true
			out = append(out, tag)
		}
	}
	return out
}

// Numbered reads the number of what is counted for itself, behind letters that are longer than those of any
// house: SHIPMENT1.
func Numbered(letters, s string) (number string, ok bool) {
	digits, ok := strings.CutPrefix(strings.ToUpper(strings.TrimSpace(s)), letters)
	n, err := strconv.Atoi(digits)
	return letters + strconv.Itoa(n), ok && err == nil && n > 0
}
