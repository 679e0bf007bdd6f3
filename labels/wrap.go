package labels

import "strings"

// wrap breaks text into rows no wider than width ems: at spaces where it can, and within a word that is wider than a row.
func wrap(text string, f *typeface, width float64) (rows []string) {
	row := ""
	for _, word := range strings.Fields(text) {
		joined := word
		if row != "" {
			joined = row + " " + word
		}
		if f.width(joined, 1) <= width {
			row = joined
			continue
		}
		if f.width(word, 1) <= width {
			rows, row = append(rows, row), word
			continue
		}
		// Such a word begins on the row that is started, so that "No." does not stand alone before a long serial number.
		row = joined
		for row != "" && f.width(row, 1) > width {
			n := f.prefix(row, width)
			rows = append(rows, strings.TrimRight(row[:n], " "))
			row = strings.TrimLeft(row[n:], " ")
		}
	}
	if row != "" {
		rows = append(rows, row)
	}
	return rows
}

// halve breaks text into two rows after its colon, or at the space that leaves the shorter rows.
func halve(text string, f *typeface) []string {
	if what, how, ok := strings.Cut(text, ": "); ok {
		return []string{what + ":", how}
	}
	best, least := []string{text}, f.width(text, 1)
	for i, r := range text {
		if r != ' ' {
			continue
		}
		if wide := max(f.width(text[:i], 1), f.width(text[i+1:], 1)); wide < least {
			best, least = []string{text[:i], text[i+1:]}, wide
		}
	}
	return best
}

// prefix is the length in bytes of the longest start of text that fits in width ems, and at least one letter.
func (f *typeface) prefix(text string, width float64) int {
	used := 0.0
	for i, r := range text {
		used += max(f.advance(r), 0)
		if used > width && i > 0 {
			return i
		}
	}
	return len(text)
}

// ellipsis ends row with …, taking letters away until both fit.
func ellipsis(row string, f *typeface, width float64) string {
	const mark = "…"
	if f.width(row+mark, 1) > width {
		row = row[:f.prefix(row, width-f.width(mark, 1))]
	}
	return strings.TrimRight(row, " ") + mark
}
