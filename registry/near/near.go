// Package near finds the known word that a typed one is a slip of the finger away from, so that it can be
// offered. It never replaces what was typed: who typed it decides.
package near

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/agnivade/levenshtein"
	"golang.org/x/text/unicode/norm"
)

// Name finds among a few known names; see Known.Name.
func Name(known []string, typed string) string {
	var k Known
	k.Add(known...)
	return k.Name(typed)
}

// Known is names that many typed ones are held against.
type Known []knownName

type knownName struct {
	name, key, digits string
	length            int // of the key, in letters
}

func of(name string) knownName {
	key := Fold(name)
	return knownName{name, key, digits(key), utf8.RuneCountInString(key)}
}

// Add takes names as known.
func (known *Known) Add(names ...string) {
	for _, name := range names {
		*known = append(*known, of(name))
	}
}

// Name returns the known name that is most like a typed one, or "" when the typed one is known itself, or
// like none. Case, accents, blanks and punctuation make no difference; short names may differ by one letter,
// long ones by two. Figures are never a slip, nor letters that stand alone: bay 1 is not bay 2, nor shelf A
// shelf B.
func (known Known) Name(typed string) string {
	t := of(typed)
	best, least := "", 3
	for _, k := range known {
		if k.key == t.key {
			return ""
		}
		most := min(t.length, k.length)
		if most < 4 || max(t.length, k.length)-most >= least || t.digits != k.digits || lone(typed, k.name) {
			continue
		}
		if d := levenshtein.ComputeDistance(t.key, k.key); d < least && (d == 1 || d == 2 && most >= 7) {
			best, least = k.name, d
		}
	}
	if best != "" || t.length < 4 {
		return best
	}
	for _, k := range known { // "under" for "under the stairs"
		if rest, ok := strings.CutPrefix(strings.ToLower(strings.TrimSpace(k.name)),
			strings.ToLower(strings.TrimSpace(typed))+" "); ok && digits(Fold(rest)) == "" {
			if best != "" {
				return "" // it may be either
			}
			best = k.name
		}
	}
	return best
}

// Fold leaves what makes a difference.
func Fold(s string) string {
	return strings.Map(func(r rune) rune {
		if !unicode.IsLetter(r) && !unicode.IsDigit(r) {
			return -1
		}
		return unicode.ToLower(r)
	}, norm.NFKD.String(s))
}

// lone says whether two names differ in a letter that stands alone.
func lone(one, other string) bool {
	a, b := strings.Fields(one), strings.Fields(other)
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		x, y := Fold(a[i]), Fold(b[i])
		if x != y && utf8.RuneCountInString(x) == 1 && utf8.RuneCountInString(y) == 1 {
			return true
		}
	}
	return false
}

func digits(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsDigit(r) {
			return r
		}
		return -1
	}, s)
}
