package registry

import (
	"strconv"
	"strings"
)

// OrderLetters begin an order's number; no house's tags may.
const OrderLetters = "ORD"

// Tag names one head or base for good: house letters, a running number and a check character, such as "PM17" + check.
// It stands the same on the label, in the QR symbol and in JSON, and is never given twice.
type Tag string

// The alphabet and modulus of ISO/IEC 7064, MOD 37,36: one check character from the same 36 characters as the text.
const checkAlphabet = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"

// checkCharacter computes the ISO/IEC 7064 MOD 37,36 check character of text, which holds digits and capitals only.
// The hybrid system catches every single wrong character and nearly every swap of two neighbours.
func checkCharacter(text string) byte {
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
	return Tag(body + string(checkCharacter(body)))
}

// Parts splits a tag into the house's letters and the number. It says no to what is no tag, or has a wrong check character.
func (t Tag) Parts() (letters string, n int64, ok bool) {
	if parsed, err := ParseTag(string(t)); err != nil || parsed != t {
		return "", 0, false
	}
	body := t[:len(t)-1]
	digits := strings.TrimLeft(string(body), "ABCDEFGHIJKLMNOPQRSTUVWXYZ")
	n, err := strconv.ParseInt(digits, 10, 64)
	return string(body[:len(body)-len(digits)]), n, err == nil
}

// ParseTag reads a typed or scanned tag. Case, blanks and hyphens do not matter; the check character does. A label whose QR symbol holds a
// web address scans as that address, and the tag is what follows its last slash.
func ParseTag(s string) (Tag, error) {
	tag := s
	if _, address, ok := strings.Cut(s, "://"); ok {
		tag = address[strings.LastIndexByte(address, '/')+1:]
	}
	text := strings.Map(func(r rune) rune {
		switch r {
		case ' ', '\t', '-', '\r', '\n':
			return -1
		}
		return r
	}, strings.ToUpper(tag))
	letters := strings.TrimLeft(text, "ABCDEFGHIJKLMNOPQRSTUVWXYZ")
	house := len(text) - len(letters)
	if house < 1 || house > MaxLetters || len(letters) < 2 || len(letters) > 17 {
		return "", badTag(s)
	}
	body, check := text[:len(text)-1], text[len(text)-1]
	for _, c := range []byte(body[house:]) {
		if c < '0' || c > '9' {
			return "", badTag(s)
		}
	}
	if body[house] == '0' || strings.IndexByte(checkAlphabet, check) < 0 {
		return "", badTag(s)
	}
	if checkCharacter(body) != check {
		return "", Errorf(Invalid, "tag %q was mistyped: its last character does not fit the rest; read the label again and type it whole, or scan it", s)
	}
	return Tag(text), nil
}

func badTag(s string) error {
	return Errorf(Invalid, "tag %q is not a tag: type the house letters, the number and the check character as "+
		"on the label, such as %s", s, NewTag("PM", 17))
}

// MaxLetters is the most letters a house may put before its numbers.
const MaxLetters = 4

// CheckLetters refuses house letters that could not start a tag.
func CheckLetters(letters string) error {
	if len(letters) < 1 || len(letters) > MaxLetters || strings.Trim(letters, "ABCDEFGHIJKLMNOPQRSTUVWXYZ") != "" {
		return Errorf(Invalid, "letters %q in [house] cannot start a tag: use 1 to %d capitals A to Z, such as \"PM\"", letters, MaxLetters)
	}
	if letters == OrderLetters {
		return Errorf(Invalid, "letters %q in [house] begin the numbers of orders: choose others, such as \"PM\"", letters)
	}
	return nil
}
