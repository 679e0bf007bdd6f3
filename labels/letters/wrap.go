package letters

import (
	"strings"
)

// Wrap breaks text into rows no wider than width ems: at spaces where it can, and within a word that is wider
// than a row.
func Wrap(text string, f *Face, width float64) (rows []string) {
	row := ""
	for _, word := range strings.Fields(text) {
		joined := word
		if row != "" {
			joined = row + " " + word
		}
		if f.Width(joined, 1) <= width {
			row = joined
			continue
		}
		if row != "" && f.Prefix(word, width) == len(word) {
			rows, row = append(rows, row), word
			continue
		}
		// Such a word begins on the row that is started, so that "No." does not stand alone before a long
		// serial number.
		row = joined
		for n := f.Prefix(row, width); n < len(row); n = f.Prefix(row, width) {
			rows = append(rows, strings.TrimRight(row[:n], " "))
			row = strings.TrimLeft(row[n:], " ")
		}
	}
	if row != "" {
		rows = append(rows, row)
	}
	return rows
}

// Halve breaks text into two rows after its colon, or at the space that leaves the shorter rows.
func Halve(text string, f *Face) []string {
	if what, how, ok := strings.Cut(text, ": "); ok {
		return []string{what + ":", how}
	}
	best, least := []string{text}, f.Width(text, 1)
	for i, r := range text {
		if r != ' ' {
			continue
		}
		if wide := max(f.Width(text[:i], 1), f.Width(text[i+1:], 1)); wide < least {
			best, least = []string{text[:i], text[i+1:]}, wide
		}
	}
	return best
}

// Ellipsis ends row with …, taking letters away until both fit.
func Ellipsis(row string, f *Face, width float64) string {
	const mark = "…"
	if f.Width(row+mark, 1) > width {
		row = row[:f.Prefix(row, width-f.Width(mark, 1))]
	}
	return strings.TrimRight(row, " ") + mark
}
