// Package names knows when two ways of writing a maker or a model mean the same.
package names

import (
	"sort"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/agnivade/levenshtein"
	"golang.org/x/text/unicode/norm"

	"pitman/serials/stamp"
)

// trade holds the words that plates add behind a maker's name.
var trade = map[string]bool{
	"co": true, "comp": true, "company": true, "corp": true, "corporation": true, "inc": true, "ltd": true,
	"limited": true,
	"mfg":     true, "manufacturing": true, "s": true, "m": true, "sm": true, "sewing": true, "machine": true,
	"machines": true,
}

// MakerKey is the form in which two spellings of a maker are the same: no case, accents, spaces or
// punctuation, "&" like "and", and nothing of the company words behind the name.
func MakerKey(name string) string {
	plain, oneWord := true, true
	for i := range len(name) {
		c := name[i]
		plain = plain && c < 0x80
		oneWord = oneWord && ('a' <= c && c <= 'z' || 'A' <= c && c <= 'Z' || '0' <= c && c <= '9')
	}
	if oneWord { // as most are, and each row of a table has some
		return strings.ToLower(name)
	}
	if !plain {
		name = norm.NFKD.String(name)
	}
	words := strings.FieldsFunc(strings.ToLower(strings.ReplaceAll(name, "&", " and ")), func(r rune) bool {
		return !unicode.IsLetter(r) && !unicode.IsDigit(r) && !unicode.Is(unicode.Mn, r) && r != '\'' &&
			r != '’'
	})
	for len(words) > 1 && trade[words[len(words)-1]] {
		words = words[:len(words)-1]
	}
	var b strings.Builder
	for _, w := range words {
		if w == "and" && len(words) > 1 {
			continue
		}
		for _, r := range w {
			if unicode.IsLetter(r) || unicode.IsDigit(r) {
				b.WriteRune(r)
			}
		}
	}
	return b.String()
}

// Known is names to find near ones among.
type Known []knownName

// knownName is a name, its key, and that of its first word if there are more.
type knownName struct{ name, key, first string }

// NewKnown prepares names.
func NewKnown(names []string) (known Known) {
	for _, name := range names {
		k := knownName{name: name, key: MakerKey(name)}
		if first, _, two := strings.Cut(name, " "); two {
			k.first = MakerKey(first)
		}
		known = append(known, k)
	}
	return known
}

// Nearest returns up to n of the names that are spelt most like the one given, the nearest first; names too
// far off are left out.
func (known Known) Nearest(name string, n int) []string {
	type near struct {
		name string
		far  int
	}
	key := MakerKey(name)
	var all []near
	for _, other := range known {
		k := other.key
		far := levenshtein.ComputeDistance(key, k)
		if key != "" && (strings.HasPrefix(k, key) || strings.HasPrefix(key, k)) {
			far = min(far, 1)
		}
		if other.first != "" { // people know a maker by its first word
			far = min(far, 1+levenshtein.ComputeDistance(key, other.first))
		}
		long, short := utf8.RuneCountInString(k), utf8.RuneCountInString(key)
		if far <= max(2, long/3) && far < max(2, min(long, short)) { // they have something in common
			all = append(all, near{other.name, far})
		}
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].far < all[j].far })
	var out []string
	for _, a := range all[:min(n, len(all))] {
		out = append(out, a.name)
	}
	return out
}

// ModelKey is the form in which two ways of writing a model are the same: "No. 8", "no 8" and "8".
func ModelKey(model string) string {
	key := MakerKey(model)
	for _, word := range []string{"number", "model", "type", "nr", "no"} {
		if rest, ok := strings.CutPrefix(key, word); ok && rest != "" && stamp.IsDigit(rest[0]) {
			return rest
		}
	}
	return key
}
