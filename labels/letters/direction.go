package letters

import "golang.org/x/text/unicode/bidi"

// RightToLeft says whether text begins with a letter of a script that runs from right to left, so that its
// rows begin at the right edge (Unicode Standard Annex #9, rule P2).
func RightToLeft(text string) bool {
	for _, r := range text {
		p, _ := bidi.LookupRune(r)
		switch p.Class() {
		case bidi.R, bidi.AL:
			return true
		case bidi.L:
			return false
		}
	}
	return false
}
