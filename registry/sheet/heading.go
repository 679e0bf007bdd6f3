package sheet

import (
	"strings"
	"unicode"
)

// ColumnKey is the same for every way in which people write one heading. One without a letter, such as #,
// stands for itself.
func ColumnKey(heading string) string {
	key := strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return unicode.ToLower(r)
		}
		return -1
	}, heading)
	if key == "" {
		return strings.TrimSpace(heading)
	}
	return key
}
